//! Versions of records, which keep people from overwriting a change that they have not seen.
//!
//! Records are changed by a `PUT` of the whole record and not by `PATCH`. Every change names the version it is based on
//! with If-Match, so a client has the whole record anyway, and the three meanings of null in a merge patch would have
//! no benefit.

use super::refusal::{Refused, Why};

/// The version of a record that somebody read before they change it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Seen(pub i64);

impl Seen {
    /// Succeeds if that version is the current one.
    ///
    /// # Errors
    /// [`Why::ChangedMeanwhile`] if the record has changed since.
    pub fn check(self, current: i64) -> Result<(), Refused> {
        if self.0 == current {
            return Ok(());
        }
        Err(Refused::new(
            Why::ChangedMeanwhile,
            "changed-meanwhile",
            "Someone changed this record since you read it. Read it again, and repeat your change on what it is now.",
        ))
    }
}
