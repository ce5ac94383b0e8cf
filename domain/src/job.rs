//! A car's work: its steps with their real times, from the first one begun to the last one finished or struck out.

mod clock;

use alloc::string::String;
use alloc::vec::Vec;

use chrono::{DateTime, Utc};

use crate::id::PersonId;
use crate::life::life;
use crate::menu::Code;
use crate::refusal::{Kind, Refusal, WrongState};
use crate::time::Minutes;
use crate::word::words;

pub use clock::Piece;

words! {
    /// Where a step of a job is.
    pub enum StepState("step state") {
        /// Not begun.
        Open = "OPEN" "not begun",
        /// Somebody is at it.
        Running = "RUNNING" "running",
        /// Begun, and nobody is at it.
        Paused = "PAUSED" "paused",
        /// Done.
        Finished = "FINISHED" "finished",
        /// Won't be done, with a reason.
        Struck = "STRUCK" "struck out",
    }
}

words! {
    /// What can be done with a step of a job.
    pub enum StepMove("step move") {
        /// Begin it, or go on with it.
        Start = "START" "started",
        /// Stop for now.
        Stop = "STOP" "stopped",
        /// Declare it done.
        Finish = "FINISH" "finished",
        /// Strike it out.
        Strike = "STRIKE" "struck out",
    }
}

life!(
    StepState,
    StepMove,
    "step",
    [
        (Open, Start, Running),
        (Open, Strike, Struck),
        (Running, Stop, Paused),
        (Running, Finish, Finished),
        (Paused, Start, Running),
        (Paused, Finish, Finished),
        (Paused, Strike, Struck),
    ]
);

impl StepState {
    fn hint(self, wanted: StepMove) -> &'static str {
        match (self, wanted) {
            (Self::Running, StepMove::Strike) => "; stop it first",
            (Self::Open, StepMove::Stop | StepMove::Finish) => "; start it first",
            (Self::Finished | Self::Struck, _) => "; more work is a variation",
            _ => "",
        }
    }

    /// Whether steps after it may begin.
    pub const fn is_settled(self) -> bool {
        matches!(self, Self::Finished | Self::Struck)
    }
}

words! {
    /// How far a job is.
    pub enum JobState("job state") {
        /// No step has begun.
        Waiting = "WAITING" "waiting",
        /// Some step has begun and not all are settled.
        InWork = "IN_WORK" "in work",
        /// All steps are finished or struck out.
        Ready = "READY" "ready",
    }
}

impl JobState {
    /// How far a job is whose steps are in these states.
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
    /// Steps of this job that must be settled before it, by code.
    pub after: Vec<Code>,
    /// Where it is.
    pub state: StepState,
    /// Who was at it, from when to when.
    pub pieces: Vec<Piece>,
    /// The moment from which later steps may begin, where it has dried or cured by then.
    pub clear_from: Option<DateTime<Utc>>,
    /// Why it was struck out.
    pub struck_because: Option<String>,
}

impl JobStep {
    /// A step that hasn't begun.
    pub fn new(code: Code, name: String, after: Vec<Code>) -> Self {
        let (pieces, clear_from, struck_because) = (Vec::new(), None, None);
        Self { code, name, after, state: StepState::Open, pieces, clear_from, struck_because }
    }

    /// Minutes during which somebody was at it, counted once where two were; rounded to the nearest whole minute over
    /// all pieces, half up. A piece that still runs counts up to `now`.
    pub fn attended(&self, now: DateTime<Utc>) -> Minutes {
        clock::attended(&self.pieces, now)
    }

    /// Minutes of all pairs of hands together, rounded likewise.
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

/// Why a step, or the job, stays as it is.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum JobRefusal {
    /// The job has no such step.
    #[error("this job has no step {0}: choose one of its steps")]
    UnknownStep(Code),
    /// The step's state doesn't allow the move.
    #[error(transparent)]
    State(#[from] WrongState),
    /// Steps before it aren't settled.
    #[error("{step} can't be started before these are finished or struck out: {}", on.join(", "))]
    Unfinished {
        /// The step's name.
        step: String,
        /// The names of the steps it waits for.
        on: Vec<String>,
    },
    /// A step before it still dries or cures.
    #[error("{step} can't be started before {until}: {on} has to dry or cure until then")]
    StillCuring {
        /// The step's name.
        step: String,
        /// The name of the step that dries or cures.
        on: String,
        /// From when it may be started.
        until: DateTime<Utc>,
    },
    /// The person is at another step of this job, or already at this one.
    #[error("this person is still at {0}: stop or finish that first")]
    Busy(String),
    /// The person isn't at the step.
    #[error("this person isn't at {0}, so there is nothing to stop")]
    NotAtIt(String),
    /// A step is struck out only with a reason.
    #[error("say why the step is struck out, in at most 500 characters")]
    NoReason,
    /// Not all steps are settled.
    #[error("the car isn't ready: finish or strike out {}", .0.join(", "))]
    NotReady(Vec<String>),
}

impl Refusal for JobRefusal {
    fn kind(&self) -> Kind {
        match self {
            Self::UnknownStep(_) | Self::NoReason => Kind::Invalid,
            _ => Kind::Conflict,
        }
    }

    fn moment(&self) -> Option<DateTime<Utc>> {
        match self {
            Self::StillCuring { until, .. } => Some(*until),
            _ => None,
        }
    }

    fn code(&self) -> &'static str {
        match self {
            Self::UnknownStep(_) => "unknown-step",
            Self::State(state) => state.code(),
            Self::Unfinished { .. } => "step-before-unfinished",
            Self::StillCuring { .. } => "still-curing",
            Self::Busy(_) => "person-busy",
            Self::NotAtIt(_) => "person-not-at-step",
            Self::NoReason => "no-reason",
            Self::NotReady(_) => "job-not-ready",
        }
    }
}

impl Job {
    /// How far the job is.
    pub fn state(&self) -> JobState {
        JobState::of(self.steps.iter().map(|step| step.state))
    }

    /// Whether the car can be declared ready: every step is finished, or struck out with a reason.
    ///
    /// # Errors
    /// [`JobRefusal::NotReady`] with the names of the others.
    pub fn ready(&self) -> Result<(), JobRefusal> {
        let open = self.steps.iter().filter(|step| !step.state.is_settled());
        let names: Vec<String> = open.map(|step| step.name.clone()).collect();
        if names.is_empty() { Ok(()) } else { Err(JobRefusal::NotReady(names)) }
    }

    /// The moment from which everything that was finished has dried and cured; `None` where nothing had to.
    pub fn clear_from(&self) -> Option<DateTime<Utc>> {
        self.steps.iter().filter_map(|step| step.clear_from).max()
    }

    /// The steps that may be started at a moment, in order: what the technician sees as next.
    pub fn startable(&self, now: DateTime<Utc>) -> Vec<&JobStep> {
        let open = |step: &&JobStep| step.state.can(StepMove::Start) && self.may_begin(step, now).is_ok();
        self.steps.iter().filter(open).collect()
    }

    /// Somebody begins a step, goes on with it, or joins who is at it already.
    ///
    /// # Errors
    /// [`JobRefusal`] where steps before it aren't settled or still cure, the step is settled itself, or the person is
    /// at a step of this job already.
    pub fn start(&mut self, code: &Code, who: &PersonId, now: DateTime<Utc>) -> Result<(), JobRefusal> {
        let at = self.place(code)?;
        if let Some(other) = self.steps.iter().find(|step| step.is_at_it(who)) {
            return Err(JobRefusal::Busy(other.name.clone()));
        }
        let joins = self.steps[at].state == StepState::Running;
        let state = if joins { StepState::Running } else { self.steps[at].state.go(StepMove::Start)? };
        self.may_begin(&self.steps[at], now)?;
        self.steps[at].state = state;
        self.steps[at].pieces.push(Piece { who: who.clone(), from: now, until: None });
        Ok(())
    }

    /// Somebody stops for now; the step is paused once nobody is at it.
    ///
    /// # Errors
    /// [`JobRefusal`] where the step isn't running or the person isn't at it.
    pub fn stop(&mut self, code: &Code, who: &PersonId, now: DateTime<Utc>) -> Result<(), JobRefusal> {
        let at = self.place(code)?;
        let paused = self.steps[at].state.go(StepMove::Stop)?;
        let step = &mut self.steps[at];
        let mine = step.pieces.iter_mut().find(|piece| piece.until.is_none() && piece.who == *who);
        mine.ok_or_else(|| JobRefusal::NotAtIt(step.name.clone()))?.end(now);
        if step.pieces.iter().all(|piece| piece.until.is_some()) {
            step.state = paused;
        }
        Ok(())
    }

    /// Declares a step done: everybody at it stops. `clear_from` is when later steps may begin, where it has to dry or
    /// cure; the caller knows the calendar that the wait runs by.
    ///
    /// # Errors
    /// [`JobRefusal`] where the step hasn't begun or is settled.
    pub fn finish(
        &mut self,
        code: &Code,
        now: DateTime<Utc>,
        clear_from: Option<DateTime<Utc>>,
    ) -> Result<(), JobRefusal> {
        let at = self.place(code)?;
        let step = &mut self.steps[at];
        step.state = step.state.go(StepMove::Finish)?;
        step.clear_from = clear_from;
        step.pieces.iter_mut().filter(|piece| piece.until.is_none()).for_each(|piece| piece.end(now));
        Ok(())
    }

    /// Strikes a step out, with a reason.
    ///
    /// # Errors
    /// [`JobRefusal`] without a reason, or where the step runs or is settled.
    pub fn strike(&mut self, code: &Code, reason: &str) -> Result<(), JobRefusal> {
        let at = self.place(code)?;
        let struck = self.steps[at].state.go(StepMove::Strike)?;
        let reason = reason.trim();
        if reason.is_empty() || reason.chars().count() > 500 {
            return Err(JobRefusal::NoReason);
        }
        self.steps[at].state = struck;
        self.steps[at].struck_because = Some(String::from(reason));
        Ok(())
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
        let curing = before().filter_map(|other| other.clear_from.map(|until| (until, other)));
        match curing.filter(|(until, _)| now < *until).max_by_key(|(until, _)| *until) {
            None => Ok(()),
            Some((until, on)) => Err(JobRefusal::StillCuring { step: step.name.clone(), on: on.name.clone(), until }),
        }
    }
}
