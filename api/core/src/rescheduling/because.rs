//! Reason why a booking does not keep its place, in a sentence with the studio's own names.

use std::collections::BTreeMap;

use baywright_domain::id::QuoteId;
use baywright_domain::schedule::stays::Visit;
use baywright_domain::schedule::week::Cause;
use baywright_domain::schedule::{Obstacle, PlacedStep};
use baywright_domain::time::Minute;

use crate::booking::usecase::Booking;
use crate::menu::usecase::StepNames;
use crate::platform::fail::Done;
use crate::platform::tx::Tx;
use crate::shop::settings::Settings;
use crate::{menu, people, quote, shop};

/// The data that the sentences are made of.
#[derive(Debug)]
pub(super) struct Names {
    settings: Settings,
    bays: BTreeMap<String, String>,
    people: BTreeMap<String, String>,
    steps: StepNames,
    /// Description of each job, by its code.
    jobs: BTreeMap<String, String>,
    /// Cars that stay longer, with their new places.
    longer: Vec<(String, Visit)>,
}

impl Names {
    /// Reads the names of bays, people and steps.
    pub(super) fn read(tx: &mut Tx<'_>, longer: &[(Booking, Visit)]) -> Done<Self> {
        let bays = shop::usecase::bays(tx)?.into_iter().map(|bay| (bay.id.to_string(), bay.details.name));
        let bays = bays.collect();
        let people = people::usecase::everyone(tx)?.into_iter();
        Ok(Self {
            settings: shop::usecase::settings(tx)?,
            bays,
            people: people.map(|person| (person.id.to_string(), person.details.name)).collect(),
            steps: menu::usecase::step_names(tx)?,
            jobs: BTreeMap::new(),
            longer: longer.iter().map(|(booking, visit)| (booking.car(), visit.clone())).collect(),
        })
    }

    /// Notes that a job is a booking's.
    pub(super) fn booked(&mut self, booking: &Booking) {
        self.jobs.insert(booking.id.to_string(), booking.car());
    }

    /// Notes that a job is a quote's that has no booking.
    pub(super) fn quoted(&mut self, tx: &mut Tx<'_>, quote: &QuoteId) -> Done<()> {
        let number = quote::usecase::head(tx, quote)?.number;
        self.jobs.insert(quote.to_string(), format!("quote {number}"));
        Ok(())
    }

    /// The cause in a sentence; `told` is the place that the customer knows, which changes.
    pub(super) fn because(&self, cause: &Cause, told: &Visit) -> String {
        match cause {
            Cause::Bay { bay, job } => format!("{} is needed for {} then.", self.bay(bay), self.job(job)),
            Cause::Technician { technician, job } => {
                format!("{} is needed for {} then.", self.person(technician), self.job(job))
            }
            Cause::Obstacle(obstacle) => self.obstacle(obstacle, told),
        }
    }

    /// The benefit of a new place although the known one is free; `None` if the place stays the same.
    pub(super) fn better(&self, told: &Visit, now: &Visit) -> Option<String> {
        better(told, now, |at| self.settings.wall(at))
    }

    /// The obstacle at the known place. The place was possible when the customer was told, so changes of the shop since
    /// then are named as such, and so is a car that stays longer than planned.
    fn obstacle(&self, obstacle: &Obstacle, told: &Visit) -> String {
        let bay = match told.stays.as_slice() {
            [only] => self.bay(&only.bay),
            _ => "One of its bays",
        };
        let until = |longer: &Visit| self.settings.wall(longer.finish);
        match (obstacle, self.stays_longer(obstacle, told)) {
            (Obstacle::BayTaken(_), Some((car, longer))) => {
                format!("{car} stays in {} until {}.", self.bay(longer.last_bay()), until(longer))
            }
            (Obstacle::Busy { person, step }, Some((car, longer))) => {
                let (person, step) = (self.person(person), self.steps.of(step));
                format!("{person} is planned for {step} then, but is busy with {car} until {}.", until(longer))
            }
            (Obstacle::Feature { feature }, _) => format!("{bay} no longer has {feature}, which the work needs."),
            (Obstacle::Skill { person, step, skill }, _) => {
                let (person, step) = (self.person(person), self.steps.of(step));
                format!("{person} no longer has the skill {skill}, which {step} needs.")
            }
            (other, _) => {
                let said = other.of_agreed(bay, |person| self.person(person), |step| self.steps.of(step));
                format!("{said}.")
            }
        }
    }

    /// The car that stays longer and takes the bay, or the person, that the known place needs.
    fn stays_longer(&self, obstacle: &Obstacle, told: &Visit) -> Option<&(String, Visit)> {
        let meets =
            |longer: &Visit| told.stays.iter().any(|stay| stay.bay == longer.last_bay() && stay.from < longer.finish);
        match obstacle {
            Obstacle::BayTaken(_) => self.longer.iter().find(|(_, longer)| meets(longer)),
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

fn better(told: &Visit, now: &Visit, wall: impl Fn(Minute) -> String) -> Option<String> {
    if (now.start, now.finish) == (told.start, told.finish) && now.stays == told.stays {
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
    use baywright_domain::schedule::Placement;

    use super::*;

    #[test]
    fn a_place_that_changes_without_need_says_what_is_better() {
        let place = |bay: &str, start: i64, finish: i64| {
            let (start, finish) = (Minute::new(start), Minute::new(finish));
            Visit::from(Placement { bay: bay.to_owned(), start, finish, steps: Vec::new() })
        };
        let told = place("a", 60, 120);
        let says = |now: &Visit| better(&told, now, |at| at.get().to_string());
        assert_eq!(says(&told), None);
        let sooner = says(&place("b", 30, 90)).unwrap();
        assert_eq!(sooner, "The old place is free, but here the work is done sooner, 90.");
        assert!(says(&place("b", 60, 120)).unwrap().ends_with("the other cars come out better."));
    }
}
