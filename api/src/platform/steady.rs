//! Whether the time may be believed before something is thrown away because of it.
//!
//! A clock that jumps ahead (a wrong date typed in, a dead battery, a time server that lies) makes quotes lapse, holds
//! end and keys be forgotten, and none of that comes back when the clock does. So the clock on the wall is compared with
//! the one that nobody can set, and, after a start, with the last run that the database knows of. After a jump ahead the
//! timed jobs wait for a second look: the new time must stand for [`SECOND_LOOK_MS`] first. A clock that is set back
//! makes nothing end early, and is believed at once.

use std::sync::{Mutex, PoisonError};

use super::clock::{Clock, UtcTime};

/// How far two looks at the clock may differ from the time that passed between them, in milliseconds.
const TOLERANCE_MS: i64 = 2 * 60_000;

/// How near a run of another replica must be for its clock to agree with this one's, in milliseconds: some job runs every
/// minute.
const AGREES_MS: i64 = 5 * 60_000;

/// The longest time that a program may have been stopped without its clock being doubted at its start, in milliseconds.
const STOPPED_MS: i64 = 60 * 60_000;

/// How long a time that was jumped to must stand until it is believed, in milliseconds.
const SECOND_LOOK_MS: i64 = 10 * 60_000;

/// What is thought of the clock.
#[derive(Debug, Default)]
pub struct Steady {
    state: Mutex<State>,
}

#[derive(Debug, Default)]
struct State {
    /// What the wall's clock is ahead of the time that passed, as it was last believed.
    believed: Option<i64>,
    doubt: Option<Doubt>,
}

/// A time that is not believed yet.
#[derive(Debug, Clone, Copy)]
struct Doubt {
    /// What the wall's clock is ahead of the time that passed.
    ahead: i64,
    /// When it was first seen, by the clock that nobody can set.
    since: i64,
    /// The last run that the database knew of then.
    last_run: Option<UtcTime>,
}

impl Steady {
    /// Looks at the clock, with the last run of any timed job that the database knows of; true if the time is believed.
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
            // Another replica runs the jobs by another clock, or this one was moved again: the wait begins anew.
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
        // It was set back further than it had been: nothing ends early by that.
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
