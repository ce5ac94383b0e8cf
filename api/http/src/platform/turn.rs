//! Turns for work that takes much memory for a moment: a few requests do it at the same time, over all workers.
//!
//! A turn lasts until the work itself has ended. The future of a request is dropped as soon as nobody waits for it, but its
//! thread can't be called back. So the permit goes into the thread together with the work, and no handler ever holds it.

use std::time::Duration;

use baywright_core::platform::fail::Done;
use baywright_core::platform::identity::Audience;
use baywright_core::platform::refusal::Refused;
use baywright_core::platform::tx::Tx;
use tokio::sync::{Semaphore, SemaphorePermit};

use super::call::{Call, blocking};
use super::problem::Problem;

/// One kind of work that takes much memory.
#[derive(Debug)]
pub struct HeavyWork {
    turns: Semaphore,
    /// Maximum time that a request waits for its turn, and the text of the refusal after that; `None` if it is never
    /// refused.
    patience: Option<(Duration, &'static str)>,
}

impl HeavyWork {
    /// Work that one request does at a time. Another one waits for its turn, and gets 503 with the text `busy` if that has
    /// not come after `patience`.
    pub const fn one_at_a_time(patience: Duration, busy: &'static str) -> Self {
        Self { turns: Semaphore::const_new(1), patience: Some((patience, busy)) }
    }

    /// Work that `count` requests do at a time. Others wait for their turns however long that takes, so it must be short.
    pub const fn at_once(count: usize) -> Self {
        Self { turns: Semaphore::const_new(count), patience: None }
    }

    /// Does the work on a blocking thread when it is its turn.
    ///
    /// # Errors
    /// Errors of the work; 503 if its turn did not come in time.
    pub async fn blocking<T: Send + 'static>(
        &'static self,
        work: impl FnOnce() -> Done<T> + Send + 'static,
    ) -> Result<T, Problem> {
        let turn = self.turn().await?;
        blocking(move || during(turn, work)).await
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
        let turn = self.turn().await?;
        call.read(move |tx| during(turn, || work(tx))).await
    }

    async fn turn(&'static self) -> Result<SemaphorePermit<'static>, Problem> {
        let turn = self.turns.acquire();
        let Some((patience, busy)) = self.patience else {
            return turn.await.map_err(|_| Problem::unexpected());
        };
        let turn = tokio::time::timeout(patience, turn).await;
        turn.ok().and_then(Result::ok).ok_or_else(|| Refused::unavailable(busy).into())
    }

    /// Number of turns that are free now.
    #[cfg(test)]
    pub(super) fn free(&self) -> usize {
        self.turns.available_permits()
    }
}

/// Does the work, and ends the turn afterwards.
fn during<T>(turn: SemaphorePermit<'static>, work: impl FnOnce() -> T) -> T {
    let done = work();
    drop(turn);
    done
}

#[cfg(test)]
mod tests {
    use std::sync::mpsc::channel;

    use actix_web::http::StatusCode;
    use futures_util::FutureExt;

    use super::*;

    #[tokio::test]
    async fn a_turn_lasts_until_the_work_has_ended_though_nobody_waits_for_it() {
        static ONE: HeavyWork = HeavyWork::one_at_a_time(Duration::from_millis(100), "Another one is at work.");
        let (end, ended) = channel::<()>();
        let mut given_up = Box::pin(ONE.blocking(move || {
            // Completes when the other end is dropped.
            let _ = ended.recv();
            Ok(())
        }));
        assert!((&mut given_up).now_or_never().is_none());
        drop(given_up);
        let refused = ONE.blocking(|| Ok(())).await.unwrap_err();
        assert_eq!(refused.status(), StatusCode::SERVICE_UNAVAILABLE);
        drop(end);
        let turn = tokio::time::timeout(Duration::from_secs(30), ONE.turns.acquire()).await;
        assert!(turn.is_ok(), "the work has ended, and its turn has not");
    }
}
