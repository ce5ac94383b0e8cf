//! Reason why work is not done in time, in sentences with the studio's own names.

use baywright_domain::calendar::ZoneRules;
use baywright_domain::menu::Code;
use baywright_domain::plan::{Hands, PlannedStep, WorkPlan};
use baywright_domain::schedule::{Figure, Hindrance, Reason, Relief, Taken};
use baywright_domain::time::Minute;
use chrono::NaiveTime;

use super::explain::Figured;
use crate::shop::settings::Settings;
use crate::shop::usecase::{Bay, Closure};

/// A reason with the names that it mentions.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Hindered {
    /// Kind of the reason.
    pub kind: Hindrance,
    /// The reason in a sentence.
    pub text: String,
    /// Code of the step that the reason concerns.
    pub step: Option<Code>,
    /// Id of the bay that the reason concerns.
    pub bay: Option<String>,
    /// Time until which the reason applies; `None` also if that is after the searched period.
    pub until: Option<Minute>,
}

/// Names that the sentences use.
pub(super) struct Names<'a> {
    pub(super) settings: &'a Settings,
    pub(super) work: &'a WorkPlan,
    pub(super) bays: Vec<Bay>,
}

impl Names<'_> {
    /// The reason in a sentence.
    pub(super) fn told(&self, reason: &Reason) -> Hindered {
        let mut told = Hindered { kind: reason.kind(), text: String::new(), step: None, bay: None, until: None };
        told.text = match reason {
            Reason::NoBay => {
                format!("No bay in use has everything that the work needs: {}.", list(&self.work.features))
            }
            Reason::NobodyAble { step } => {
                let step = self.step(&mut told, *step);
                step.map(|step| step.nobody_able().text(&self.settings.zone)).unwrap_or_default()
            }
            Reason::Away { step, from } => {
                told.until = *from;
                let when = self.before(*from);
                self.step(&mut told, *step).map_or_else(String::new, |step| match step.hands {
                    Hands::One => format!("Nobody who can do {} is at work {when}.", task(step)),
                    Hands::Two => format!("No two people who can do {} together are at work {when}.", task(step)),
                })
            }
            Reason::TooLong { soonest } => {
                told.until = *soonest;
                match soonest {
                    Some(at) => format!(
                        "Even with nothing else booked the work would be done {} at the earliest.",
                        self.settings.wall(*at)
                    ),
                    None => "Even with nothing else booked the opening hours leave no room for the work.".to_owned(),
                }
            }
            Reason::BayHeld { bay, until } => {
                told.until = *until;
                told.bay = Some(bay.clone());
                let name = self.bay(bay);
                format!("{name} is not free for long enough {}.", self.before(*until))
            }
            Reason::Busy { step, until } => {
                told.until = *until;
                let when = self.until(*until);
                self.step(&mut told, *step).map_or_else(String::new, |step| match step.hands {
                    Hands::One => format!("Everyone who can do {} has other work {when}.", task(step)),
                    Hands::Two => {
                        format!("Of any two people who can do {} together, one has other work {when}.", task(step))
                    }
                })
            }
            Reason::NotFreeTogether => {
                "Bays and people are free at times, but never for long enough at the same time.".to_owned()
            }
        };
        told
    }

    /// Sentence that the shop or a bay is closed on some days.
    pub(super) fn closed(&self, closure: &Closure) -> Hindered {
        let details = &closure.details;
        let bay = details.bay.as_ref().map(|bay| self.bay(bay.as_str()));
        Hindered {
            kind: Hindrance::Closed,
            text: details.in_words(bay),
            step: None,
            bay: details.bay.as_ref().map(ToString::to_string),
            until: Some(self.settings.zone.to_utc(details.dates.until().and_time(NaiveTime::MIN))),
        }
    }

    /// A figure with its sentence.
    pub(super) fn figure(&self, figure: Figure) -> Figured {
        let Figure { relief, finish } = figure;
        let supposed = match relief {
            Relief::AsIs => "As things are",
            Relief::BaysEmpty => "With no other car in any bay",
            Relief::EveryoneFree => "With no other work for anybody",
            Relief::NothingBooked => "With nothing else booked",
            Relief::EveryoneIn => "With everyone at work whenever a bay is open",
            Relief::NoClosures => "Without closures",
            Relief::CarFree => "Without the other bookings of this car",
            Relief::WithMoves => "With a move from one bay to another",
            Relief::Without => "With less work",
        };
        Figured { relief, without: None, finish, text: self.done(supposed, finish) }
    }

    /// Finish of the work without one of its services.
    pub(super) fn without(&self, service: &Code, name: &str, finish: Minute) -> Figured {
        let text = self.done(&format!("Without {name}"), Some(finish));
        Figured { relief: Relief::Without, without: Some(service.clone()), finish: Some(finish), text }
    }

    fn done(&self, supposed: &str, finish: Option<Minute>) -> String {
        match finish {
            Some(at) => format!("{supposed} the work would be done {}.", self.settings.wall(at)),
            None => format!("{supposed} the work would not be done there, or not in the days searched."),
        }
    }

    /// Sentence that the car itself is in a bay for another booking.
    pub(super) fn car_elsewhere(&self, taken: &Taken) -> Hindered {
        let (from, until) = (self.settings.wall(taken.when.from()), self.settings.wall(taken.when.to()));
        let bay = self.bay(&taken.owner);
        Hindered {
            kind: Hindrance::CarElsewhere,
            text: format!("This car is in {bay} from {from} to {until} for booking {}.", taken.booking),
            step: None,
            bay: Some(taken.owner.clone()),
            until: Some(taken.when.to()),
        }
    }

    fn bay<'b>(&'b self, id: &'b str) -> &'b str {
        self.bays.iter().find(|one| one.id.as_str() == id).map_or(id, |one| one.details.name.as_str())
    }

    /// The step at that index; remembers it.
    fn step(&self, told: &mut Hindered, place: usize) -> Option<&PlannedStep> {
        let step = self.work.steps.get(place)?;
        told.step = Some(step.code.clone());
        Some(step)
    }

    fn before(&self, at: Option<Minute>) -> String {
        at.map_or_else(|| "in the days searched".to_owned(), |at| format!("before {}", self.settings.wall(at)))
    }

    fn until(&self, at: Option<Minute>) -> String {
        at.map_or_else(|| "in all the days searched".to_owned(), |at| format!("until {}", self.settings.wall(at)))
    }
}

/// A step and the skills that it needs.
fn task(step: &PlannedStep) -> String {
    format!("{} ({})", step.name, skills(step))
}

fn skills(step: &PlannedStep) -> String {
    if step.skills.is_empty() { "no special skill".to_owned() } else { list(&step.skills) }
}

fn list(codes: &[Code]) -> String {
    codes.iter().map(Code::as_str).collect::<Vec<_>>().join(", ")
}
