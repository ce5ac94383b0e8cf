//! Decides whether the system's time can be trusted, before anything expires because of it.
//!
//! If the clock jumps ahead (a wrong date typed in, a dead battery, a faulty time server), quotes lapse, holds end and
//! keys are deleted, and none of that is undone when the clock is corrected. So the system's clock is compared with the
//! monotonic one, which nobody can set, and, after a start, with the last run that the database knows of. After a jump
//! ahead the scheduled jobs wait until the new time has lasted for [`SECOND_LOOK_MS`]. A clock that is set back makes
//! nothing end early, and is trusted at once.

use std::sync::{Mutex, PoisonError};

use super::clock::{Clock, UtcTime};

/// Most milliseconds by which the difference of two readings of the clock may deviate from the time that really passed.
const TOLERANCE_MS: i64 = 2 * 60_000;

/// Most milliseconds since the last run of another replica for its clock to agree with this one's: some job runs every minute.
const AGREES_MS: i64 = 5 * 60_000;

/// Longest pause of the program, in milliseconds, after which its clock is trusted at the start.
const STOPPED_MS: i64 = 60 * 60_000;

/// Milliseconds that a time must last after a jump ahead until it is trusted.
const SECOND_LOOK_MS: i64 = 10 * 60_000;

/// Judgement on the system's clock.
#[derive(Debug, Default)]
pub struct Steady {
    state: Mutex<State>,
}

#[derive(Debug, Default)]
struct State {
    /// The system's clock minus the monotonic one, when it was last trusted.
    believed: Option<i64>,
    doubt: Option<Doubt>,
}

/// A time that is not trusted yet.
#[derive(Debug, Clone, Copy)]
struct Doubt {
    /// The system's clock minus the monotonic one.
    ahead: i64,
    /// Time when it was first seen, by the monotonic clock.
    since: i64,
    /// The last run that the database knew of at that time.
    last_run: Option<UtcTime>,
}

impl Steady {
    /// Checks the clock against the last run of any scheduled job that the database knows of; true if the time is
    /// trusted.
    pub fn look(&self, clock: &Clock, last_run: Option<UtcTime>) -> bool {
        let (now, passed) = (clock.now(), clock.passed_ms());
        let mut state = self.state.lock().unwrap_or_else(PoisonError::into_inner);
        let ahead = now.ms() - passed;
        // Another replica has just run a job by the same time, as after a sleep of this machine.
        let agreed = last_run.is_some_and(|last| (now.ms() - last.ms()).abs() <= AGREES_MS);
        let jumped = !agreed
            && match state.believed {
                Some(believed) => ahead - believed > TOLERANCE_MS,
                None => last_run.is_some_and(|last| now.ms() - last.ms() > STOPPED_MS),
            };
        if !jumped {
            if state.doubt.take().is_some() {
                tracing::info!("the clock is where it was expected again; timed jobs go on");
            }
            state.believed = Some(ahead);
            return true;
        }
        match state.doubt {
            // Another replica runs the jobs by another clock, or this clock was set again: the wait starts again.
            Some(doubt) if (ahead - doubt.ahead).abs() <= TOLERANCE_MS && doubt.last_run == last_run => {
                if passed - doubt.since < SECOND_LOOK_MS {
                    return false;
                }
                tracing::info!(%now, "the clock kept the time that it jumped to; timed jobs go on");
                (state.believed, state.doubt) = (Some(ahead), None);
                true
            }
            before => {
                if before.is_none() {
                    let minutes = SECOND_LOOK_MS / 60_000;
                    tracing::warn!(%now, minutes, "the clock jumped ahead; timed jobs wait until it has kept that time");
                }
                state.doubt = Some(Doubt { ahead, since: passed, last_run });
                false
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const DAY: i64 = 24 * 60;

    fn at(minute: i64) -> UtcTime {
        UtcTime::from_ms(minute * 60_000)
    }

    #[test]
    fn time_that_passes_is_believed_and_a_jump_ahead_only_once_it_has_stood() {
        let clock = Clock::manual(at(1000));
        let steady = Steady::default();
        assert!(steady.look(&clock, None));
        clock.set(at(1000 + 90 * DAY));
        assert!(steady.look(&clock, Some(at(1000))), "time that passed");
        let before = clock.now();
        clock.jump(before.plus_minutes(400 * DAY));
        assert!(!steady.look(&clock, Some(before)));
        clock.set(clock.now().plus_minutes(9));
        assert!(!steady.look(&clock, Some(before)));
        clock.set(clock.now().plus_minutes(1));
        assert!(steady.look(&clock, Some(before)));
        assert!(steady.look(&clock, Some(clock.now())));
    }

    #[test]
    fn a_clock_that_comes_back_is_believed_at_once() {
        let clock = Clock::manual(at(1000));
        let steady = Steady::default();
        assert!(steady.look(&clock, None));
        clock.jump(at(1000 + 400 * DAY));
        assert!(!steady.look(&clock, Some(at(1000))));
        clock.jump(at(1001));
        assert!(steady.look(&clock, Some(at(1000))));
        // It was set back by more than before, so nothing ends early.
        clock.jump(at(100));
        assert!(steady.look(&clock, Some(at(1000))));
    }

    #[test]
    fn a_program_that_starts_long_after_the_last_run_waits_and_one_that_starts_soon_after_it_does_not() {
        let clock = Clock::manual(at(1000));
        assert!(Steady::default().look(&clock, Some(at(950))));
        assert!(Steady::default().look(&clock, Some(at(5000))), "the last run was by a clock that was ahead");
        let steady = Steady::default();
        assert!(!steady.look(&clock, Some(at(900))));
        clock.set(at(1010));
        assert!(steady.look(&clock, Some(at(900))));
    }

    #[test]
    fn a_program_does_not_believe_its_clock_while_another_runs_the_jobs_by_another_one() {
        let clock = Clock::manual(at(400 * DAY));
        let steady = Steady::default();
        for minute in 0..60 {
            assert!(!steady.look(&clock, Some(at(minute))));
            clock.set(clock.now().plus_minutes(1));
        }
    }

    #[test]
    fn a_clock_is_believed_that_agrees_with_another_program_though_this_one_slept() {
        let clock = Clock::manual(at(0));
        let steady = Steady::default();
        assert!(steady.look(&clock, None));
        clock.jump(at(600));
        assert!(steady.look(&clock, Some(at(599))));
        clock.jump(at(1200));
        assert!(!steady.look(&clock, Some(at(600))));
    }

    #[test]
    fn a_clock_that_keeps_jumping_is_not_believed() {
        let clock = Clock::manual(at(0));
        let steady = Steady::default();
        assert!(steady.look(&clock, None));
        for jump in 1..20 {
            clock.jump(clock.now().plus_minutes(jump * DAY));
            assert!(!steady.look(&clock, Some(at(0))));
            clock.set(clock.now().plus_minutes(5));
            assert!(!steady.look(&clock, Some(at(0))));
        }
    }
}
