//! Reasons why a place is not possible. Each reason is stated once, with its codes, its texts and its kind of refusal.
//!
//! A request for a place is refused with the first reason ([`NoPlace`]). A booked place is checked again after a change
//! of the shop ([`obstacles`](super::obstacles)), after other work was signed
//! ([`Plan::still_fits`](super::Plan::still_fits)) and when a week is planned again
//! ([`Diary::check`](super::Diary::check)): obstacles found then are described with the studio's own names
//! ([`Obstacle::of_agreed`]).

use alloc::format;
use alloc::string::{String, ToString};
use alloc::vec::Vec;

use crate::calendar::ZoneRules;
use crate::refusal::{Fault, Kind, Refusal};
use crate::time::{Interval, Minutes};

/// Reason why a place is not possible. For a booked place several may be found; they are reported in this order.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Obstacle {
    /// The bay is not in use, or there is none.
    NoBay,
    /// The bay lacks a feature that the work needs.
    Feature {
        /// The feature.
        feature: String,
    },
    /// The bay is closed when the car comes, or while somebody has to work on it.
    Closed,
    /// Somebody does not work on cars, or no longer.
    NobodyThere {
        /// Code of the person.
        person: String,
    },
    /// Somebody is not at work for the whole of their part.
    Away {
        /// Code of the person.
        person: String,
    },
    /// Somebody lacks a skill for a step that they should do.
    Skill {
        /// Code of the person.
        person: String,
        /// Code of the step.
        step: String,
        /// The skill.
        skill: String,
    },
    /// Somebody has other work during a step that they should do.
    Busy {
        /// Code of the person.
        person: String,
        /// Code of the step.
        step: String,
    },
    /// Nobody has all skills of a step, or no two people are available for it.
    NobodyAble {
        /// Name of the step.
        step: String,
        /// The skills that it requires.
        skills: Vec<String>,
        /// Whether it needs two people, of whom one has the skills.
        two: bool,
    },
    /// The start is in the past.
    Passed,
    /// The start is not one of the slots.
    OffSlot {
        /// Minutes from one slot to the next.
        slot: Minutes,
    },
    /// The work would not end within the period for which the shop's time is known.
    NeverEnds {
        /// Number of days that are.
        days: u32,
    },
    /// Another car has the bay for some of the time.
    BayTaken(Holder),
    /// Everyone who can do the work has other work at that time.
    PeopleBusy,
    /// The car itself is in a bay for another booking at that time.
    CarElsewhere {
        /// Id of that booking.
        booking: String,
        /// Time when the car is in a bay for it.
        when: Interval,
    },
    /// The place was made for different work.
    OtherWork {
        /// Code of the first step that does not fit; `None` if the work as a whole does not.
        step: Option<String>,
    },
}

/// Holder of the bay.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Holder {
    /// Somebody who took it since the place was found.
    Faster,
    /// A car, for this time.
    Car(Interval),
    /// The booking with this id, for this time.
    Booking(String, Interval),
}

/// The word for a refusal that names a value to change.
const INVALID: &str = "invalid-value";

const OTHER_WORK: &str = "Move this booking to a time that fits: the customer has signed other work since it was made, so \
     its time may be too short. It can keep its start if the bay is free for long enough.";

impl Obstacle {
    /// Kind of refusal of a request for the place: a value to change, or a place that others have.
    pub fn kind(&self) -> Kind {
        if self.code() == INVALID { Kind::Invalid } else { Kind::Conflict }
    }

    /// Stable code of the kind of refusal; several reasons share one.
    pub const fn code(&self) -> &'static str {
        match self {
            Self::NoBay
            | Self::Feature { .. }
            | Self::Closed
            | Self::Passed
            | Self::OffSlot { .. }
            | Self::NeverEnds { .. } => INVALID,
            Self::NobodyAble { .. } => "nobody-able",
            Self::NobodyThere { .. }
            | Self::Away { .. }
            | Self::Skill { .. }
            | Self::Busy { .. }
            | Self::BayTaken(_)
            | Self::PeopleBusy => "slot-taken",
            Self::CarElsewhere { .. } => "car-booked-elsewhere",
            Self::OtherWork { .. } => "work-changed",
        }
    }

    /// The value to change, as a JSON pointer into the request, and the stable code of its fault; `None` if no other
    /// value would help.
    pub const fn faulty_value(&self) -> Option<(&'static str, &'static str)> {
        Some(match self {
            Self::NoBay => ("/bay_id", "no_such_bay"),
            Self::Feature { .. } => ("/bay_id", "lacks_feature"),
            Self::Closed => ("/start", "closed"),
            Self::Passed => ("/start", "in_the_past"),
            Self::OffSlot { .. } => ("/start", "off_slot"),
            Self::NeverEnds { .. } => ("/start", "never_ends"),
            Self::CarElsewhere { .. } => ("/start", "car_taken"),
            Self::NobodyThere { .. }
            | Self::Away { .. }
            | Self::Skill { .. }
            | Self::Busy { .. }
            | Self::BayTaken(_)
            | Self::PeopleBusy => ("/start", "taken"),
            Self::NobodyAble { .. } | Self::OtherWork { .. } => return None,
        })
    }

    /// Description and next step, in sentences for the person who requests the place; times are in the shop's local
    /// time.
    pub fn text(&self, zone: &impl ZoneRules) -> String {
        let span = |when: &Interval| format!("from {} to {}", zone.wall(when.from()), zone.wall(when.to()));
        match self {
            Self::NoBay => "The shop has no such bay in use. Choose one of its bays.".to_string(),
            Self::Feature { feature } => {
                format!("This bay has no {feature}, which the work needs. Choose a bay that has it.")
            }
            Self::Closed => "This bay is closed then. Choose one of the times offered.".to_string(),
            Self::NobodyThere { .. } | Self::Away { .. } | Self::Skill { .. } | Self::Busy { .. } => {
                "This time is taken: somebody whom the work was planned for can't do it then.".to_string()
            }
            Self::NobodyAble { step, skills, two } => {
                let skills = if skills.is_empty() { "no special skill".to_string() } else { skills.join(", ") };
                if *two {
                    format!("There are no two people of whom one has all the skills for {step}: {skills}.")
                } else {
                    format!("Nobody has all the skills for {step}: {skills}.")
                }
            }
            Self::Passed => "This start has passed. Choose a later one.".to_string(),
            Self::OffSlot { slot } => format!("Work starts every {slot}. Choose one of the times offered."),
            Self::NeverEnds { days } => {
                format!("The work doesn't end within {days} days from then. Choose one of the times offered.")
            }
            Self::BayTaken(Holder::Faster) => "This time is taken: someone else took it just now.".to_string(),
            Self::BayTaken(Holder::Car(when)) => {
                format!("This time is taken: another car has this bay {}.", span(when))
            }
            Self::BayTaken(Holder::Booking(booking, when)) => {
                format!("This time is taken: booking {booking} has this bay {}.", span(when))
            }
            Self::PeopleBusy => "This time is taken: everyone who can do the work is busy then.".to_string(),
            Self::CarElsewhere { booking, when } => format!(
                "This car is already booked {} (booking {booking}) and can't be in two bays at once. Choose another time, \
                 or move that booking.",
                span(when)
            ),
            Self::OtherWork { .. } => OTHER_WORK.to_string(),
        }
    }

    /// Obstacle to a booked place, without a full stop. `bay` is the name of its bay; `person` and `step` return the
    /// names for the code of a person and of a step.
    pub fn of_agreed<'n>(
        &self,
        bay: &str,
        person: impl FnOnce(&str) -> &'n str,
        step: impl FnOnce(&str) -> String,
    ) -> String {
        match self {
            Self::NoBay => format!("{bay} is no longer in use"),
            Self::Feature { feature } => format!("{bay} has no {feature}, which the work needs"),
            Self::Closed => format!("{bay} is closed then"),
            Self::NobodyThere { person: code } => format!("{} no longer works on cars", person(code)),
            Self::Away { person: code } => format!("{} is away for some of the time", person(code)),
            Self::Skill { person: code, step: work, skill } => {
                format!("{} lacks the skill {skill} for {}", person(code), step(work))
            }
            Self::Busy { person: code, step: work } => {
                format!("{} is planned for {} then, but has other work", person(code), step(work))
            }
            Self::NobodyAble { step, .. } => format!("Nobody has all the skills for {step}"),
            Self::Passed => "Its time has passed".to_string(),
            Self::OffSlot { .. } => "Bookings no longer start at that time of day".to_string(),
            Self::NeverEnds { days } => format!("The work doesn't end within {days} days from then"),
            Self::BayTaken(_) => format!("{bay} is taken then"),
            Self::PeopleBusy => "Everyone who can do the work is busy then".to_string(),
            Self::CarElsewhere { .. } => "The car has another booking then".to_string(),
            Self::OtherWork { .. } => "The customer has signed other work since the booking was made".to_string(),
        }
    }

    /// Whether the place could be had if something else gave way: another booking, or a closure.
    pub const fn may_pass(&self) -> bool {
        matches!(self, Self::BayTaken(_) | Self::PeopleBusy | Self::CarElsewhere { .. } | Self::Closed)
    }

    /// Whether another time may do, so that free times are worth asking for.
    fn is_taken(&self) -> bool {
        matches!(self.faulty_value(), Some((_, "taken")))
    }
}

/// Refusal of a requested place, in words.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{text}")]
pub struct NoPlace {
    obstacle: Obstacle,
    text: String,
}

impl NoPlace {
    /// The refusal for that reason. If the time is taken, `again` follows: a sentence that says where to ask for free
    /// times.
    pub fn new(obstacle: Obstacle, zone: &impl ZoneRules, again: &str) -> Self {
        let mut text = obstacle.text(zone);
        if obstacle.is_taken() && !again.is_empty() {
            text.push(' ');
            text.push_str(again);
        }
        Self { obstacle, text }
    }
}

impl Refusal for NoPlace {
    fn kind(&self) -> Kind {
        self.obstacle.kind()
    }

    fn code(&self) -> &'static str {
        self.obstacle.code()
    }

    fn faults(&self) -> Vec<Fault> {
        let fault = |(pointer, code): (&str, &'static str)| Fault {
            pointer: pointer.to_string(),
            code,
            detail: self.text.clone(),
        };
        self.obstacle.faulty_value().map(fault).into_iter().collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::calendar::Zone;
    use crate::time::Minute;

    fn told(obstacle: Obstacle) -> NoPlace {
        NoPlace::new(obstacle, &Zone::named("UTC").unwrap(), "Ask again.")
    }

    fn morning() -> Interval {
        Interval::new(Minute::new(480), Minute::new(600)).unwrap()
    }

    #[test]
    fn a_taken_time_says_who_has_it_and_where_to_ask_again() {
        let taken = told(Obstacle::BayTaken(Holder::Booking("b1".into(), morning())));
        assert_eq!((taken.kind(), taken.code()), (Kind::Conflict, "slot-taken"));
        let text = "This time is taken: booking b1 has this bay from Thu 1 January 1970, 08:00 to Thu 1 January 1970, \
                    10:00. Ask again.";
        assert_eq!(taken.to_string(), text);
        let [fault] = &taken.faults()[..] else { panic!("one value is faulty") };
        assert_eq!((fault.pointer.as_str(), fault.code, fault.detail.as_str()), ("/start", "taken", text));
    }

    #[test]
    fn a_value_that_never_fits_is_named_and_free_times_are_not() {
        let lacking = told(Obstacle::Feature { feature: "cover".into() });
        assert_eq!((lacking.kind(), lacking.code()), (Kind::Invalid, "invalid-value"));
        assert_eq!(lacking.to_string(), "This bay has no cover, which the work needs. Choose a bay that has it.");
        assert_eq!((lacking.faults()[0].pointer.as_str(), lacking.faults()[0].code), ("/bay_id", "lacks_feature"));
        let elsewhere = told(Obstacle::CarElsewhere { booking: "b1".into(), when: morning() });
        assert!(elsewhere.to_string().ends_with("or move that booking."), "{elsewhere}");
        assert_eq!((elsewhere.code(), elsewhere.faults()[0].code), ("car-booked-elsewhere", "car_taken"));
        let other = told(Obstacle::OtherWork { step: None });
        assert_eq!((other.kind(), other.code(), other.faults().len()), (Kind::Conflict, "work-changed", 0));
    }

    #[test]
    fn a_step_that_nobody_can_do_names_its_skills() {
        let unable = |skills: &[&str], two| {
            let skills = skills.iter().map(ToString::to_string).collect();
            told(Obstacle::NobodyAble { step: "Polish".into(), skills, two }).to_string()
        };
        assert_eq!(unable(&["correction", "paint"], false), "Nobody has all the skills for Polish: correction, paint.");
        let two = "There are no two people of whom one has all the skills for Polish: no special skill.";
        assert_eq!(unable(&[], true), two);
    }

    #[test]
    fn an_agreed_place_is_told_with_the_studios_names() {
        let said = |obstacle: Obstacle| obstacle.of_agreed("Hall 1", |_| "Ada", |_| "Machine polish".into());
        assert_eq!(said(Obstacle::Closed), "Hall 1 is closed then");
        let lacking = Obstacle::Skill { person: "p1".into(), step: "polish".into(), skill: "correction".into() };
        assert_eq!(said(lacking), "Ada lacks the skill correction for Machine polish");
        let busy = Obstacle::Busy { person: "p1".into(), step: "polish".into() };
        assert_eq!(said(busy), "Ada is planned for Machine polish then, but has other work");
    }
}
