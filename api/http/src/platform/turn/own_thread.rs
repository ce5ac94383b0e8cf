//! A thread that does one kind of work and nothing else.
//!
//! The C library's allocator gives each thread its own memory and keeps there, once freed, up to twice the largest piece
//! below 32 MiB (mallopt(3), M_TRIM_THRESHOLD). Threads for blocking work are many, so work with large pieces that ran now
//! on one and now on another would leave that much behind on each of them.

use std::io;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::sync::{Mutex, PoisonError};
use std::thread::Builder;

/// A piece of work.
type Piece = Box<dyn FnOnce() + Send>;

/// The thread, which is started when there is something to do for it.
pub(super) struct OwnThread {
    work: Mutex<Option<Sender<Piece>>>,
}

impl OwnThread {
    /// One that has not been started.
    pub(super) const fn new() -> Self {
        Self { work: Mutex::new(None) }
    }

    /// Gives it work, which it does after what it was given before.
    ///
    /// # Errors
    /// If the thread can't be started.
    pub(super) fn give(&self, piece: impl FnOnce() + Send + 'static) -> io::Result<()> {
        let mut work = self.work.lock().unwrap_or_else(PoisonError::into_inner);
        let thread = match work.take() {
            Some(started) => started,
            None => start()?,
        };
        let given = thread.send(Box::new(piece));
        *work = Some(thread);
        given.map_err(|_| io::ErrorKind::BrokenPipe.into())
    }
}

fn start() -> io::Result<Sender<Piece>> {
    let (thread, work) = channel();
    Builder::new().name("heavy work".to_owned()).spawn(move || do_all(&work))?;
    Ok(thread)
}

/// A piece that panics ends by itself, and whoever waits for it is told so by what it drops.
fn do_all(work: &Receiver<Piece>) {
    for piece in work {
        let _ = catch_unwind(AssertUnwindSafe(piece));
    }
}

#[cfg(test)]
mod tests {
    use std::thread::{ThreadId, current};

    use super::*;

    #[test]
    fn all_work_is_done_on_the_same_thread_also_after_a_piece_that_panicked() {
        let own = OwnThread::new();
        let (said, heard) = channel::<ThreadId>();
        for round in 0..4 {
            let said = said.clone();
            own.give(move || {
                assert_ne!(round, 1, "on purpose");
                said.send(current().id()).unwrap();
            })
            .unwrap();
        }
        drop(said);
        let threads: Vec<ThreadId> = heard.iter().collect();
        assert_eq!(threads.len(), 3);
        assert!(threads.iter().all(|thread| *thread == threads[0] && *thread != current().id()));
    }
}
