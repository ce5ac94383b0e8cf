//! The program's scheduler: it runs the timed jobs of all features, each once even if several replicas run.
//!
//! A job runs for each shop in a transaction of its own, which also records the period it ran for. Two replicas that
//! come at once queue for the shop's lock, and the second finds the period recorded; a job that fails leaves no record
//! and is run again at the next turn. After the clock jumped ahead, jobs wait for a second check
//! (`platform/steady.rs`).

use std::collections::BTreeSet;
use std::sync::atomic::{AtomicI64, Ordering};
use std::sync::mpsc::{RecvTimeoutError, Sender, channel};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread::JoinHandle;
use std::time::Duration;

use baywright_domain::id::ShopId;

use crate::access;
use crate::features;
use crate::mail::carrier::NoWay;
use crate::mail::courier::Courier;
use crate::media::Sweeper;
use crate::platform::clock::Clock;
use crate::platform::clock_run;
use crate::platform::config::Config;
use crate::platform::db::{Db, Scope};
use crate::platform::ended::Ended;
use crate::platform::fail::{DbError, Done, Fail};
use crate::platform::identity::{Actor, Studio};
use crate::platform::keyring::{Keyring, kept};
use crate::platform::program::Program;
use crate::platform::rate::Rate;
use crate::platform::steady::Steady;
use crate::platform::tx::Tx;

/// A scheduled job, which runs for each shop.
#[derive(Debug, Clone, Copy)]
pub struct Job {
    /// Name of the job, such as `quote.lapse`; the database stores it, so it never changes.
    pub name: &'static str,
    /// Length of a period, in minutes; the job runs once in each.
    pub every_minutes: i64,
    /// The job itself; its transaction may run more than once, so it has no effect outside the database.
    pub run: fn(&mut Tx<'_>) -> Done<()>,
}

/// Runs the jobs of all features, and then the courier. Blocking.
pub struct Clockwork {
    db: Db,
    clock: Clock,
    config: Arc<Config>,
    keys: Keyring,
    ended: Ended,
    counts: [Rate; 4],
    courier: Courier,
    steady: Steady,
    /// Next time to sweep photographs' files, by the monotonic clock.
    sweep_at: AtomicI64,
}

impl Clockwork {
    /// The scheduler of a program.
    ///
    /// # Errors
    /// [`NoWay`] if the mail settings can't be used.
    pub fn of(program: &Program) -> Result<Self, NoWay> {
        let (db, clock, config) = (program.db.clone(), program.clock.clone(), program.config.clone());
        let courier = Courier::new(db.clone(), clock.clone(), config.clone(), program.metrics.clone())?;
        Ok(Self {
            db,
            clock,
            config,
            keys: program.keys.clone(),
            ended: program.ended.clone(),
            counts: [program.rate.clone(), program.probes.clone(), program.misses.clone(), program.tries.clone()],
            courier,
            steady: Steady::default(),
            sweep_at: AtomicI64::new(i64::MIN),
        })
    }

    /// Applies changes of the keys, forgets clients that have been quiet, ends sign-ins, runs every job that is due in
    /// any shop, sends the waiting mails, then sweeps photographs' files and empties the database's log. A failure is
    /// logged and does not prevent the rest.
    pub fn turn(&self, stop: &dyn Fn() -> bool) {
        if let Err(fail) = kept::reload(&self.db, &self.config, self.clock.now(), &self.keys) {
            tracing::error!(?fail, "the keys can't be read; those read last are used on");
        }
        self.counts.iter().for_each(Rate::forget_quiet);
        self.end_sign_ins();
        let shops = self.db.read(Studio::all).unwrap_or_else(|fail| {
            tracing::error!(?fail, "the clockwork can't read the shops");
            Vec::new()
        });
        let believed = self.believes_the_clock();
        if believed {
            self.run_jobs(&shops, stop);
        }
        if stop() {
            return;
        }
        if let Err(fail) = self.courier.pass(stop) {
            tracing::error!(?fail, "the courier failed; it will try again");
        }
        if believed && self.clock.passed_ms() >= self.sweep_at.load(Ordering::Relaxed) {
            self.sweep(&shops, stop);
            if let Err(error) = self.db.empty_log() {
                tracing::warn!(%error, "the database's log can't be emptied; it will be tried again");
            }
            self.sweep_at.store(self.clock.passed_ms().saturating_add(SWEEP_MS), Ordering::Relaxed);
        }
    }

    /// Writes the ends of sign-ins that could not be written when they were asked for.
    fn end_sign_ins(&self) {
        for (session, shop) in self.ended.to_write() {
            let written = self.db.write(Scope::Shop(&shop), |conn| {
                let mut tx = Tx::for_program(conn, Actor::Clockwork, &shop, self.clock.now(), self.config.clone())?;
                access::usecase::end_late(&mut tx, &session)
            });
            if let Err(fail) = written {
                tracing::warn!(%shop, ?fail, "the end of a sign-in can't be written; it will be tried again");
                return;
            }
            self.ended.forget(&session);
        }
    }

    fn believes_the_clock(&self) -> bool {
        match self.db.read(|conn| Ok(clock_run::latest(conn)?)) {
            Ok(last) => self.steady.look(&self.clock, last),
            Err(fail) => {
                tracing::error!(?fail, "the clockwork can't read when it last ran");
                false
            }
        }
    }

    fn run_jobs(&self, shops: &[ShopId], stop: &dyn Fn() -> bool) {
        // If nobody can change a shop's records now, because a replica that hangs holds its lock, the shop is left for
        // the next turn: otherwise each of its jobs would wait, and all other shops with it.
        let mut busy: BTreeSet<&ShopId> = BTreeSet::new();
        for job in features::jobs() {
            for shop in shops {
                if stop() {
                    return;
                }
                if busy.contains(shop) {
                    continue;
                }
                if let Err(fail) = self.run(&job, shop) {
                    if matches!(fail, Fail::Db(DbError::Busy | DbError::NoConnection(_))) {
                        busy.insert(shop);
                    }
                    tracing::error!(job = job.name, %shop, ?fail, "a job failed; it will be run again");
                }
            }
        }
    }

    /// Removes files of photographs that no row names.
    fn sweep(&self, shops: &[ShopId], stop: &dyn Fn() -> bool) {
        for shop in shops {
            if stop() {
                return;
            }
            if let Err(fail) = self.sweep_one(shop) {
                tracing::error!(%shop, ?fail, "a shop's photographs can't be swept; it will be tried again");
            }
        }
    }

    fn sweep_one(&self, shop: &ShopId) -> Done<()> {
        let Some(sweeper) = Sweeper::look(&self.config.data, shop, self.db.file())? else { return Ok(()) };
        let now = self.clock.now();
        let named = self.db.read(|conn| {
            Sweeper::named(&mut Tx::for_program(conn, Actor::Clockwork, shop, now, self.config.clone())?)
        })?;
        sweeper.remove(&named, now);
        Ok(())
    }

    /// Runs the job for the shop unless it ran in this period.
    fn run(&self, job: &Job, shop: &ShopId) -> Result<(), Fail> {
        let period = self.clock.now().minute().get().div_euclid(job.every_minutes.max(1));
        let last = self.db.read(|conn| Ok(clock_run::last(conn, shop, job.name)?))?;
        if !clock_run::is_due(last, period, job.every_minutes) {
            return Ok(());
        }
        self.db.write(Scope::Shop(shop), |conn| {
            let mut tx = Tx::for_program(conn, Actor::Clockwork, shop, self.clock.now(), self.config.clone())?;
            if clock_run::take(&mut tx, job.name, period, job.every_minutes)? {
                (job.run)(&mut tx)?;
            }
            Ok(())
        })
    }

    /// Runs in a thread of its own until it is stopped.
    pub fn start(self) -> Running {
        let (stop, stopped) = channel::<()>();
        let thread = std::thread::spawn(move || {
            let stopped = Mutex::new(stopped);
            let wait = |time| {
                let signal = stopped.lock().unwrap_or_else(PoisonError::into_inner).recv_timeout(time);
                !matches!(signal, Err(RecvTimeoutError::Timeout))
            };
            // The first turn runs at once: work that was due while the program was down is already late.
            while !wait(Duration::ZERO) {
                self.turn(&|| wait(Duration::ZERO));
                if wait(TURN) {
                    break;
                }
            }
        });
        Running { stop: Some(stop), thread: Some(thread) }
    }
}

/// Time between two sweeps of photographs' files, in milliseconds.
const SWEEP_MS: i64 = 60 * 60_000;

/// Time between two turns.
const TURN: Duration = Duration::from_secs(2);

/// Time that a stop waits for a mail that is being sent; its lease expires by itself.
const PATIENCE: Duration = Duration::from_secs(8);

/// A scheduler that runs in its thread.
pub struct Running {
    stop: Option<Sender<()>>,
    thread: Option<JoinHandle<()>>,
}

impl Running {
    /// Stops it: the current work is finished, unless that takes too long.
    pub fn stop(mut self) {
        drop(self.stop.take());
        let Some(thread) = self.thread.take() else { return };
        let step = Duration::from_millis(20);
        let mut waited = Duration::ZERO;
        while !thread.is_finished() && waited < PATIENCE {
            std::thread::sleep(step);
            waited += step;
        }
        if thread.is_finished() && thread.join().is_err() {
            tracing::error!("the clockwork panicked");
        }
    }
}
