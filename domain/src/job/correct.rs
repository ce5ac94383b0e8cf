//! Corrects the times of a step: its work, and when it is dry.

use alloc::format;
use alloc::string::String;
use alloc::vec::Vec;

use chrono::{DateTime, Utc};

use super::{Job, JobRefusal, JobStep, Piece, StepMove};
use crate::id::PersonId;
use crate::menu::Code;
use crate::refusal::Fault;

/// Maximum number of pieces of work of one step.
pub const MOST_PIECES: usize = 500;

impl Job {
    /// Replaces the pieces of work of a step. `elsewhere` is the work of the same people on other cars, each with the
    /// step's name; `arrived` is when the car came, counted from its whole minute on. If the step was finished when its
    /// last piece ended, it now counts as finished when that piece ends.
    ///
    /// # Errors
    /// [`JobRefusal`] if the step hasn't begun, or with every impossible time: one in the future, a new one before the
    /// car came, an end before its start, one person at two things at once, or other people working on it now than
    /// those whose clock runs.
    pub fn correct(
        &mut self,
        code: &Code,
        mut pieces: Vec<Piece>,
        elsewhere: &[(String, Piece)],
        arrived: Option<DateTime<Utc>>,
        now: DateTime<Utc>,
    ) -> Result<StepMove, JobRefusal> {
        let at = self.place(code)?;
        let state = self.steps[at].state.go(StepMove::Correct)?;
        let mut faults = self.faults_of(at, &pieces, elsewhere, now);
        let arrived = arrived.map(whole_minute);
        let early = arrived.map(|arrived| too_early(&self.steps[at], &pieces, arrived)).unwrap_or_default();
        let named = arrived.filter(|_| !early.is_empty());
        faults.extend(early);
        if !faults.is_empty() {
            return Err(JobRefusal::BadTimes { faults, named });
        }
        pieces.sort_by_key(|piece| piece.from);
        let step = &mut self.steps[at];
        let (was, is) = (last_end(&step.pieces), last_end(&pieces));
        step.finished_at = match step.finished_at {
            Some(finished) if Some(finished) == was => Some(is.unwrap_or(finished)),
            Some(finished) => Some(is.map_or(finished, |is| is.max(finished))),
            None => None,
        };
        step.state = state;
        step.pieces = pieces;
        Ok(StepMove::Correct)
    }

    /// Ends a step's drying or curing earlier than planned, for example because an infrared lamp is used: the steps
    /// that it holds back may begin from `from` on.
    ///
    /// # Errors
    /// [`JobRefusal`] if the step isn't finished, if it is already dry, and if `from` has passed or isn't earlier than
    /// before.
    pub fn end_wait(&mut self, code: &Code, from: DateTime<Utc>, now: DateTime<Utc>) -> Result<StepMove, JobRefusal> {
        let at = self.place(code)?;
        let step = &mut self.steps[at];
        step.state.go(StepMove::EndWait)?;
        match step.clear_from {
            Some(until) if until > now && from >= now && from < until => step.clear_from = Some(from),
            Some(until) if until > now => return Err(JobRefusal::NotEarlier { step: step.name.clone(), until }),
            _ => return Err(JobRefusal::NotCuring(step.name.clone())),
        }
        Ok(StepMove::EndWait)
    }

    /// Whether the end of a step's drying or curing may still be changed: nothing after it has begun yet.
    pub fn may_dry_otherwise(&self, code: &Code) -> bool {
        !self.steps.iter().any(|later| later.has_begun_after(code))
    }

    fn faults_of(&self, at: usize, pieces: &[Piece], elsewhere: &[(String, Piece)], now: DateTime<Utc>) -> Vec<Fault> {
        let mut faults = Vec::new();
        let mut fault = |place: usize, field: &str, code: &'static str, detail: String| {
            faults.push(Fault { pointer: format!("/pieces/{place}{field}"), code, detail });
        };
        let others: Vec<(&str, &Piece)> = self.others(at, elsewhere).collect();
        for (place, piece) in pieces.iter().enumerate() {
            if piece.from > now {
                fault(place, "/start", "in_the_future", "this start is in the future".into());
            }
            match piece.until {
                Some(until) if until > now => {
                    fault(place, "/finish", "in_the_future", "this finish is in the future".into());
                }
                Some(until) if until < piece.from => {
                    fault(place, "/finish", "before_start", "this finish is before its start".into());
                }
                _ => {}
            }
            if let Some(earlier) = pieces[..place].iter().position(|earlier| earlier.overlaps(piece)) {
                let detail = format!("this person is listed twice at this time: see piece {earlier} as well");
                fault(place, "", "overlaps", detail);
            }
            if let Some((name, _)) = others.iter().find(|(_, other)| other.overlaps(piece)) {
                fault(place, "", "overlaps", format!("this person was at {name} at this time"));
            }
        }
        if pieces.len() > MOST_PIECES {
            let detail = format!("a step has at most {MOST_PIECES} pieces of work");
            faults.push(Fault { pointer: "/pieces".into(), code: "too_many", detail });
        }
        if pieces.is_empty() && !self.steps[at].pieces.is_empty() {
            let detail = "keep at least one piece of work; if nobody was at the step, undo it instead";
            faults.push(Fault { pointer: "/pieces".into(), code: "empty", detail: detail.into() });
        }
        if running(pieces) != running(&self.steps[at].pieces) {
            let detail = "leave out the finish only for people who are at the step now: start or stop the others";
            faults.push(Fault { pointer: "/pieces".into(), code: "other_people_at_it", detail: detail.into() });
        }
        faults
    }

    /// The pieces of work on the job's other steps and on other cars, each with its name.
    pub(super) fn others<'j>(
        &'j self,
        at: usize,
        elsewhere: &'j [(String, Piece)],
    ) -> impl Iterator<Item = (&'j str, &'j Piece)> {
        let steps = self.steps.iter().enumerate().filter(move |(place, _)| *place != at);
        let here = steps.flat_map(|(_, step)| step.pieces.iter().map(|piece| (step.name.as_str(), piece)));
        here.chain(elsewhere.iter().map(|(name, piece)| (name.as_str(), piece)))
    }
}

impl JobStep {
    /// Pieces that are in one list and not in the other: those that a correction changes.
    pub fn touched<'a>(&'a self, corrected: &'a [Piece]) -> impl Iterator<Item = &'a Piece> {
        let gone = self.pieces.iter().filter(|piece| !corrected.contains(piece));
        gone.chain(corrected.iter().filter(|piece| !self.pieces.contains(piece)))
    }
}

/// The minute in which a moment lies, from its first second on.
pub(super) fn whole_minute(at: DateTime<Utc>) -> DateTime<Utc> {
    DateTime::from_timestamp(at.timestamp().div_euclid(60) * 60, 0).unwrap_or(at)
}

/// The new pieces that would begin before the minute in which the car came. Existing pieces are left alone.
fn too_early(step: &JobStep, pieces: &[Piece], arrived: DateTime<Utc>) -> Vec<Fault> {
    let early = |piece: &Piece| piece.from < arrived && !step.pieces.contains(piece);
    let places = pieces.iter().enumerate().filter(|(_, piece)| early(piece));
    let fault = |place: usize| Fault {
        pointer: format!("/pieces/{place}/start"),
        code: "before_arrival",
        detail: format!("this start is before the car came, at {arrived}"),
    };
    places.map(|(place, _)| fault(place)).collect()
}

/// People who work on it, in order.
fn running(pieces: &[Piece]) -> Vec<&PersonId> {
    let mut people: Vec<&PersonId> =
        pieces.iter().filter(|piece| piece.until.is_none()).map(|piece| &piece.who).collect();
    people.sort_unstable();
    people
}

fn last_end(pieces: &[Piece]) -> Option<DateTime<Utc>> {
    pieces.iter().filter_map(|piece| piece.until).max()
}
