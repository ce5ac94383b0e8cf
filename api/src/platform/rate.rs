//! How many requests one client may send, so that one can't starve the others.

use std::num::NonZeroU32;
use std::sync::Arc;
use std::time::Duration;

use actix_web::http::header::{HeaderMap, HeaderName, HeaderValue};
use governor::clock::{Clock as _, DefaultClock};
use governor::middleware::StateInformationMiddleware;
use governor::state::keyed::DefaultKeyedStateStore;
use governor::{Quota, RateLimiter};

use super::problem::Problem;

type Limiter = RateLimiter<String, DefaultKeyedStateStore<String>, DefaultClock, StateInformationMiddleware>;

/// A limit per client on requests in a minute.
#[derive(Clone)]
pub struct Rate {
    limiter: Arc<Limiter>,
    per_minute: u32,
}

/// What is left to a client after a request.
#[derive(Debug, Clone, Copy)]
pub struct Allowance {
    limit: u32,
    left: u32,
    wait: Option<Duration>,
}

impl Rate {
    /// So many requests in a minute, all of which may come at once.
    pub fn per_minute(requests: NonZeroU32) -> Self {
        let limiter = RateLimiter::keyed(Quota::per_minute(requests)).with_middleware();
        Self { limiter: Arc::new(limiter), per_minute: requests.get() }
    }

    /// Counts a request of that client.
    pub fn take(&self, client: &str) -> Allowance {
        match self.limiter.check_key(&client.to_owned()) {
            Ok(state) => Allowance { limit: self.per_minute, left: state.remaining_burst_capacity(), wait: None },
            Err(not_until) => {
                let wait = not_until.wait_time_from(DefaultClock::default().now());
                Allowance { limit: self.per_minute, left: 0, wait: Some(wait) }
            }
        }
    }

    /// Forgets clients that have been quiet.
    pub fn forget_quiet(&self) {
        self.limiter.retain_recent();
    }
}

impl Allowance {
    fn seconds(self) -> u64 {
        self.wait.map_or(0, |wait| wait.as_secs() + 1)
    }

    /// The answer where nothing was left.
    pub fn refusal(&self) -> Option<Problem> {
        self.wait.map(|_| {
            let detail = "Too many requests came from this address. Wait as long as Retry-After says.";
            Problem::too_many("too-many-requests", detail, self.seconds())
        })
    }

    /// Tells the client how much is left.
    pub fn headers(&self, map: &mut HeaderMap) {
        let reset = if self.wait.is_some() { self.seconds() } else { 60 };
        for (name, value) in [
            ("ratelimit-limit", u64::from(self.limit)),
            ("ratelimit-remaining", u64::from(self.left)),
            ("ratelimit-reset", reset),
        ] {
            map.insert(HeaderName::from_static(name), HeaderValue::from(value));
        }
    }
}
