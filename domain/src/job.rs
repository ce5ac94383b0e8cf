//! The work on a car: its steps with their real times, from the first one that begins to the last one that is finished or
//! removed.

mod clock;
mod correct;
mod moment;
mod refusal;
mod undo;

use alloc::string::String;
use alloc::vec::Vec;

use chrono::{DateTime, Utc};

use crate::id::PersonId;
use crate::life::life;
use crate::menu::{Code, Holds};
use crate::time::Minutes;
use crate::word::words;

pub use clock::Piece;
pub use correct::MOST_PIECES;
pub use moment::{TOLD_WITHIN_HOURS, Told, ToldMove};
pub use refusal::JobRefusal;
pub use undo::Made;

words! {
    /// State of a step of a job.
    pub enum StepState("step state") {
        /// Not begun.
        Open = "OPEN" "not begun",
        /// Somebody is working on it.
        Running = "RUNNING" "running",
        /// It has begun, and nobody is working on it.
        Paused = "PAUSED" "paused",
        /// Done.
        Finished = "FINISHED" "finished",
        /// It will not be done, with a reason.
        Removed = "REMOVED" "removed",
    }
}

words! {
    /// Moves of a step of a job.
    pub enum StepMove("step move") {
        /// Begin it, or continue it.
        Start = "START" "started",
        /// Join somebody who is working on it.
        Join = "JOIN" "joined",
        /// Stop for now.
        Stop = "STOP" "stopped",
        /// Stop while somebody else continues.
        Leave = "LEAVE" "left",
        /// Declare it done.
        Finish = "FINISH" "finished",
        /// Remove it.
        Remove = "REMOVE" "removed",
        /// Correct the times of work on it.
        Correct = "CORRECT" "corrected",
        /// End its drying or curing early.
        EndWait = "END_WAIT" "called dry early",
    }
}

life!(
    StepState,
    StepMove,
    "step",
    [
        (Open, Start, Running),
        (Open, Remove, Removed),
        (Running, Join, Running),
        (Running, Leave, Running),
        (Running, Stop, Paused),
        (Running, Finish, Finished),
        (Running, Correct, Running),
        (Paused, Start, Running),
        (Paused, Finish, Finished),
        (Paused, Remove, Removed),
        (Paused, Correct, Paused),
        (Finished, Correct, Finished),
        (Finished, EndWait, Finished),
        (Removed, Correct, Removed),
    ],
    undo [Start, Join, Stop, Leave, Finish, Remove, Correct, EndWait]
);

impl StepState {
    fn hint(self, wanted: StepMove) -> &'static str {
        match (self, wanted) {
            (Self::Running, StepMove::Remove) => "; stop it first",
            (Self::Open, StepMove::Stop | StepMove::Finish | StepMove::Correct) => "; start it first",
            (Self::Open | Self::Running | Self::Paused, StepMove::EndWait) => "; finish it first",
            (Self::Finished | Self::Removed, StepMove::Start) => "; undo that, or agree a variation for more work",
            _ => "",
        }
    }

    /// Whether steps after it may begin.
    pub const fn is_settled(self) -> bool {
        matches!(self, Self::Finished | Self::Removed)
    }
}

words! {
    /// Progress of a job.
    pub enum JobState("job state") {
        /// No step has begun.
        Waiting = "WAITING" "waiting",
        /// Some step has begun and not all are finished or removed.
        InWork = "IN_WORK" "in work",
        /// All steps are finished or removed.
        Ready = "READY" "ready",
    }
}

impl JobState {
    /// Progress of a job whose steps have these states.
    pub fn of(mut steps: impl Iterator<Item = StepState> + Clone) -> Self {
        match () {
            () if steps.clone().all(StepState::is_settled) => Self::Ready,
            () if steps.any(|state| state != StepState::Open) => Self::InWork,
            () => Self::Waiting,
        }
    }
}

/// A step of a job.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct JobStep {
    /// The step's code.
    pub code: Code,
    /// The step's name.
    pub name: String,
    /// Codes of steps of this job that must be finished or removed before it.
    pub after: Vec<Code>,
    /// Work that its drying or curing holds back: all other work on the car, or only the steps that come after it.
    pub holds: Holds,
    /// State of the step.
    pub state: StepState,
    /// Pieces of work: person, start and end.
    pub pieces: Vec<Piece>,
    /// Time when it was finished.
    pub finished_at: Option<DateTime<Utc>>,
    /// Time from which the steps that it holds back may begin, because it has dried or cured; `None` if nothing has to
    /// dry or cure.
    pub clear_from: Option<DateTime<Utc>>,
    /// Reason why it was removed.
    pub removal_reason: Option<String>,
}

impl JobStep {
    /// A step that hasn't begun, and that will hold the whole car while it dries or cures.
    pub fn new(code: Code, name: String, after: Vec<Code>) -> Self {
        Self {
            code,
            name,
            after,
            holds: Holds::Car,
            state: StepState::Open,
            pieces: Vec::new(),
            finished_at: None,
            clear_from: None,
            removal_reason: None,
        }
    }

    /// Minutes during which at least one person worked on it; the sum over all pieces is rounded to the nearest whole
    /// minute, half up. A running piece counts up to `now`.
    pub fn attended(&self, now: DateTime<Utc>) -> Minutes {
        clock::attended(&self.pieces, now)
    }

    /// Minutes of all people together, rounded in the same way.
    pub fn of_all_hands(&self, now: DateTime<Utc>) -> Minutes {
        clock::of_all_hands(&self.pieces, now)
    }

    fn is_at_it(&self, who: &PersonId) -> bool {
        self.pieces.iter().any(|piece| piece.until.is_none() && piece.who == *who)
    }
}

/// The steps of a car's work, in the order of its plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Job {
    /// The steps.
    pub steps: Vec<JobStep>,
}

impl Job {
    /// Progress of the job.
    pub fn state(&self) -> JobState {
        JobState::of(self.steps.iter().map(|step| step.state))
    }

    /// Whether the car can be declared ready: every step is finished, or removed with a reason.
    ///
    /// # Errors
    /// [`JobRefusal::NotReady`] with the names of the others.
    pub fn ready(&self) -> Result<(), JobRefusal> {
        let open = self.steps.iter().filter(|step| !step.state.is_settled());
        let names: Vec<String> = open.map(|step| step.name.clone()).collect();
        if names.is_empty() { Ok(()) } else { Err(JobRefusal::NotReady(names)) }
    }

    /// The moment from which everything that was finished has dried and cured; `None` if nothing had to.
    pub fn clear_from(&self) -> Option<DateTime<Utc>> {
        self.steps.iter().filter_map(|step| step.clear_from).max()
    }

    /// Time when everything that holds the whole car has cured; `None` if nothing had to cure.
    pub fn free_from(&self) -> Option<DateTime<Utc>> {
        let holding = self.steps.iter().filter(|step| step.holds == Holds::Car);
        holding.filter_map(|step| step.clear_from).max()
    }

    /// The steps that may be started at a given time, in order, as the technician sees them.
    pub fn startable(&self, now: DateTime<Utc>) -> Vec<&JobStep> {
        let open = |step: &&JobStep| step.state.can(StepMove::Start) && self.may_begin(step, now).is_ok();
        self.steps.iter().filter(open).collect()
    }

    /// Somebody begins a step, continues it, or joins the person who is working on it.
    ///
    /// # Errors
    /// [`JobRefusal`] if steps before it aren't finished or removed, or are still curing, if something is curing that
    /// holds the whole car, if the step itself is finished or removed, or if the person already works on a step of
    /// this job.
    pub fn start(&mut self, code: &Code, who: &PersonId, now: DateTime<Utc>) -> Result<StepMove, JobRefusal> {
        let at = self.place(code)?;
        if let Some(other) = self.steps.iter().find(|step| step.is_at_it(who)) {
            return Err(JobRefusal::Busy(other.name.clone()));
        }
        let made = if self.steps[at].state == StepState::Running { StepMove::Join } else { StepMove::Start };
        let state = self.steps[at].state.go(made)?;
        self.may_begin(&self.steps[at], now)?;
        self.steps[at].state = state;
        self.steps[at].pieces.push(Piece { who: who.clone(), from: now, until: None });
        Ok(made)
    }

    /// Somebody stops for now; the step is paused once nobody works on it.
    ///
    /// # Errors
    /// [`JobRefusal`] if the step isn't running or the person doesn't work on it.
    pub fn stop(&mut self, code: &Code, who: &PersonId, now: DateTime<Utc>) -> Result<StepMove, JobRefusal> {
        let at = self.place(code)?;
        let step = &mut self.steps[at];
        let alone = step.pieces.iter().filter(|piece| piece.until.is_none()).all(|piece| piece.who == *who);
        let made = if alone { StepMove::Stop } else { StepMove::Leave };
        let state = step.state.go(made)?;
        let mine = step.pieces.iter_mut().find(|piece| piece.until.is_none() && piece.who == *who);
        mine.ok_or_else(|| JobRefusal::NotAtIt(step.name.clone()))?.end(now);
        step.state = state;
        Ok(made)
    }

    /// Declares a step done: everybody who works on it stops. `clear_from` is when later steps may begin, if it has to
    /// dry or cure; the caller knows the calendar for the wait.
    ///
    /// # Errors
    /// [`JobRefusal`] if the step hasn't begun, or is finished or removed.
    pub fn finish(
        &mut self,
        code: &Code,
        now: DateTime<Utc>,
        clear_from: Option<DateTime<Utc>>,
    ) -> Result<StepMove, JobRefusal> {
        let at = self.place(code)?;
        let step = &mut self.steps[at];
        step.state = step.state.go(StepMove::Finish)?;
        step.finished_at = Some(now);
        step.clear_from = clear_from;
        step.pieces.iter_mut().filter(|piece| piece.until.is_none()).for_each(|piece| piece.end(now));
        Ok(StepMove::Finish)
    }

    /// Removes a step, with a reason.
    ///
    /// # Errors
    /// [`JobRefusal`] without a reason, or if the step runs, is finished or removed.
    pub fn remove(&mut self, code: &Code, reason: &str) -> Result<StepMove, JobRefusal> {
        let at = self.place(code)?;
        let removed = self.steps[at].state.go(StepMove::Remove)?;
        let reason = reason.trim();
        if reason.is_empty() || reason.chars().count() > 500 {
            return Err(JobRefusal::NoReason);
        }
        self.steps[at].state = removed;
        self.steps[at].removal_reason = Some(String::from(reason));
        Ok(StepMove::Remove)
    }

    fn place(&self, code: &Code) -> Result<usize, JobRefusal> {
        let found = self.steps.iter().position(|step| step.code == *code);
        found.ok_or_else(|| JobRefusal::UnknownStep(code.clone()))
    }

    fn may_begin(&self, step: &JobStep, now: DateTime<Utc>) -> Result<(), JobRefusal> {
        let before = || self.steps.iter().filter(|other| step.after.contains(&other.code));
        let open: Vec<String> =
            before().filter(|other| !other.state.is_settled()).map(|other| other.name.clone()).collect();
        if !open.is_empty() {
            return Err(JobRefusal::Unfinished { step: step.name.clone(), on: open });
        }
        let holds_back = |other: &&JobStep| other.holds == Holds::Car || step.after.contains(&other.code);
        let holding = self.steps.iter().filter(holds_back);
        let curing = holding.filter_map(|other| other.clear_from.map(|until| (until, other)));
        match curing.filter(|(until, _)| now < *until).max_by_key(|(until, _)| *until) {
            None => Ok(()),
            Some((until, on)) => Err(JobRefusal::StillCuring { step: step.name.clone(), on: on.name.clone(), until }),
        }
    }
}
