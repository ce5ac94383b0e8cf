//! The clock of a step: pieces of work, and their minutes.

use alloc::vec::Vec;

use chrono::{DateTime, Utc};

use crate::id::PersonId;
use crate::time::Minutes;

/// Piece of work: a person who works on a step from one moment to another. Without an end it is still running.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Piece {
    /// Id of the person who worked.
    pub who: PersonId,
    /// Time when they began.
    pub from: DateTime<Utc>,
    /// Time when they stopped.
    pub until: Option<DateTime<Utc>>,
}

impl Piece {
    /// Ends the piece; a clock that went backwards makes it empty, never negative.
    pub(super) fn end(&mut self, now: DateTime<Utc>) {
        self.until = Some(now.max(self.from));
    }

    /// Whether both are work of the same person and overlap. A piece without an end is still running.
    pub(super) fn overlaps(&self, other: &Self) -> bool {
        let ends_after = |one: &Self, moment| one.until.is_none_or(|until| until > moment);
        self.who == other.who
            && ends_after(self, other.from.max(self.from))
            && ends_after(other, self.from.max(other.from))
    }

    fn milliseconds(&self, now: DateTime<Utc>) -> (i64, i64) {
        let until = self.until.unwrap_or(now).max(self.from);
        (self.from.timestamp_millis(), until.timestamp_millis())
    }
}

/// Minutes during which at least one piece runs.
pub(super) fn attended(pieces: &[Piece], now: DateTime<Utc>) -> Minutes {
    let mut stretches: Vec<(i64, i64)> = pieces.iter().map(|piece| piece.milliseconds(now)).collect();
    stretches.sort_unstable();
    let mut total = 0;
    let mut reached = i64::MIN;
    for (from, until) in stretches {
        total += (until - from.max(reached)).max(0);
        reached = reached.max(until);
    }
    minutes(total)
}

/// Minutes of all pieces together.
pub(super) fn of_all_hands(pieces: &[Piece], now: DateTime<Utc>) -> Minutes {
    minutes(pieces.iter().map(|piece| piece.milliseconds(now)).map(|(from, until)| until - from).sum())
}

fn minutes(milliseconds: i64) -> Minutes {
    Minutes::new(u32::try_from((milliseconds + 30_000) / 60_000).unwrap_or(u32::MAX))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(seconds: i64) -> DateTime<Utc> {
        DateTime::from_timestamp(1_800_000_000 + seconds, 0).unwrap()
    }

    fn piece(who: &str, from: i64, until: Option<i64>) -> Piece {
        Piece { who: PersonId::new(who), from: at(from), until: until.map(at) }
    }

    #[test]
    fn pieces_add_up_and_two_at_once_count_once_as_attended() {
        let pieces = [piece("a", 0, Some(600)), piece("b", 300, Some(900)), piece("a", 1_200, None)];
        // 15 minutes with an overlap of 5, then 10 up to now.
        assert_eq!(attended(&pieces, at(1_800)), Minutes::new(25));
        assert_eq!(of_all_hands(&pieces, at(1_800)), Minutes::new(30));
    }

    #[test]
    fn minutes_are_rounded_once_over_all_pieces() {
        let pieces: Vec<Piece> = (0..4).map(|nth| piece("a", nth * 100, Some(nth * 100 + 20))).collect();
        assert_eq!(attended(&pieces, at(1_000)), Minutes::new(1));
        assert_eq!(attended(&pieces[..1], at(1_000)), Minutes::ZERO);
        assert_eq!(attended(&[piece("a", 0, Some(30))], at(1_000)), Minutes::new(1));
    }

    #[test]
    fn a_clock_that_goes_backwards_takes_nothing_away() {
        let mut late = piece("a", 600, None);
        assert_eq!(attended(&[late.clone()], at(0)), Minutes::ZERO);
        late.end(at(0));
        assert_eq!(late.until, Some(at(600)));
    }
}
