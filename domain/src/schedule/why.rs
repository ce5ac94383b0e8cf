//! Reason why a plan is not done by a certain time.
//!
//! Each reason is found by removing its cause and searching again: the same search runs with the bays empty, the people
//! idle, or the people always at work. So a reason is true by construction and needs no rules of its own: without its
//! cause the plan would be done in time, or no single cause is to blame.

use alloc::collections::BTreeSet;
use alloc::string::String;
use alloc::vec::Vec;

use super::pair::{is_persons, members};
use super::stays::{Moving, StepOrder};
use super::{Bay, Diary, Horizon, Plan, Step, Technician, Unplannable};
use crate::time::{Interval, IntervalSet, Minute, Minutes};
use crate::word::words;

words! {
    /// A kind of reason why work is not done in time.
    pub enum Hindrance("kind of reason") {
        /// No bay has all features that the work needs, nor do as many bays as the car may be in one after another.
        NoBay = "NO_BAY" "no bay has it all",
        /// Nobody has all skills of a step.
        NobodyAble = "NOBODY_ABLE" "nobody has the skills",
        /// The people with the skills of a step don't work then.
        Away = "AWAY" "nobody with the skills works then",
        /// The work takes longer than the available time, whatever is booked.
        TooLong = "TOO_LONG" "the work takes longer",
        /// A suitable bay has other cars.
        BayHeld = "BAY_HELD" "the bay is taken",
        /// The people with the skills of a step have other work.
        Busy = "BUSY" "everyone with the skills is busy",
        /// Bays and people are each free at times, but never together for long enough.
        NotFreeTogether = "NOT_FREE_TOGETHER" "bays and people are not free together",
        /// The shop, or a suitable bay, is closed then.
        Closed = "CLOSED" "the shop or the bay is closed",
        /// The car itself is in a bay for another booking.
        CarElsewhere = "CAR_ELSEWHERE" "the car has another booking",
    }
}

words! {
    /// A way of asking for less if work is not done in time.
    pub enum SuggestionKind("suggestion") {
        /// The same work at a later time.
        Later = "LATER" "later",
        /// The same work in two visits.
        TwoVisits = "TWO_VISITS" "in two visits",
        /// The same work with the car moved from one bay to another in between.
        WithMoves = "WITH_MOVES" "with a move to another bay",
        /// The work without one of its services.
        Without = "WITHOUT" "without a service",
    }
}

/// One reason. Steps are named by their index in the plan; a time is `None` if it is beyond the horizon.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Reason {
    /// No bay has every feature, and the car may not change bays or no bays together have them.
    NoBay,
    /// Nobody has all skills of the step.
    NobodyAble {
        /// The step.
        step: usize,
    },
    /// Nobody with the skills of the step works, long enough for a piece of it, before `from`.
    Away {
        /// The step.
        step: usize,
        /// Time when somebody with its skills works.
        from: Option<Minute>,
    },
    /// With nothing else booked the work would be done at `soonest`.
    TooLong {
        /// Time when it would be done in an empty diary.
        soonest: Option<Minute>,
    },
    /// The bay has no gap that is long enough before `until`.
    BayHeld {
        /// The bay's code.
        bay: String,
        /// Time from which it is free for long enough.
        until: Option<Minute>,
    },
    /// Nobody with the skills of the step is free, long enough for a piece of it, before `until`.
    Busy {
        /// The step.
        step: usize,
        /// Time from which somebody is free.
        until: Option<Minute>,
    },
    /// No single cause.
    NotFreeTogether,
}

impl Reason {
    /// Kind of the reason.
    pub const fn kind(&self) -> Hindrance {
        match self {
            Self::NoBay => Hindrance::NoBay,
            Self::NobodyAble { .. } => Hindrance::NobodyAble,
            Self::Away { .. } => Hindrance::Away,
            Self::TooLong { .. } => Hindrance::TooLong,
            Self::BayHeld { .. } => Hindrance::BayHeld,
            Self::Busy { .. } => Hindrance::Busy,
            Self::NotFreeTogether => Hindrance::NotFreeTogether,
        }
    }
}

/// A plan to be done between two times, in a shop's bays and people's time.
#[derive(Debug, Clone, Copy)]
pub struct Wanted<'a> {
    /// The period for which the shop's time is known.
    pub horizon: Horizon,
    /// Its bays.
    pub bays: &'a [Bay],
    /// Its people.
    pub technicians: &'a [Technician],
    /// Orders in which the work can be done, the plan's own first; there is at least one. Reasons name its steps.
    pub orders: &'a [StepOrder],
    /// Moves that the car may make.
    pub moving: Moving,
    /// The earliest start.
    pub from: Minute,
    /// Time when it must be finished; the horizon's end if that comes first.
    pub by: Minute,
}

impl Wanted<'_> {
    /// Reason why the plan is not done in time; empty if it is.
    ///
    /// # Errors
    /// If bays or technicians share a code.
    pub fn why_not(&self) -> Result<Vec<Reason>, Unplannable> {
        let mut reasons: Vec<Reason> = self.never()?;
        if !reasons.is_empty() || self.fits(self.bays, self.technicians)? {
            return Ok(reasons);
        }
        let (empty_bays, idle): (Vec<Bay>, Vec<Technician>) = (self.emptied(), self.idle(|_| true));
        if self.fits(&empty_bays, &idle)? {
            reasons.extend(self.booked(&empty_bays)?);
        } else {
            let blamed = self.blamed_for(|step| self.fits(&empty_bays, &self.always_in(&idle, step)))?;
            let away =
                blamed.map(|step| (step, self.first_piece(&idle, step))).filter(|(_, from)| self.is_later(*from));
            reasons.extend(away.map(|(step, from)| Reason::Away { step, from }));
            if reasons.is_empty() {
                let whole = Diary::new(self.horizon, &empty_bays, &idle)?;
                let soonest = whole.visits(self.orders, self.moving).earliest(self.from).map(|visit| visit.finish);
                reasons.push(Reason::TooLong { soonest });
            }
        }
        Ok(reasons)
    }

    /// Whether closures are to blame: with the bays open as in their usual weeks, `unclosed`, the plan would be done in
    /// time, in the current diary or with nothing else booked.
    ///
    /// # Errors
    /// If bays or technicians share a code.
    pub fn is_closed(&self, unclosed: &[Bay]) -> Result<bool, Unplannable> {
        if self.fits(self.bays, self.technicians)? {
            return Ok(false);
        }
        let open = |code: &str| unclosed.iter().find(|bay| bay.code == code).map(|bay| bay.open.clone());
        let opened = |bay: &Bay| Bay { open: open(&bay.code).unwrap_or_else(|| bay.open.clone()), ..bay.clone() };
        let bays: Vec<Bay> = self.bays.iter().map(opened).collect();
        if self.fits(&bays, self.technicians)? {
            return Ok(true);
        }
        let (empty, idle): (Vec<Bay>, Vec<Technician>) = (self.emptied(), self.idle(|_| true));
        let emptied: Vec<Bay> = bays.into_iter().map(|bay| Bay { held: IntervalSet::EMPTY, ..bay }).collect();
        Ok(!self.fits(&empty, &idle)? && self.fits(&emptied, &idle)?)
    }

    /// Obstacles that exist at any time.
    fn never(&self) -> Result<Vec<Reason>, Unplannable> {
        let diary = Diary::new(self.horizon, self.bays, self.technicians)?;
        let no_bay = (!diary.visits(self.orders, self.moving).have_bays()).then_some(Reason::NoBay);
        let nobody = self.attended().filter(|step| !self.technicians.iter().any(|person| self.can(person, *step)));
        Ok(no_bay.into_iter().chain(nobody.map(|step| Reason::NobodyAble { step })).collect())
    }

    /// Bookings that prevent it, if nothing else does.
    fn booked(&self, empty_bays: &[Bay]) -> Result<Vec<Reason>, Unplannable> {
        let mut reasons = Vec::new();
        if self.fits(empty_bays, self.technicians)? {
            reasons.extend(self.bays.iter().filter(|bay| self.suits(bay)).filter_map(|bay| self.held(bay)));
            if reasons.is_empty() && self.moving.allows_moves() {
                reasons.extend(self.held_parts()?);
            }
        }
        let blamed = self.blamed_for(|step| self.fits(self.bays, &self.idle(|person| self.can(person, step))))?;
        let busy = blamed.map(|step| (step, self.first_piece(self.technicians, step)));
        let busy = busy.filter(|(_, until)| self.is_later(*until));
        reasons.extend(busy.map(|(step, until)| Reason::Busy { step, until }));
        if reasons.is_empty() {
            reasons.push(Reason::NotFreeTogether);
        }
        Ok(reasons)
    }

    /// The steps whose people are to blame, according to `helps`: more time of the few people who can do the step. A
    /// step that more people can do, these few among them, adds no information.
    fn blamed_for(
        &self,
        helps: impl Fn(usize) -> Result<bool, Unplannable>,
    ) -> Result<impl Iterator<Item = usize>, Unplannable> {
        let who = |step: usize| -> BTreeSet<&str> {
            let able = self.technicians.iter().filter(|person| self.can(person, step));
            able.map(|person| person.code.as_str()).collect()
        };
        let mut steps: Vec<(BTreeSet<&str>, usize)> = self.attended().map(|step| (who(step), step)).collect();
        steps.sort_by_key(|(who, step)| (who.len(), *step));
        let mut blamed: Vec<(BTreeSet<&str>, usize)> = Vec::new();
        for (who, step) in steps {
            if !blamed.iter().any(|(few, _)| few.is_subset(&who)) && helps(step)? {
                blamed.push((who, step));
            }
        }
        Ok(blamed.into_iter().map(|(_, step)| step))
    }

    fn fits(&self, bays: &[Bay], technicians: &[Technician]) -> Result<bool, Unplannable> {
        let span = self.horizon.span();
        let Some(span) = Interval::new(span.from(), span.to().min(self.by)) else { return Ok(false) };
        let horizon = Horizon::new(span.from(), span.to(), self.horizon.slot())?;
        Ok(Diary::new(horizon, bays, technicians)?.visits(self.orders, self.moving).earliest(self.from).is_some())
    }

    /// Whether the bay has everything that the work needs, or what some of its steps need if the car may change bays.
    pub fn may_use(&self, bay: &Bay) -> bool {
        let mut needs = self.orders.iter().flat_map(StepOrder::needs);
        self.suits(bay) || self.moving.allows_moves() && needs.any(|needs| needs.is_subset(&bay.features))
    }

    /// Codes of the people, each by themselves, who may do the step at this index: those with its skills, or all if it is
    /// for two, since whoever helps needs none.
    pub fn able(&self, step: usize) -> impl Iterator<Item = &str> {
        let step = self.plan().and_then(|plan| plan.steps().get(step));
        let skilled = move |person: &&Technician| {
            let mut skills = step.into_iter().flat_map(|step| &step.skills).filter(|skill| is_persons(skill));
            step.is_some_and(Step::is_for_two) || step.is_some() && skills.all(|skill| person.skills.contains(skill))
        };
        let alone = self.technicians.iter().filter(|person| members(&person.code).1.is_none());
        alone.filter(skilled).map(|person| person.code.as_str())
    }

    /// The work in the plan's own order, as in one bay.
    fn plan(&self) -> Option<&Plan> {
        self.orders.first().map(StepOrder::plan)
    }

    /// The bays of which each alone would be enough if no car had it, for a car that changes bays. A bay is free for long
    /// enough from the time when its longest step fits.
    fn held_parts(&self) -> Result<Vec<Reason>, Unplannable> {
        let Some(own) = self.orders.first() else { return Ok(Vec::new()) };
        let mut held = Vec::new();
        for bay in self.bays {
            let served = own.plan().steps().iter().zip(own.needs()).filter(|(_, needs)| needs.is_subset(&bay.features));
            let Some(longest) = served.map(|(step, _)| step.minutes).max() else { continue };
            let mut freed = self.bays.to_vec();
            for one in freed.iter_mut().filter(|one| one.code == bay.code) {
                one.held = IntervalSet::EMPTY;
            }
            if self.fits(&freed, self.technicians)? {
                let gaps = IntervalSet::from(self.horizon.span()).difference(&bay.held);
                held.push(Reason::BayHeld { bay: bay.code.clone(), until: self.first_of(&gaps, longest) });
            }
        }
        Ok(held)
    }

    /// The indexes of the attended steps.
    fn attended(&self) -> impl Iterator<Item = usize> {
        let steps = self.plan().map_or(&[][..], Plan::steps).iter().enumerate();
        steps.filter(|(_, step)| step.minutes > Minutes::ZERO).map(|(place, _)| place)
    }

    fn suits(&self, bay: &Bay) -> bool {
        self.plan().is_some_and(|plan| plan.features().is_subset(&bay.features))
    }

    fn can(&self, person: &Technician, step: usize) -> bool {
        let step = self.plan().and_then(|plan| plan.steps().get(step));
        step.is_some_and(|step| step.skills.is_subset(&person.skills))
    }

    fn emptied(&self) -> Vec<Bay> {
        self.bays.iter().map(|bay| Bay { held: IntervalSet::EMPTY, ..bay.clone() }).collect()
    }

    /// The people, some of them without their other work.
    fn idle(&self, who: impl Fn(&Technician) -> bool) -> Vec<Technician> {
        let freed = |person: &Technician| Technician {
            busy: if who(person) { IntervalSet::EMPTY } else { person.busy.clone() },
            ..person.clone()
        };
        self.technicians.iter().map(freed).collect()
    }

    /// The people, with those who can do a step at work at all times.
    fn always_in(&self, people: &[Technician], step: usize) -> Vec<Technician> {
        let kept = |person: &Technician| {
            let all = IntervalSet::from(self.horizon.span());
            Technician { working: if self.can(person, step) { all } else { person.working.clone() }, ..person.clone() }
        };
        people.iter().map(kept).collect()
    }

    /// Time from which a bay is free for at least the duration of the work, if that is too late.
    fn held(&self, bay: &Bay) -> Option<Reason> {
        let gaps = IntervalSet::from(self.horizon.span()).difference(&bay.held);
        let shortest = self.plan()?.shortest();
        let until = self.first_of(&gaps, shortest);
        let late = until.is_none_or(|until| until + shortest > self.by);
        late.then(|| Reason::BayHeld { bay: bay.code.clone(), until })
    }

    /// Whether a time is in the future: somebody who is already there, but not for long enough, is not waited for.
    fn is_later(&self, moment: Option<Minute>) -> bool {
        moment.is_none_or(|moment| moment > self.from)
    }

    /// Time from which somebody who can do a step is there for a piece of it.
    fn first_piece(&self, people: &[Technician], step: usize) -> Option<Minute> {
        let smallest = self.plan()?.steps().get(step)?.smallest_piece();
        let able = people.iter().filter(|person| self.can(person, step));
        able.filter_map(|person| self.first_of(&person.working.difference(&person.busy), smallest)).min()
    }

    /// The first minute from which `free` has that number of minutes without interruption.
    fn first_of(&self, free: &IntervalSet, length: Minutes) -> Option<Minute> {
        let free = free.clip(self.horizon.span());
        let rest = free.iter().filter_map(|stretch| Interval::new(stretch.from().max(self.from), stretch.to()));
        rest.into_iter().find(|stretch| stretch.length() >= length).map(Interval::from)
    }
}

#[cfg(test)]
mod tests {
    use alloc::string::ToString;
    use alloc::vec;

    use super::*;
    use crate::schedule::stays::StayStep;
    use crate::schedule::{Holds, Wait, WaitWhen, Work};

    fn set(pairs: &[(i64, i64)]) -> IntervalSet {
        pairs.iter().filter_map(|&(from, to)| Interval::new(Minute::new(from), Minute::new(to))).collect()
    }

    fn words<T: FromIterator<String>>(list: &[&str]) -> T {
        list.iter().map(ToString::to_string).collect()
    }

    const DAYS: [(i64, i64); 2] = [(480, 1080), (1920, 2520)];

    fn bay(code: &str, features: &[&str], held: &[(i64, i64)]) -> Bay {
        Bay { code: code.into(), features: words(features), open: set(&DAYS), held: set(held) }
    }

    fn person(code: &str, skills: &[&str], working: &[(i64, i64)], busy: &[(i64, i64)]) -> Technician {
        Technician { code: code.into(), skills: words(skills), working: set(working), busy: set(busy) }
    }

    fn step(minutes: u32, skills: &[&str]) -> Step {
        let wait = Wait { minutes: Minutes::ZERO, when: WaitWhen::Any };
        Step { code: "S".into(), minutes: Minutes::new(minutes), skills: words(skills), work: Work::Whole, wait }
    }

    fn order(features: &[&str], steps: Vec<Step>) -> StepOrder {
        let all = |step| StayStep { step, features: words(features), holds: Holds::Car };
        StepOrder::new(&words(&[]), steps.into_iter().map(all).collect(), Minutes::ZERO).unwrap()
    }

    /// Reason why a wash of an hour and a sanding of two under cover are not done by the end of the first day.
    fn why(bays: &[Bay], people: &[Technician]) -> Vec<Reason> {
        let orders = [order(&["cover"], vec![step(60, &[]), step(120, &["sanding"])])];
        let horizon = Horizon::new(Minute::new(0), Minute::new(2880), Minutes::new(15)).unwrap();
        let (from, by) = (Minute::new(480), Minute::new(1080));
        Wanted { horizon, bays, technicians: people, orders: &orders, moving: Moving::OFF, from, by }.why_not().unwrap()
    }

    #[test]
    fn what_fits_has_no_reason() {
        assert_eq!(why(&[bay("B1", &["cover"], &[])], &[person("T1", &["sanding"], &DAYS, &[])]), []);
    }

    #[test]
    fn features_and_skills_that_nobody_has_are_told_first() {
        let found = why(&[bay("B1", &[], &[])], &[person("T1", &[], &DAYS, &[])]);
        assert_eq!(found, [Reason::NoBay, Reason::NobodyAble { step: 1 }]);
    }

    #[test]
    fn somebody_away_is_told_with_the_time_they_are_back() {
        let people = [person("T1", &[], &DAYS, &[]), person("T2", &["sanding"], &DAYS[1..], &[])];
        let found = why(&[bay("B1", &["cover"], &[])], &people);
        assert_eq!(found, [Reason::Away { step: 1, from: Some(Minute::new(1920)) }]);
    }

    #[test]
    fn the_only_fitting_bay_is_held() {
        let bays = [bay("B1", &["cover"], &[(480, 1000)]), bay("B2", &[], &[])];
        let found = why(&bays, &[person("T1", &["sanding"], &DAYS, &[])]);
        // Free from 1000 on, also while the shop is closed.
        assert_eq!(found, [Reason::BayHeld { bay: "B1".into(), until: Some(Minute::new(1000)) }]);
    }

    #[test]
    fn the_only_able_person_is_busy() {
        let people = [person("T1", &["sanding"], &DAYS, &[(480, 1000), (1920, 2000)]), person("T2", &[], &DAYS, &[])];
        let found = why(&[bay("B1", &["cover"], &[])], &people);
        assert_eq!(found, [Reason::Busy { step: 1, until: Some(Minute::new(2000)) }]);
    }

    #[test]
    fn a_day_that_is_too_short_says_when_it_would_be_done() {
        let people = [person("T1", &["sanding"], &[(480, 600), (1920, 2520)], &[])];
        let long = [order(&[], vec![step(700, &[])])];
        let horizon = Horizon::new(Minute::new(0), Minute::new(2880), Minutes::new(15)).unwrap();
        let bays = [bay("B1", &[], &[])];
        let wanted = Wanted {
            horizon,
            bays: &bays,
            technicians: &people,
            orders: &long,
            moving: Moving::OFF,
            from: Minute::new(0),
            by: Minute::new(1080),
        };
        assert_eq!(wanted.why_not().unwrap(), [Reason::TooLong { soonest: None }]);
    }

    #[test]
    fn a_closure_is_to_blame_where_the_usual_hours_would_do() {
        let orders = [order(&[], vec![step(60, &[])])];
        let horizon = Horizon::new(Minute::new(0), Minute::new(2880), Minutes::new(15)).unwrap();
        let closed_on_the_first_day = |held| Bay { open: set(&DAYS[1..]), ..bay("B1", &[], held) };
        let usual = [bay("B1", &[], &[])];
        let blamed = |bays: &[Bay], people: &[Technician], by| {
            let (from, by) = (Minute::new(0), Minute::new(by));
            let moving = Moving::OFF;
            Wanted { horizon, bays, technicians: people, orders: &orders, moving, from, by }.is_closed(&usual).unwrap()
        };
        let (free, busy) = (person("T1", &[], &DAYS, &[]), person("T1", &[], &DAYS, &[(480, 1080)]));
        assert!(blamed(&[closed_on_the_first_day(&[])], core::slice::from_ref(&free), 1080));
        // Somebody busy would be an obstacle too, but nobody could work there in any case.
        assert!(blamed(&[closed_on_the_first_day(&[])], core::slice::from_ref(&busy), 1080));
        assert!(!blamed(&[closed_on_the_first_day(&[])], core::slice::from_ref(&free), 2520));
        assert!(!blamed(&usual, &[busy], 1080));
        assert!(!blamed(&[closed_on_the_first_day(&[])], &[free], 30));
    }

    #[test]
    fn a_bay_with_a_long_gap_at_the_wrong_time_is_not_to_blame() {
        // The bay is free in the morning, its people in the afternoon.
        let bays = [bay("B1", &["cover"], &[(750, 1080)])];
        let people = [person("T1", &["sanding"], &DAYS, &[(480, 840)]), person("T2", &[], &DAYS, &[])];
        let found = why(&bays, &people);
        assert_eq!(found, [Reason::Busy { step: 1, until: Some(Minute::new(840)) }]);
    }

    #[test]
    fn a_car_that_changes_bays_is_told_of_the_bay_that_is_taken() {
        let part = |minutes, feature: &str| StayStep {
            step: step(minutes, &[]),
            features: words(&[feature]),
            holds: Holds::Car,
        };
        let orders = [StepOrder::new(&words(&[]), vec![part(60, "drain"), part(120, "clean")], Minutes::ZERO).unwrap()];
        let horizon = Horizon::new(Minute::new(0), Minute::new(2880), Minutes::new(15)).unwrap();
        let people = [person("T1", &[], &DAYS, &[])];
        let asked = |bays: &[Bay], moving| {
            let (from, by) = (Minute::new(480), Minute::new(1080));
            Wanted { horizon, bays, technicians: &people, orders: &orders, moving, from, by }.why_not().unwrap()
        };
        let free = [bay("W", &["drain"], &[]), bay("C", &["clean"], &[])];
        assert_eq!(asked(&free, Moving::OFF), [Reason::NoBay]);
        assert_eq!(asked(&free, Moving::USUAL), []);
        assert_eq!(asked(&free[..1], Moving::USUAL), [Reason::NoBay]);
        let taken = [bay("W", &["drain"], &[]), bay("C", &["clean"], &[(540, 2000)])];
        let until = Some(Minute::new(2000));
        assert_eq!(asked(&taken, Moving::USUAL), [Reason::BayHeld { bay: "C".into(), until }]);
    }
}
