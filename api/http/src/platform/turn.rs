//! Turns for work that takes much memory for a moment: a few requests do it at the same time, over all workers, and shops
//! that wait for it alternate.
//!
//! A turn lasts until the work itself has ended. The future of a request is dropped as soon as nobody waits for it, but its
//! thread can't be called back. So the turn goes into the thread together with the work, and no handler ever holds it.

mod line;
mod own_thread;

use std::time::Duration;

use baywright_core::platform::fail::Done;
use baywright_core::platform::identity::Audience;
use baywright_core::platform::refusal::Refused;
use baywright_core::platform::tx::Tx;
use tokio::sync::oneshot::channel;

use self::line::{Line, Turn};
use self::own_thread::OwnThread;
use super::call::{Call, blocking};
use super::problem::Problem;

/// Maximum number of requests of one shop that wait for the same kind of work, if they don't wait for ever.
const WAITING: usize = 32;

/// One kind of work that takes much memory.
pub struct HeavyWork {
    line: Line,
    /// Maximum time that a request waits for its turn, and the text of the refusal after that; `None` if it is never
    /// refused.
    patience: Option<(Duration, &'static str)>,
    thread: OwnThread,
}

impl HeavyWork {
    /// Work that one request does at a time. Another one waits for its turn, and gets 503 with the text `busy` if that has
    /// not come after `patience`, or if 32 of the same shop wait already.
    pub const fn one_at_a_time(patience: Duration, busy: &'static str) -> Self {
        Self { line: Line::new(1), patience: Some((patience, busy)), thread: OwnThread::new() }
    }

    /// Work that `count` requests do at a time. Others wait for their turns however long that takes, so it must be short.
    pub const fn at_once(count: usize) -> Self {
        Self { line: Line::new(count), patience: None, thread: OwnThread::new() }
    }

    /// Does the work on a blocking thread when it is its turn. Requests of one `shop` alternate with those of others.
    ///
    /// # Errors
    /// Errors of the work; 503 if its turn did not come in time.
    pub async fn blocking<T: Send + 'static>(
        &'static self,
        shop: &str,
        work: impl FnOnce() -> Done<T> + Send + 'static,
    ) -> Result<T, Problem> {
        let turn = self.turn(shop).await?;
        blocking(move || during(turn, work)).await
    }

    /// Does the work when it is its turn, on a thread that all work of this kind has in common, so that the memory that
    /// threads keep is not multiplied. For work that doesn't need the database.
    ///
    /// # Errors
    /// Errors of the work; 503 if its turn did not come in time.
    pub async fn on_its_thread<T: Send + 'static>(
        &'static self,
        shop: &str,
        work: impl FnOnce() -> Done<T> + Send + 'static,
    ) -> Result<T, Problem> {
        let turn = self.turn(shop).await?;
        let span = tracing::Span::current();
        let (done, result) = channel();
        let piece = move || {
            let result = during(turn, || span.in_scope(work));
            // Nobody takes the result if the client has disconnected.
            let _ = done.send(result);
        };
        self.thread.give(piece).map_err(|error| {
            tracing::error!(%error, "the thread for heavy work can't be started");
            Problem::from(Refused::unavailable("The service is short of threads. Try again in a moment."))
        })?;
        let result = result.await.map_err(|_| {
            tracing::error!("heavy work panicked");
            Problem::unexpected()
        })?;
        result.map_err(Problem::from)
    }

    /// Runs a read-only use case when it is its turn. What it returns should be small: the turn has ended then.
    ///
    /// # Errors
    /// Errors of the use case; 503 if its turn did not come in time.
    pub async fn read<A: Audience, T: Send + 'static>(
        &'static self,
        call: &Call<A>,
        work: impl FnOnce(&mut Tx<'_>) -> Done<T> + Send + 'static,
    ) -> Result<T, Problem> {
        let turn = self.turn(call.shop()).await?;
        call.read(move |tx| during(turn, || work(tx))).await
    }

    async fn turn(&'static self, shop: &str) -> Result<Turn, Problem> {
        let Some((patience, busy)) = self.patience else {
            let turn = self.line.enter(shop, usize::MAX).ok_or_else(Problem::unexpected)?;
            return turn.await.map_err(|_| Problem::unexpected());
        };
        let refused = || Problem::from(Refused::unavailable(busy));
        let turn = self.line.enter(shop, WAITING).ok_or_else(refused)?;
        tokio::time::timeout(patience, turn).await.ok().and_then(Result::ok).ok_or_else(refused)
    }

    /// Number of turns that are free now.
    #[cfg(test)]
    pub(super) fn free(&self) -> usize {
        self.line.free()
    }
}

/// Does the work, and ends the turn afterwards.
fn during<T>(turn: Turn, work: impl FnOnce() -> T) -> T {
    let done = work();
    drop(turn);
    done
}

#[cfg(test)]
mod tests {
    use actix_web::http::StatusCode;
    use futures_util::FutureExt;

    use super::*;

    #[tokio::test]
    async fn a_turn_lasts_until_the_work_has_ended_though_nobody_waits_for_it() {
        static ONE: HeavyWork = HeavyWork::one_at_a_time(Duration::from_millis(100), "Another one is at work.");
        for own_thread in [false, true] {
            let (end, ended) = std::sync::mpsc::channel::<()>();
            let work = move || {
                // Completes when the other end is dropped.
                let _ = ended.recv();
                Ok(())
            };
            let mut given_up = if own_thread {
                ONE.on_its_thread("shop", work).boxed_local()
            } else {
                ONE.blocking("shop", work).boxed_local()
            };
            assert!((&mut given_up).now_or_never().is_none());
            drop(given_up);
            let refused = ONE.blocking("shop", || Ok(())).await.unwrap_err();
            assert_eq!(refused.status(), StatusCode::SERVICE_UNAVAILABLE);
            drop(end);
            let turn = ONE.line.enter("shop", WAITING).unwrap();
            let turn = tokio::time::timeout(Duration::from_secs(30), turn).await;
            assert!(turn.is_ok(), "the work has ended, and its turn has not");
        }
    }

    #[tokio::test]
    async fn work_that_panics_on_its_thread_is_a_defect_and_ends_its_turn() {
        static ONE: HeavyWork = HeavyWork::one_at_a_time(Duration::from_secs(30), "Another one is at work.");
        let defect = ONE.on_its_thread::<()>("shop", || panic!("on purpose")).await.unwrap_err();
        assert_eq!(defect.status(), StatusCode::INTERNAL_SERVER_ERROR);
        assert_eq!(ONE.on_its_thread("shop", || Ok(7)).await.unwrap(), 7);
    }
}
