//! Changes of the shop that are only supposed.

use alloc::collections::BTreeSet;
use alloc::string::String;
use alloc::vec::Vec;

use super::ShopTime;
use crate::calendar::{Absence, Dates, DayHours, OpeningHours, Shifts, Weekly, ZoneRules};
use crate::schedule::{Bay, Technician};
use crate::time::IntervalSet;

/// Code of the supposed bay and of the supposed person. It comes after every id, so that cars keep their bays and people
/// where nothing is gained.
pub const SUPPOSED: &str = "~supposed";

/// A change of the shop that is only supposed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Supposed {
    /// Nothing.
    Nothing,
    /// Somebody is away.
    Absence {
        /// Code of the person.
        person: String,
        /// Their usual week, by which days are counted.
        shifts: Weekly,
        /// Days or hours.
        away: Absence,
    },
    /// The shop or a bay is closed.
    Closure {
        /// Code of the bay; `None` for the whole shop.
        bay: Option<String>,
        /// The shop's usual week, by which days are counted.
        weekly: Weekly,
        /// The days.
        dates: Dates,
    },
    /// The shop or a bay is open longer on some days, and people work then.
    Hours {
        /// Code of the bay; `None` for all bays.
        bay: Option<String>,
        /// Codes of the people who work then; everyone if empty.
        people: Vec<String>,
        /// The days.
        dates: Dates,
        /// The hours that begin on each of them.
        hours: DayHours,
    },
    /// The shop has one more bay, which is open whenever any other is.
    Bay {
        /// Its features.
        features: BTreeSet<String>,
    },
    /// The shop has one more person, who is at work whenever a bay is open.
    Person {
        /// Their skills.
        skills: BTreeSet<String>,
    },
}

impl Supposed {
    /// Whether it gives time and takes none, so that every booking can keep its place.
    pub const fn gives_time(&self) -> bool {
        matches!(self, Self::Hours { .. } | Self::Bay { .. } | Self::Person { .. })
    }

    /// The shop's time with this change.
    #[must_use]
    pub fn applied(&self, time: &ShopTime, zone: &impl ZoneRules) -> ShopTime {
        let within = time.horizon.span();
        let mut changed = time.clone();
        match self {
            Self::Nothing => (),
            Self::Absence { person, shifts, away } => {
                let there = Shifts { weekly: shifts.clone(), absences: alloc::vec![*away] }.working(zone, within);
                for one in changed.people.iter_mut().filter(|one| one.code == *person) {
                    one.working = one.working.intersection(&there);
                }
            }
            Self::Closure { bay, weekly, dates } => {
                let open = OpeningHours { weekly: weekly.clone(), closures: alloc::vec![*dates] }.open(zone, within);
                for one in changed.bays.iter_mut().filter(|one| bay.as_ref().is_none_or(|bay| one.code == *bay)) {
                    one.open = one.open.intersection(&open);
                }
            }
            Self::Hours { bay, people, dates, hours } => {
                let days = dates.from().iter_days().take_while(|day| *day < dates.until());
                let more: IntervalSet = days.filter_map(|day| hours.on(day, zone)).collect();
                let more = more.clip(within);
                for one in changed.bays.iter_mut().filter(|one| bay.as_ref().is_none_or(|bay| one.code == *bay)) {
                    one.open = one.open.union(&more);
                }
                for one in changed.people.iter_mut().filter(|one| people.is_empty() || people.contains(&one.code)) {
                    one.working = one.working.union(&more);
                }
            }
            Self::Bay { features } => changed.bays.push(Bay {
                code: SUPPOSED.into(),
                features: features.clone(),
                open: any_open(time),
                held: IntervalSet::EMPTY,
            }),
            Self::Person { skills } => changed.people.push(Technician {
                code: SUPPOSED.into(),
                skills: skills.clone(),
                working: any_open(time),
                busy: IntervalSet::EMPTY,
            }),
        }
        changed
    }
}

/// Time when any bay is open.
fn any_open(time: &ShopTime) -> IntervalSet {
    time.bays.iter().fold(IntervalSet::EMPTY, |all, bay| all.union(&bay.open))
}

#[cfg(test)]
mod tests {
    use alloc::vec;

    use chrono::{NaiveDate, Weekday};

    use super::*;
    use crate::calendar::Zone;
    use crate::schedule::Horizon;
    use crate::time::{Interval, Minute, Minutes};

    fn set(pairs: &[(i64, i64)]) -> IntervalSet {
        pairs.iter().filter_map(|&(from, to)| Interval::new(Minute::new(from), Minute::new(to))).collect()
    }

    /// Thursday and Friday, 1 and 2 January 1970, from 8 to 18 in a zone of whole hours.
    fn time() -> ShopTime {
        let open = set(&[(480, 1080), (1920, 2520)]);
        ShopTime {
            horizon: Horizon::new(Minute::new(0), Minute::new(2880), Minutes::new(15)).unwrap(),
            bays: vec![Bay {
                code: "b".into(),
                features: BTreeSet::new(),
                open: open.clone(),
                held: IntervalSet::EMPTY,
            }],
            people: vec![Technician {
                code: "t".into(),
                skills: BTreeSet::new(),
                working: open,
                busy: IntervalSet::EMPTY,
            }],
        }
    }

    fn week() -> Weekly {
        let hours = DayHours::new(480, 1080).unwrap();
        Weekly::new().with(Weekday::Thu, hours).with(Weekday::Fri, hours)
    }

    fn friday() -> Dates {
        let day = NaiveDate::from_ymd_opt(1970, 1, 2).unwrap();
        Dates::through(day, day).unwrap()
    }

    /// Open time of the last bay, and working time of the last person.
    fn after(supposed: &Supposed) -> (IntervalSet, IntervalSet) {
        let changed = supposed.applied(&time(), &Zone::named("UTC").unwrap());
        (changed.bays.last().unwrap().open.clone(), changed.people.last().unwrap().working.clone())
    }

    #[test]
    fn each_supposition_changes_only_what_it_says() {
        let whole = set(&[(480, 1080), (1920, 2520)]);
        let away = |away| Supposed::Absence { person: "t".into(), shifts: week(), away };
        assert_eq!(after(&Supposed::Nothing), (whole.clone(), whole.clone()));
        assert_eq!(after(&away(Absence::Days(friday()))), (whole.clone(), set(&[(480, 1080)])));
        let morning = Interval::new(Minute::new(480), Minute::new(600)).unwrap();
        assert_eq!(after(&away(Absence::Hours(morning))).1, set(&[(600, 1080), (1920, 2520)]));
        let closed =
            |bay: Option<&str>| Supposed::Closure { bay: bay.map(Into::into), weekly: week(), dates: friday() };
        assert_eq!(after(&closed(None)), (set(&[(480, 1080)]), whole.clone()));
        assert_eq!(after(&closed(Some("other"))).0, whole);
        let evening = DayHours::new(1080, 1200).unwrap();
        let hours = |people: &[&str]| Supposed::Hours {
            bay: None,
            people: people.iter().map(|code| (*code).into()).collect(),
            dates: friday(),
            hours: evening,
        };
        let longer = set(&[(480, 1080), (1920, 2640)]);
        assert_eq!(after(&hours(&[])), (longer.clone(), longer.clone()));
        assert_eq!(after(&hours(&["other"])), (longer, whole.clone()));
        let bay = Supposed::Bay { features: BTreeSet::from(["clean".into()]) };
        assert_eq!(bay.applied(&time(), &Zone::named("UTC").unwrap()).bays.len(), 2);
        assert_eq!(after(&Supposed::Person { skills: BTreeSet::new() }).1, whole);
        assert!(bay.gives_time() && !closed(None).gives_time() && !Supposed::Nothing.gives_time());
    }
}
