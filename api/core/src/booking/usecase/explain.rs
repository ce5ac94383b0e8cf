//! Reasons why work is not done in time, and its finish with each cause taken away.

use std::num::NonZeroU32;

use baywright_domain::calendar::{Dates, ZoneRules};
use baywright_domain::id::BayId;
use baywright_domain::menu::{Code, Menu};
use baywright_domain::plan::WorkPlan;
use baywright_domain::schedule::stays::{Moving, StepOrder, Visit, Visits};
use baywright_domain::schedule::{Bay, Causes, Figure, Reason, Relief, Taken, Wanted};
use baywright_domain::time::{IntervalSet, Minute};

use super::diary::{Book, Others};
use super::why::{Hindered, Names};
use crate::platform::fail::Done;
use crate::platform::refusal::FinishFigure;
use crate::platform::tx::Tx;
use crate::shop::settings::Settings;
use crate::shop::usecase::{bays_without_closures, closures_within};
use crate::{people, shop};

/// Number of stays of a car that is moved once.
const ONE_MOVE: NonZeroU32 = NonZeroU32::MIN.saturating_add(1);

/// Maximum number of absences that one reason names.
const MOST_ABSENCES: usize = 5;

/// Work that is asked for, with the diary in which it is searched.
pub(super) struct Asked<'a> {
    pub(super) settings: &'a Settings,
    pub(super) book: &'a Book,
    pub(super) work: &'a WorkPlan,
    pub(super) orders: &'a [StepOrder],
    pub(super) moving: Moving,
}

/// Finish of the work with one cause taken away.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Figured {
    /// The cause that is taken away.
    pub relief: Relief,
    /// The service that is left out; `None` for other causes.
    pub without: Option<Code>,
    /// Time when the work would be done; `None` if it would not be done in the searched period.
    pub finish: Option<Minute>,
    /// The figure in a sentence.
    pub text: String,
}

impl Figured {
    /// The figure in the form that a refusal carries.
    pub(super) fn in_refusal(self) -> FinishFigure {
        FinishFigure { kind: self.relief.as_str(), finish: self.finish, text: self.text }
    }
}

impl Asked<'_> {
    /// Moves that the car could make in a shop that moves every car at least once: a shop that moves none hears what one
    /// move would do.
    pub(super) fn moves(&self) -> Moving {
        let allowed = self.settings.terms.moving;
        Moving { max_stays: allowed.max_stays.max(ONE_MOVE), ..allowed }
    }

    /// Reasons why the work is not done between `from` and `by`, and the figures for its first time from `from` on. `less`
    /// are its first visits without one of its services of the menu.
    pub(super) fn why_not(
        &self,
        tx: &mut Tx<'_>,
        (from, by): (Minute, Minute),
        (menu, less): (&Menu, &[(Code, Visit)]),
    ) -> Done<(Vec<Hindered>, Vec<Figured>)> {
        let horizon = self.book.horizon;
        let (bays, technicians) = self.book.time_but_car();
        let (orders, moving) = (self.orders, self.moving);
        let wanted = Wanted { horizon, bays: &bays, technicians: &technicians, orders, moving, from, by };
        let unclosed = bays_without_closures(tx, horizon.span())?;
        let names = self.names(tx)?;
        let reasons = reasons(tx, &wanted, &names, self.book.car(), &unclosed)?;
        let first = |visits: &Visits<'_>| visits.earliest(from).map(|visit| visit.finish);
        let mut figures: Vec<Figured> = self.figures(&unclosed, first)?.iter().map(|one| names.figure(*one)).collect();
        for (code, visit) in less {
            let service = menu.services.iter().find(|service| service.code == *code);
            let name = service.map_or(code.as_str(), |service| service.name.as_str());
            figures.push(names.without(code, name, visit.finish));
        }
        Ok((reasons, figures))
    }

    /// The figures for the place that begins at `start` in that bay, which could not be had.
    pub(super) fn figures_at(&self, tx: &mut Tx<'_>, bay: &str, start: Minute) -> Done<Vec<FinishFigure>> {
        let unclosed = bays_without_closures(tx, self.book.horizon.span())?;
        let names = self.names(tx)?;
        let at = |visits: &Visits<'_>| visits.at(bay, start).map(|visit| visit.finish);
        let figures = self.figures(&unclosed, at)?;
        Ok(figures.into_iter().map(|one| names.figure(one).in_refusal()).collect())
    }

    fn names(&self, tx: &mut Tx<'_>) -> Done<Names<'_>> {
        Ok(Names { settings: self.settings, work: self.work, bays: shop::usecase::bays(tx)? })
    }

    fn figures(&self, unclosed: &[Bay], finish: impl Fn(&Visits<'_>) -> Option<Minute>) -> Done<Vec<Figure>> {
        let (bays, technicians) = (self.book.bay_time(Others::CountButCar), self.book.people_time(Others::CountButCar));
        let car: IntervalSet = self.book.car().iter().map(|taken| taken.when).collect();
        let causes = Causes {
            horizon: self.book.horizon,
            bays: &bays,
            technicians: &technicians,
            car: &car,
            unclosed,
            moving: self.moving,
            moves: self.moves(),
        };
        Ok(causes.figures(self.orders, finish)?)
    }
}

/// Reasons why the work is not done in time. To learn whether another booking of the car or a closure is a reason, the
/// search is repeated without it, as for every other reason.
fn reasons(
    tx: &mut Tx<'_>,
    wanted: &Wanted<'_>,
    names: &Names<'_>,
    car: &[Taken],
    unclosed: &[Bay],
) -> Done<Vec<Hindered>> {
    let found = wanted.why_not()?;
    if found.is_empty() {
        return Ok(car.iter().map(|taken| names.car_elsewhere(taken)).collect());
    }
    let never = |reason: &&Reason| matches!(reason, Reason::NoBay | Reason::NobodyAble { .. });
    if found.iter().any(|reason| never(&reason)) || !wanted.is_closed(unclosed)? {
        return told(tx, wanted, names, found.iter());
    }
    let span = wanted.horizon.span();
    let day = |minute| names.settings.zone.to_local(minute).date();
    let (first, last) = (day(wanted.from), day(wanted.by.min(span.to())));
    let suits = |bay: &BayId| wanted.bays.iter().any(|one| one.code == bay.as_str() && wanted.may_use(one));
    let closures = closures_within(tx, Dates::through(first, last)?)?;
    let closed = closures.iter().filter(|closure| closure.details.bay.as_ref().is_none_or(suits));
    let mut reasons: Vec<Hindered> = closed.map(|closure| names.closed(closure)).collect();
    // The search found that the work is too long only because of the closure.
    let others = found.iter().filter(|reason| reasons.is_empty() || !matches!(reason, Reason::TooLong { .. }));
    let others = told(tx, wanted, names, others)?;
    reasons.extend(others);
    Ok(reasons)
}

/// The reasons in sentences. One that says that nobody is at work names the absences of those who have the skills.
fn told<'r>(
    tx: &mut Tx<'_>,
    wanted: &Wanted<'_>,
    names: &Names<'_>,
    reasons: impl Iterator<Item = &'r Reason>,
) -> Done<Vec<Hindered>> {
    let mut all = Vec::new();
    for reason in reasons {
        let mut hindered = names.told(reason);
        if let Reason::Away { step, from } = reason {
            let until = from.unwrap_or(wanted.by).min(wanted.horizon.span().to());
            let able: Vec<&str> = wanted.able(*step).collect();
            let absences = people::usecase::absences_in_words(tx, &able, (wanted.from, until))?;
            for sentence in absences.into_iter().take(MOST_ABSENCES) {
                hindered.text.push(' ');
                hindered.text.push_str(&sentence);
            }
        }
        all.push(hindered);
    }
    Ok(all)
}
