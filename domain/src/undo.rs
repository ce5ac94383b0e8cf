//! Undoing moves that were made by mistake: free for a few minutes, with a reason after that.
//!
//! The changes of a move are reversed exactly. If something was built on it, the undo is refused, and the refusal says
//! what to undo first; that is decided where the later record is known.
//!
//! An undo is not a further move that "corrects" the first one. The tables of moves name which moves can be undone, and
//! the reverse is read from the same table (`domain/src/life.rs`). The state of a booking says what led to it, so only
//! the start of a car that came early is stored besides. Several people work on a step, so every move of a step is
//! stored with the step as it was before (`job_move`).
//!
//! The last move of a record is undone first, and nothing else is undone along with it. The reason for undoing is
//! stored in `amendment` and not in the log: it may mention the customer, and the log is kept longer than their data.

use alloc::format;
use alloc::string::{String, ToString};
use alloc::vec;
use alloc::vec::Vec;

use chrono::{DateTime, TimeDelta, Utc};

use crate::refusal::{Fault, Kind, Refusal};
use crate::time::Minutes;
use crate::word::words;

words! {
    /// Kind of a later correction.
    pub enum AmendmentKind("kind of amendment") {
        /// A move was undone.
        Undone = "UNDONE" "undone",
        /// The times of a piece of work were corrected.
        TimesCorrected = "TIMES_CORRECTED" "times corrected",
        /// The drying or curing of a step was ended early.
        WaitEnded = "WAIT_ENDED" "wait ended early",
    }
}

/// Grace period of a new shop, in which people can undo without a reason (common practice, no source).
pub const USUAL_FREE: Minutes = Minutes::new(10);

/// Maximum number of characters of a reason.
pub const REASON_CHARS: usize = 500;

/// Reason why something can't be undone.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum UndoRefusal {
    /// The state was reached by no move that can be undone.
    #[error("the {record} is {state}, and there is nothing to undo")]
    Nothing {
        /// Kind of the record, such as `booking`.
        record: &'static str,
        /// State of the record in words.
        state: &'static str,
    },
    /// It was done a while ago, and no reason is given.
    #[error("{}say why it is undone, in at most 500 characters", ago(*free))]
    NoReason {
        /// Grace period in which no reason is needed.
        free: Minutes,
    },
}

impl Refusal for UndoRefusal {
    fn kind(&self) -> Kind {
        match self {
            Self::Nothing { .. } => Kind::Conflict,
            Self::NoReason { .. } => Kind::Invalid,
        }
    }

    fn code(&self) -> &'static str {
        match self {
            Self::Nothing { .. } => "nothing-to-undo",
            Self::NoReason { .. } => "undo-reason-needed",
        }
    }

    fn faults(&self) -> Vec<Fault> {
        match self {
            Self::Nothing { .. } => Vec::new(),
            Self::NoReason { .. } => {
                vec![Fault { pointer: "/reason".into(), code: "missing", detail: self.to_string() }]
            }
        }
    }
}

/// How long ago it was done, if a reason is not always needed.
fn ago(free: Minutes) -> String {
    if free == Minutes::ZERO { String::new() } else { format!("this was done more than {free} ago: ") }
}

/// Time up to which something that was done at `made` is undone without a reason.
pub fn free_until(made: DateTime<Utc>, free: Minutes) -> DateTime<Utc> {
    made.checked_add_signed(TimeDelta::minutes(i64::from(free.get()))).unwrap_or(DateTime::<Utc>::MAX_UTC)
}

/// Checks that something done at `made` may be undone now, and returns the reason as it is stored: trimmed, `None` if
/// none was given. A clock that went backwards needs no reason.
///
/// # Errors
/// [`UndoRefusal::NoReason`] if more than `free` has passed and the reason is missing, empty or longer than
/// [`REASON_CHARS`].
pub fn reason(
    made: DateTime<Utc>,
    now: DateTime<Utc>,
    free: Minutes,
    given: Option<&str>,
) -> Result<Option<String>, UndoRefusal> {
    let given = given.map(str::trim).filter(|reason| !reason.is_empty());
    let given = given.filter(|reason| reason.chars().count() <= REASON_CHARS).map(String::from);
    if given.is_none() && now > free_until(made, free) {
        return Err(UndoRefusal::NoReason { free });
    }
    Ok(given)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_shop_that_always_asks_for_a_reason_says_nothing_of_minutes() {
        let said = |free| UndoRefusal::NoReason { free: Minutes::new(free) }.to_string();
        assert_eq!(said(0), "say why it is undone, in at most 500 characters");
        assert_eq!(said(10), "this was done more than 10 min ago: say why it is undone, in at most 500 characters");
    }

    fn at(minutes: i64) -> DateTime<Utc> {
        DateTime::from_timestamp(1_800_000_000 + minutes * 60, 0).unwrap()
    }

    #[test]
    fn a_reason_is_needed_only_after_the_free_minutes() {
        let free = Minutes::new(10);
        assert_eq!(reason(at(0), at(10), free, None), Ok(None));
        assert_eq!(reason(at(0), at(11), free, None), Err(UndoRefusal::NoReason { free }));
        assert_eq!(reason(at(0), at(11), free, Some("  ")), Err(UndoRefusal::NoReason { free }));
        assert_eq!(reason(at(0), at(11), free, Some(" wrong car ")), Ok(Some("wrong car".into())));
        assert_eq!(reason(at(0), at(5), free, Some("wrong car")), Ok(Some("wrong car".into())));
        // A clock that was set back.
        assert_eq!(reason(at(60), at(0), free, None), Ok(None));
        assert_eq!(reason(at(0), at(0), Minutes::ZERO, None), Ok(None));
        assert_eq!(UndoRefusal::NoReason { free }.faults()[0].pointer, "/reason");
    }
}
