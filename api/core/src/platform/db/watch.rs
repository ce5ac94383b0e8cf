//! Watches how long a statement has waited for the database server.
//!
//! A server that hangs (stopped, swapped out) answers nothing, while its operating system still acknowledges what
//! arrives. So neither the server's own time limits nor those of TCP end the wait, and libpq has no limit for an
//! answer. The waiting thread can't be interrupted. Therefore the request that waits for that thread watches it, and
//! answers without it after a while.

use std::cell::RefCell;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

use diesel::connection::{Instrumentation, InstrumentationEvent, get_default_instrumentation};

use super::dialect::ANSWER_SECONDS;

thread_local! {
    /// The watch over the work of this thread.
    static HERE: RefCell<Option<Watch>> = const { RefCell::new(None) };
}

/// Time between two checks of the work.
const LOOK: Duration = Duration::from_millis(500);

/// A watch over the statements of one piece of work; cloning shares it.
#[derive(Debug, Clone)]
pub struct Watch {
    /// Time when the statement that still waits for an answer was sent.
    asked: Arc<Mutex<Option<Instant>>>,
    patience: Duration,
}

impl Default for Watch {
    fn default() -> Self {
        Self::with_patience(Duration::from_secs(ANSWER_SECONDS.into()))
    }
}

impl Watch {
    fn with_patience(patience: Duration) -> Self {
        Self { asked: Arc::default(), patience }
    }

    /// Does the work in this thread, and watches its statements.
    pub fn over<T>(&self, work: impl FnOnce() -> T) -> T {
        HERE.set(Some(self.clone()));
        let done = work();
        HERE.set(None);
        done
    }

    /// Waits until a statement of the work has had no answer for so long that none is expected any more.
    pub async fn no_answer(&self) {
        while !self.is_overdue() {
            tokio::time::sleep(LOOK.min(self.patience)).await;
        }
    }

    fn is_overdue(&self) -> bool {
        let asked = *self.asked.lock().unwrap_or_else(PoisonError::into_inner);
        asked.is_some_and(|asked| asked.elapsed() >= self.patience)
    }
}

/// Notes that this thread has sent a statement, or has its answer.
fn note(asked: Option<Instant>) {
    HERE.with_borrow(|watch| {
        if let Some(watch) = watch {
            *watch.asked.lock().unwrap_or_else(PoisonError::into_inner) = asked;
        }
    });
}

/// Reports the use of a connection to the watch of the thread that uses it, and to the instrumentation of the whole process,
/// which only tests set, to count statements.
pub(super) struct Watched {
    of_process: Option<Box<dyn Instrumentation>>,
}

impl Watched {
    /// For a new connection.
    pub(super) fn new() -> Self {
        Self { of_process: get_default_instrumentation() }
    }
}

impl Instrumentation for Watched {
    fn on_connection_event(&mut self, event: InstrumentationEvent<'_>) {
        match &event {
            InstrumentationEvent::StartQuery { .. } => note(Some(Instant::now())),
            InstrumentationEvent::FinishQuery { .. } => note(None),
            _ => {}
        }
        self.of_process.on_connection_event(event);
    }
}

#[cfg(test)]
mod tests {
    use futures_util::FutureExt;

    use super::*;

    const SOON: Duration = Duration::from_millis(20);

    #[tokio::test]
    async fn work_whose_statement_gets_no_answer_is_given_up() {
        let watch = Watch::with_patience(SOON);
        watch.over(|| note(Some(Instant::now())));
        watch.no_answer().await;
        assert!(watch.is_overdue());
    }

    #[tokio::test]
    async fn work_that_takes_long_by_itself_is_waited_for() {
        let watch = Watch::with_patience(SOON);
        watch.over(|| {
            note(Some(Instant::now()));
            note(None);
        });
        tokio::time::sleep(SOON * 3).await;
        assert!(watch.no_answer().now_or_never().is_none());
    }

    #[test]
    fn a_thread_is_watched_only_while_it_does_the_work() {
        let (first, second) = (Watch::with_patience(Duration::ZERO), Watch::with_patience(Duration::ZERO));
        first.over(|| ());
        note(Some(Instant::now()));
        second.over(|| note(Some(Instant::now())));
        assert!(!first.is_overdue() && second.is_overdue());
    }
}
