//! Moves of steps that are told later than they were made: work that was noted without a network keeps its true times.
//!
//! The clock of a tablet may be a little off. A time that is less than two minutes in the future counts as now, and one that
//! is a few seconds before what came before it counts from there.

use alloc::format;
use alloc::string::String;
use alloc::vec::Vec;

use chrono::{DateTime, TimeDelta, Utc};

use super::correct::whole_minute;
use super::{Job, JobRefusal, Piece};
use crate::id::PersonId;
use crate::menu::Code;
use crate::refusal::Fault;
use crate::word::words;

/// Hours within which a move can be told with its time. Later, the times of the step are corrected, with a reason.
pub const TOLD_WITHIN_HOURS: i64 = 24;

/// Seconds by which a device's clock may be ahead.
const AHEAD_SECONDS: i64 = 120;

/// Seconds by which the clocks of two devices may differ: a start that seems to be a moment before the end of the step before
/// it counts from that end.
const SKEW_SECONDS: i64 = 5;

words! {
    /// Moves of a step that can be told later.
    pub enum ToldMove("told move") {
        /// Somebody begins it, continues it or joins.
        Start = "START" "started",
        /// Somebody stops for now.
        Stop = "STOP" "stopped",
        /// It is done.
        Finish = "FINISH" "finished",
    }
}

/// A move that is told with its time.
#[derive(Debug, Clone, Copy)]
pub struct Told<'a> {
    /// Code of the step.
    pub step: &'a Code,
    /// The move.
    pub what: ToldMove,
    /// Id of the person who made it.
    pub who: &'a PersonId,
    /// Time when it was made.
    pub at: DateTime<Utc>,
    /// Time when the car came; `None` if that is unknown.
    pub arrived: Option<DateTime<Utc>>,
    /// Work of the person on other cars since then, each piece with the step's name.
    pub elsewhere: &'a [(String, Piece)],
}

impl Job {
    /// The time that a told move counts from: its own, or the nearest possible one if the device's clock is a little off.
    ///
    /// # Errors
    /// [`JobRefusal`] with every reason why the time can't be right: it is in the future, more than a day ago, before the
    /// car came, before the end of the person's last piece of work, before a step ended that the step has to wait for, or
    /// before the work that it is said to end.
    pub fn told_at(&self, told: &Told<'_>, now: DateTime<Utc>) -> Result<DateTime<Utc>, JobRefusal> {
        let place = self.place(told.step)?;
        let mut faults = Vec::new();
        let mut fault = |code: &'static str, detail: String| {
            faults.push(Fault { pointer: "/at".into(), code, detail });
        };
        if told.at > shifted(now, TimeDelta::seconds(AHEAD_SECONDS)) {
            fault("in_the_future", "this time is in the future: check the clock of the device".into());
        }
        if told.at < shifted(now, TimeDelta::hours(-TOLD_WITHIN_HOURS)) {
            let detail = format!(
                "this was more than {TOLD_WITHIN_HOURS} hours ago: tell it without a time, then correct the times of the step"
            );
            fault("too_long_ago", detail);
        }
        let (said, mut at, mut named) = (told.at.min(now), told.at.min(now), None);
        if let Some(arrived) = told.arrived.map(whole_minute)
            && said < arrived
        {
            named = Some(arrived);
            fault("before_arrival", format!("this time is before the car came, at {arrived}"));
        }
        for (not_before, code, detail) in self.bounds(place, told) {
            if said < shifted(not_before, TimeDelta::seconds(-SKEW_SECONDS)) {
                fault(code, detail);
            }
            at = at.max(not_before.min(now));
        }
        if faults.is_empty() { Ok(at) } else { Err(JobRefusal::BadTimes { faults, named }) }
    }

    /// The times before which a told move can't have been made, each with the fault of an earlier one.
    fn bounds(&self, place: usize, told: &Told<'_>) -> Vec<(DateTime<Utc>, &'static str, String)> {
        let step = &self.steps[place];
        match told.what {
            ToldMove::Start => {
                let here = self.steps.iter().flat_map(|step| step.pieces.iter().map(|piece| (&step.name, piece)));
                let all = here.chain(told.elsewhere.iter().map(|(name, piece)| (name, piece)));
                let own = all.filter(|(_, piece)| piece.who == *told.who);
                let last = own.filter_map(|(name, piece)| Some((piece.until?, name))).max_by_key(|(until, _)| *until);
                let last = last.map(|(until, name)| {
                    (until, "before_last_piece", format!("this person was at {name} after this time"))
                });
                let before = self.steps.iter().filter(|other| step.after.contains(&other.code));
                let ended = before.filter_map(|other| {
                    let detail = format!("{} was not finished at this time", other.name);
                    Some((other.finished_at?, "before_step_before", detail))
                });
                last.into_iter().chain(ended).collect()
            }
            ToldMove::Stop => {
                let runs = |piece: &&Piece| piece.until.is_none() && piece.who == *told.who;
                let own = step.pieces.iter().find(runs);
                let detail = || String::from("this time is before the start of the work that it ends");
                own.map(|piece| (piece.from, "before_start", detail())).into_iter().collect()
            }
            ToldMove::Finish => {
                let last = step.pieces.iter().map(|piece| piece.until.unwrap_or(piece.from)).max();
                let detail = || String::from("somebody was at this step after this time");
                last.map(|last| (last, "before_last_piece", detail())).into_iter().collect()
            }
        }
    }
}

fn shifted(at: DateTime<Utc>, by: TimeDelta) -> DateTime<Utc> {
    at.checked_add_signed(by).unwrap_or(at)
}

#[cfg(test)]
mod tests {
    use alloc::vec;

    use super::*;
    use crate::job::{JobStep, StepState};
    use crate::menu::Holds;

    fn at(minutes: i64) -> DateTime<Utc> {
        DateTime::from_timestamp(1_800_000_000 + minutes * 60, 0).unwrap()
    }

    fn code(text: &str) -> Code {
        Code::parse(text).unwrap()
    }

    fn step(name: &str, after: &[&str]) -> JobStep {
        JobStep {
            code: code(name),
            name: name.into(),
            after: after.iter().map(|one| code(one)).collect(),
            holds: Holds::Car,
            state: StepState::Open,
            pieces: Vec::new(),
            finished_at: None,
            clear_from: None,
            removal_reason: None,
        }
    }

    /// Washed from minute 10 to 20; the car came at minute 5.
    fn washed() -> Job {
        let mut job = Job { steps: vec![step("wash", &[]), step("polish", &["wash"])] };
        job.start(&code("wash"), &PersonId::new("a"), at(10)).unwrap();
        job.finish(&code("wash"), at(20), None).unwrap();
        job
    }

    fn told(job: &Job, what: ToldMove, step: &str, minute: i64, elsewhere: &[(String, Piece)]) -> Vec<&'static str> {
        let (step, who) = (code(step), PersonId::new("a"));
        let made = Told { step: &step, what, who: &who, at: at(minute), arrived: Some(at(5)), elsewhere };
        match job.told_at(&made, at(60)) {
            Ok(_) => Vec::new(),
            Err(JobRefusal::BadTimes { faults, .. }) => faults.into_iter().map(|fault| fault.code).collect(),
            Err(other) => panic!("{other}"),
        }
    }

    #[test]
    fn a_start_is_told_from_the_end_of_the_work_before_it_until_now() {
        let job = washed();
        for (minute, faults) in [
            (20, vec![]),
            (45, vec![]),
            (62, vec![]),
            (63, vec!["in_the_future"]),
            (19, vec!["before_last_piece", "before_step_before"]),
            (4, vec!["before_arrival", "before_last_piece", "before_step_before"]),
        ] {
            assert_eq!(told(&job, ToldMove::Start, "polish", minute, &[]), faults, "{minute}");
        }
        let other = Piece { who: PersonId::new("a"), from: at(25), until: Some(at(30)) };
        let elsewhere = [(String::from("Glass on another car"), other)];
        assert_eq!(told(&job, ToldMove::Start, "polish", 29, &elsewhere), ["before_last_piece"]);
        assert_eq!(told(&job, ToldMove::Start, "polish", 30, &elsewhere), [""; 0]);
    }

    #[test]
    fn a_move_is_told_within_a_day() {
        let (step, who) = (code("polish"), PersonId::new("a"));
        let job = Job { steps: vec![step_open()] };
        let of = |minute| Told {
            step: &step,
            what: ToldMove::Start,
            who: &who,
            at: at(minute),
            arrived: None,
            elsewhere: &[],
        };
        assert_eq!(job.told_at(&of(0), at(24 * 60)), Ok(at(0)));
        assert!(job.told_at(&of(-1), at(24 * 60)).is_err());
        // A clock that is a little ahead makes it now.
        assert_eq!(job.told_at(&of(1), at(0)), Ok(at(0)));
    }

    fn step_open() -> JobStep {
        step("polish", &[])
    }

    #[test]
    fn an_end_is_not_before_the_work_that_it_ends() {
        let mut job = washed();
        job.start(&code("polish"), &PersonId::new("a"), at(30)).unwrap();
        for what in [ToldMove::Stop, ToldMove::Finish] {
            assert_eq!(told(&job, what, "polish", 29, &[]).len(), 1, "{what:?}");
            assert_eq!(told(&job, what, "polish", 30, &[]), [""; 0], "{what:?}");
        }
        let (step, who) = (code("polish"), PersonId::new("a"));
        let early = at(30) - TimeDelta::seconds(4);
        let made = Told { step: &step, what: ToldMove::Stop, who: &who, at: early, arrived: None, elsewhere: &[] };
        assert_eq!(job.told_at(&made, at(60)), Ok(at(30)), "clocks differ by some seconds");
    }
}
