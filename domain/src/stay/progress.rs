//! Progress of the work for its customer.

use chrono::{DateTime, Utc};

use crate::job::{Job, JobStep, StepState};

/// Progress of a step, as the customer reads it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Progress {
    /// It is done.
    Done,
    /// It is done, and dries or cures until that time.
    Drying(DateTime<Utc>),
    /// It has begun.
    UnderWay,
    /// It is the first that has not begun.
    Next,
    /// It comes later.
    Later,
}

/// The steps of a job with their progress, in order. Steps that were removed are left out.
pub fn progress(job: &Job, now: DateTime<Utc>) -> impl Iterator<Item = (&JobStep, Progress)> {
    let next = job.steps.iter().position(|step| step.state == StepState::Open);
    let steps = job.steps.iter().enumerate().filter(|(_, step)| step.state != StepState::Removed);
    steps.map(move |(at, step)| {
        let progress = match step.state {
            StepState::Finished | StepState::Removed => match step.clear_from.filter(|until| now < *until) {
                Some(until) => Progress::Drying(until),
                None => Progress::Done,
            },
            StepState::Running | StepState::Paused => Progress::UnderWay,
            StepState::Open if next == Some(at) => Progress::Next,
            StepState::Open => Progress::Later,
        };
        (step, progress)
    })
}

#[cfg(test)]
mod tests {
    use alloc::string::String;
    use alloc::vec::Vec;

    use super::*;
    use crate::menu::Code;

    #[test]
    fn a_customer_reads_what_is_done_dries_is_under_way_and_comes_next() {
        let at = |hour: i64| DateTime::from_timestamp(hour * 3600, 0).unwrap();
        let step = |code: &str, state, clear_from: Option<i64>| JobStep {
            state,
            clear_from: clear_from.map(at),
            ..JobStep::new(Code::parse(code).unwrap(), String::from(code), Vec::new())
        };
        let steps = [
            step("wash", StepState::Finished, None),
            step("seats", StepState::Finished, Some(5)),
            step("clay", StepState::Removed, None),
            step("polish", StepState::Paused, None),
            step("coat", StepState::Open, None),
            step("glass", StepState::Open, None),
        ];
        let job = Job { steps: steps.into_iter().collect() };
        let read: Vec<(&str, Progress)> =
            progress(&job, at(4)).map(|(step, progress)| (step.code.as_str(), progress)).collect();
        assert_eq!(
            read,
            [
                ("wash", Progress::Done),
                ("seats", Progress::Drying(at(5))),
                ("polish", Progress::UnderWay),
                ("coat", Progress::Next),
                ("glass", Progress::Later),
            ]
        );
        assert!(progress(&job, at(5)).all(|(_, progress)| !matches!(progress, Progress::Drying(_))));
    }
}
