//! Refusals of moves of a step or a job.

use alloc::string::String;
use alloc::vec::Vec;

use chrono::{DateTime, Utc};

use crate::menu::Code;
use crate::refusal::{Fault, Kind, Refusal, WrongState, told};

/// Reason why a move of a step, or of the job, is refused.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum JobRefusal {
    /// The job has no such step.
    #[error("this job has no step {0}: choose one of its steps")]
    UnknownStep(Code),
    /// The step's state doesn't allow the move.
    #[error(transparent)]
    State(#[from] WrongState),
    /// Steps before it aren't finished or removed.
    #[error("{step} can't be started before these are finished or removed: {}", on.join(", "))]
    Unfinished {
        /// The step's name.
        step: String,
        /// The names of the steps it waits for.
        on: Vec<String>,
    },
    /// A step before it, or one that holds the whole car, is still drying or curing.
    #[error("{step} can't be started before {until}: {on} has to dry or cure until then")]
    StillCuring {
        /// The step's name.
        step: String,
        /// The name of the step that dries or cures.
        on: String,
        /// Time from which it may be started.
        until: DateTime<Utc>,
    },
    /// Something on the car is still drying or curing, and the step is done in another bay.
    #[error("the car can't be moved to {bay} for {step} before {until}: {on} has to dry or cure until then")]
    NotMovable {
        /// The step's name.
        step: String,
        /// The name of the other bay.
        bay: String,
        /// The name of the step that dries or cures.
        on: String,
        /// Time from which the car may be moved.
        until: DateTime<Utc>,
    },
    /// The person works on another step of this job, or already on this one.
    #[error("this person is still at {0}: stop or finish that first")]
    Busy(String),
    /// The person doesn't work on the step.
    #[error("this person isn't at {0}, so there is nothing to stop")]
    NotAtIt(String),
    /// A step is removed only with a reason.
    #[error("say why the step is removed, in at most 500 characters")]
    NoReason,
    /// Later steps have begun that build on the move that is to be undone.
    #[error("{step} can't be undone: {} began after it. Undo that first", on.join(", "))]
    BuiltOn {
        /// The step's name.
        step: String,
        /// The names of the steps that have begun after it.
        on: Vec<String>,
    },
    /// Somebody whose work on the step would count again was at other steps or cars in that time.
    #[error(
        "{step} can't be undone: somebody who worked on it has worked on {} since, and nobody works on two steps at \
         once. Undo that first",
        on.join(", ")
    )]
    WorkedSince {
        /// The step's name.
        step: String,
        /// The names of the other steps.
        on: Vec<String>,
    },
    /// Times are impossible.
    #[error("these times can't be right: {}", told(faults))]
    BadTimes {
        /// The faulty times.
        faults: Vec<Fault>,
        /// The moment that faults name in their texts; `None` if they name none.
        named: Option<DateTime<Utc>>,
    },
    /// Nothing dries or cures any more.
    #[error("{0} no longer needs to dry or cure: later steps can begin")]
    NotCuring(String),
    /// The new end of a wait isn't before the current one.
    #[error("{step} is dry at {until} anyway: give an earlier time, but not one in the past")]
    NotEarlier {
        /// The step's name.
        step: String,
        /// Time when it has dried or cured without any change.
        until: DateTime<Utc>,
    },
    /// Not all steps are finished or removed.
    #[error("the car isn't ready: finish or remove {}", .0.join(", "))]
    NotReady(Vec<String>),
}

impl JobRefusal {
    /// The same refusal of a start for which the car would have to be moved to that bay: it says when it may be moved.
    #[must_use]
    pub fn before_move_to(self, bay: &str) -> Self {
        match self {
            Self::StillCuring { step, on, until } => Self::NotMovable { step, bay: bay.into(), on, until },
            other => other,
        }
    }
}

impl Refusal for JobRefusal {
    fn kind(&self) -> Kind {
        match self {
            Self::UnknownStep(_) | Self::NoReason | Self::BadTimes { .. } | Self::NotEarlier { .. } => Kind::Invalid,
            _ => Kind::Conflict,
        }
    }

    fn moment(&self) -> Option<DateTime<Utc>> {
        match self {
            Self::StillCuring { until, .. } | Self::NotMovable { until, .. } | Self::NotEarlier { until, .. } => {
                Some(*until)
            }
            Self::BadTimes { named, .. } => *named,
            _ => None,
        }
    }

    fn code(&self) -> &'static str {
        match self {
            Self::UnknownStep(_) => "unknown-step",
            Self::State(state) => state.code(),
            Self::Unfinished { .. } => "step-before-unfinished",
            Self::StillCuring { .. } | Self::NotMovable { .. } => "still-curing",
            Self::Busy(_) => "person-busy",
            Self::NotAtIt(_) => "person-not-at-step",
            Self::NoReason => "no-reason",
            Self::NotReady(_) => "job-not-ready",
            Self::BuiltOn { .. } | Self::WorkedSince { .. } => "undo-first",
            Self::BadTimes { .. } => "times-cannot-be",
            Self::NotCuring(_) => "not-curing",
            Self::NotEarlier { .. } => "wait-not-earlier",
        }
    }

    fn faults(&self) -> Vec<Fault> {
        match self {
            Self::BadTimes { faults, .. } => faults.clone(),
            _ => Vec::new(),
        }
    }
}

#[cfg(test)]
mod tests {
    use alloc::string::ToString;

    use super::*;

    #[test]
    fn a_move_that_a_cure_forbids_says_when_the_car_may_be_moved() {
        let until = DateTime::from_timestamp(3600, 0).unwrap();
        let curing = JobRefusal::StillCuring { step: "Final".into(), on: "Coat".into(), until };
        let told = curing.before_move_to("Bay 1");
        let text = "the car can't be moved to Bay 1 for Final before 1970-01-01 01:00:00 UTC: Coat has to dry or cure \
                    until then";
        assert_eq!((told.to_string().as_str(), told.code(), told.moment()), (text, "still-curing", Some(until)));
        assert_eq!(JobRefusal::NoReason.before_move_to("Bay 1"), JobRefusal::NoReason);
    }
}
