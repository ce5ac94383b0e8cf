//! Reason why a booking does not keep its place, in a sentence with the studio's own names.

use std::collections::BTreeMap;

use baywright_domain::calendar::{Absence as Away, Dates, ZoneRules};
use baywright_domain::id::{PersonId, QuoteId};
use baywright_domain::schedule::stays::Visit;
use baywright_domain::schedule::week::Cause;
use baywright_domain::schedule::{Obstacle, PlacedStep, Placement};
use baywright_domain::time::{Interval, Minute};

use crate::booking::usecase::Booking;
use crate::menu::usecase::StepNames;
use crate::platform::fail::Done;
use crate::platform::tx::Tx;
use crate::shop::settings::Settings;
use crate::shop::usecase::ClosureDetails;
use crate::{menu, people, quote, shop};

/// The data that sentences about moved bookings are made of.
#[derive(Debug)]
pub struct Names {
    settings: Settings,
    bays: BTreeMap<String, String>,
    people: BTreeMap<String, String>,
    steps: StepNames,
    /// Description of each job, by its code.
    jobs: BTreeMap<String, String>,
    /// Cars that stay longer, with their new places.
    longer: Vec<(String, Visit)>,
    closures: Vec<ClosureDetails>,
    /// Absences with the ids of the people.
    absences: Vec<(String, Away)>,
}

impl Names {
    /// Reads the names of bays, people and steps, and the closures and absences of a period.
    pub fn read(tx: &mut Tx<'_>, longer: &[(Booking, Visit)], within: Interval) -> Done<Self> {
        let settings = shop::usecase::settings(tx)?;
        let day = |minute| settings.zone.to_local(minute).date();
        let closures = shop::usecase::closures_within(tx, Dates::through(day(within.from()), day(within.to()))?)?;
        let absences = people::usecase::absences_within(tx, within)?.into_iter();
        let bays = shop::usecase::bays(tx)?.into_iter().map(|bay| (bay.id.to_string(), bay.details.name));
        let bays = bays.collect();
        let people = people::usecase::everyone(tx)?.into_iter();
        Ok(Self {
            settings,
            bays,
            people: people.map(|person| (person.id.to_string(), person.details.name)).collect(),
            steps: menu::usecase::step_names(tx)?,
            jobs: BTreeMap::new(),
            longer: longer.iter().map(|(booking, visit)| (booking.car(), visit.clone())).collect(),
            closures: closures.into_iter().map(|closure| closure.details).collect(),
            absences: absences.map(|absence| (absence.person.to_string(), absence.details.away)).collect(),
        })
    }

    /// Notes a closure that is only supposed.
    pub fn suppose_closure(&mut self, closure: ClosureDetails) {
        self.closures.push(closure);
    }

    /// Notes an absence that is only supposed.
    pub fn suppose_absence(&mut self, person: &PersonId, away: Away) {
        self.absences.push((person.to_string(), away));
    }

    /// Notes that a job is a booking's.
    pub fn booked(&mut self, booking: &Booking) {
        self.jobs.insert(booking.id.to_string(), booking.car());
    }

    /// Notes that a job is a quote's that has no booking.
    pub(super) fn quoted(&mut self, tx: &mut Tx<'_>, quote: &QuoteId) -> Done<()> {
        let number = quote::usecase::head(tx, quote)?.number;
        self.jobs.insert(quote.to_string(), format!("quote {number}"));
        Ok(())
    }

    /// The cause in a sentence; `told` is the place that the customer knows, which changes.
    pub fn because(&self, cause: &Cause, told: &Placement) -> String {
        match cause {
            Cause::Bay { job } => format!("{} is needed for {} then.", self.bay(&told.bay), self.job(job)),
            Cause::Technician { technician, job } => {
                format!("{} is needed for {} then.", self.person(technician), self.job(job))
            }
            Cause::Obstacle(obstacle) => self.obstacle(obstacle, told),
        }
    }

    /// The benefit of a new place although the known one is free; `None` if the place stays the same.
    pub fn better(&self, told: &Placement, now: &Placement) -> Option<String> {
        better(told, now, |at| self.settings.wall(at))
    }

    /// The obstacle at the known place. The place was possible when the customer was told, so changes of the shop since
    /// then are named as such, and so is a car that stays longer than planned.
    fn obstacle(&self, obstacle: &Obstacle, told: &Placement) -> String {
        let bay = self.bay(&told.bay);
        let until = |longer: &Visit| self.settings.wall(longer.finish);
        match (obstacle, self.stays_longer(obstacle, told)) {
            (Obstacle::BayTaken(_), Some((car, longer))) => format!("{car} stays in {bay} until {}.", until(longer)),
            (Obstacle::Busy { person, step }, Some((car, longer))) => {
                let (person, step) = (self.person(person), self.steps.of(step));
                format!("{person} is planned for {step} then, but is busy with {car} until {}.", until(longer))
            }
            (Obstacle::Feature { feature }, _) => format!("{bay} no longer has {feature}, which the work needs."),
            (Obstacle::Skill { person, step, skill }, _) => {
                let (person, step) = (self.person(person), self.steps.of(step));
                format!("{person} no longer has the skill {skill}, which {step} needs.")
            }
            (other, _) => self.change(other, told).unwrap_or_else(|| {
                let said = other.of_agreed(bay, |person| self.person(person), |step| self.steps.of(step));
                format!("{said}.")
            }),
        }
    }

    /// The closure or the absence that is the obstacle, in a sentence.
    fn change(&self, obstacle: &Obstacle, told: &Placement) -> Option<String> {
        match obstacle {
            Obstacle::Closed => {
                let closure = self.closure_at(told)?;
                Some(closure.in_words(closure.bay.as_ref().map(|_| self.bay(&told.bay))))
            }
            Obstacle::Away { person } => {
                let away = self.absence_at(person, told)?;
                Some(people::usecase::away_in_words(&self.settings.zone, self.person(person), away))
            }
            _ => None,
        }
    }

    /// The closure on a day of the known place. One that is only supposed comes first: the others were known before.
    fn closure_at(&self, told: &Placement) -> Option<&ClosureDetails> {
        let days = self.days_of(told)?;
        let hits = |closure: &&ClosureDetails| {
            closure.dates.overlaps(days) && closure.bay.as_ref().is_none_or(|bay| bay.as_str() == told.bay)
        };
        self.closures.iter().rev().find(hits)
    }

    /// The absence of a person during the known place.
    fn absence_at(&self, person: &str, told: &Placement) -> Option<Away> {
        let (days, whole) = (self.days_of(told)?, Interval::new(told.start, told.finish)?);
        let hits = |away: &Away| match away {
            Away::Days(dates) => dates.overlaps(days),
            Away::Hours(hours) => hours.overlaps(whole),
        };
        let mut theirs = self.absences.iter().rev().filter(|(who, _)| who == person);
        theirs.find(|(_, away)| hits(away)).map(|(_, away)| *away)
    }

    /// The days of the known place, by the clock on the wall.
    fn days_of(&self, told: &Placement) -> Option<Dates> {
        let day = |minute| self.settings.zone.to_local(minute).date();
        Dates::through(day(told.start), day(told.finish)).ok()
    }

    /// The car that stays longer and takes the bay, or the person, that the known place needs.
    fn stays_longer(&self, obstacle: &Obstacle, told: &Placement) -> Option<&(String, Visit)> {
        match obstacle {
            Obstacle::BayTaken(_) => self.longer.iter().find(|(_, longer)| longer.last_bay() == told.bay),
            Obstacle::Busy { person, .. } => self.goes_on(person),
            _ => None,
        }
    }

    /// The car that stays longer, on whose last step the person works.
    fn goes_on(&self, technician: &str) -> Option<&(String, Visit)> {
        let last = |longer: &Visit| longer.steps.iter().rfind(|step| !step.pieces.is_empty()).cloned();
        let is_at = |step: &PlacedStep| [step.leads(), step.helps()].into_iter().flatten().any(|who| who == technician);
        self.longer.iter().find(|(_, longer)| last(longer).as_ref().is_some_and(is_at))
    }

    fn bay(&self, code: &str) -> &str {
        self.bays.get(code).map_or("The bay", String::as_str)
    }

    fn person(&self, code: &str) -> &str {
        self.people.get(code).map_or("Somebody", String::as_str)
    }

    fn job<'a>(&'a self, code: &'a str) -> &'a str {
        self.jobs.get(code).map_or("another car", String::as_str)
    }
}

fn better(told: &Placement, now: &Placement, wall: impl Fn(Minute) -> String) -> Option<String> {
    if (&now.bay, now.start, now.finish) == (&told.bay, told.start, told.finish) {
        return None;
    }
    Some(if now.finish < told.finish {
        format!("The old place is free, but here the work is done sooner, {}.", wall(now.finish))
    } else {
        "The old place is free, but with this one the other cars come out better.".to_owned()
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_that_changes_without_need_says_what_is_better() {
        let place = |bay: &str, start: i64, finish: i64| Placement {
            bay: bay.to_owned(),
            start: Minute::new(start),
            finish: Minute::new(finish),
            steps: Vec::new(),
        };
        let told = place("a", 60, 120);
        let says = |now: &Placement| better(&told, now, |at| at.get().to_string());
        assert_eq!(says(&told), None);
        let sooner = says(&place("b", 30, 90)).unwrap();
        assert_eq!(sooner, "The old place is free, but here the work is done sooner, 90.");
        assert!(says(&place("b", 60, 120)).unwrap().ends_with("the other cars come out better."));
    }
}
