//! The only place that asks what time it is.
//!
//! Times are UTC, cut to whole milliseconds, so that stored, returned and compared times are the same.

use std::sync::atomic::{AtomicI64, Ordering};
use std::sync::{Arc, OnceLock};
use std::time::Instant;

use baywright_domain::time::Minute;
use chrono::{DateTime, SecondsFormat, TimeDelta, Utc};

/// A moment in UTC, in whole milliseconds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct UtcTime(DateTime<Utc>);

impl UtcTime {
    /// The moment `ms` milliseconds after 1970-01-01T00:00Z; moments beyond chrono's calendar become the epoch.
    pub fn from_ms(ms: i64) -> Self {
        Self(DateTime::from_timestamp_millis(ms).unwrap_or_default())
    }

    /// The same, or `None` if chrono's calendar does not reach it.
    pub fn of_ms(ms: i64) -> Option<Self> {
        DateTime::from_timestamp_millis(ms).map(Self)
    }

    /// Milliseconds since 1970-01-01T00:00Z.
    pub fn ms(self) -> i64 {
        self.0.timestamp_millis()
    }

    /// The moment at which a minute of the rules begins.
    pub fn from_minute(minute: Minute) -> Self {
        Self::from_ms(minute.get().saturating_mul(60_000))
    }

    /// The whole minute that contains it, for the rules.
    pub fn minute(self) -> Minute {
        Minute::new(self.ms().div_euclid(60_000))
    }

    /// As chrono's type, for rules that work with dates.
    pub fn datetime(self) -> DateTime<Utc> {
        self.0
    }

    /// The moment `minutes` minutes later, or earlier if the number is negative.
    #[must_use]
    pub fn plus_minutes(self, minutes: i64) -> Self {
        Self(self.0.checked_add_signed(TimeDelta::minutes(minutes)).unwrap_or(self.0))
    }

    /// The moment `ms` milliseconds later.
    #[must_use]
    pub fn plus_ms(self, ms: i64) -> Self {
        Self::from_ms(self.ms().saturating_add(ms))
    }

    /// Reads RFC 3339 with any offset; anything finer than milliseconds is cut off.
    pub fn parse(text: &str) -> Option<Self> {
        let time = DateTime::parse_from_rfc3339(text).ok()?;
        Some(Self::from_ms(time.timestamp_millis()))
    }
}

impl From<DateTime<Utc>> for UtcTime {
    fn from(time: DateTime<Utc>) -> Self {
        Self::from_ms(time.timestamp_millis())
    }
}

impl std::fmt::Display for UtcTime {
    /// RFC 3339 with `Z`: without a fraction if the seconds are whole, else with milliseconds.
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.0.to_rfc3339_opts(SecondsFormat::AutoSi, true))
    }
}

/// Source of the time: the system's clock, or one that a test moves by hand.
#[derive(Debug, Clone, Default)]
pub struct Clock {
    manual: Option<Arc<Manual>>,
}

#[derive(Debug)]
struct Manual {
    /// Milliseconds since 1970.
    wall: AtomicI64,
    /// Milliseconds that have passed.
    passed: AtomicI64,
}

impl Clock {
    /// The system's clock.
    pub fn system() -> Self {
        Self { manual: None }
    }

    /// A clock that shows `at` until it is moved.
    pub fn manual(at: UtcTime) -> Self {
        Self { manual: Some(Arc::new(Manual { wall: AtomicI64::new(at.ms()), passed: AtomicI64::new(0) })) }
    }

    /// The time now.
    #[allow(clippy::disallowed_methods, reason = "the one place that asks the system")]
    pub fn now(&self) -> UtcTime {
        match &self.manual {
            Some(manual) => UtcTime::from_ms(manual.wall.load(Ordering::SeqCst)),
            None => Utc::now().into(),
        }
    }

    /// Milliseconds since some moment of this process. Nobody can set this clock, so it shows how much time really
    /// passed when the system's clock was set. On most systems it stops while the machine sleeps.
    pub fn passed_ms(&self) -> i64 {
        static START: OnceLock<Instant> = OnceLock::new();
        match &self.manual {
            Some(manual) => manual.passed.load(Ordering::SeqCst),
            None => i64::try_from(START.get_or_init(Instant::now).elapsed().as_millis()).unwrap_or(i64::MAX),
        }
    }

    /// Lets time pass on a manual clock until it shows `to`; the system's clock is left alone.
    pub fn set(&self, to: UtcTime) {
        if let Some(manual) = &self.manual {
            let before = manual.wall.swap(to.ms(), Ordering::SeqCst);
            manual.passed.fetch_add((to.ms() - before).max(0), Ordering::SeqCst);
        }
    }

    /// Sets a manual clock to `to` without any time passing, as if somebody set the machine's clock.
    pub fn jump(&self, to: UtcTime) {
        if let Some(manual) = &self.manual {
            manual.wall.store(to.ms(), Ordering::SeqCst);
        }
    }
}
