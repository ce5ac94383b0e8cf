//! Limit on the requests that one client may send, so that one can't starve the others.
//!
//! A client is its address, or its network for IPv6, because an IPv6 client has 2^64 addresses.

use std::net::{IpAddr, Ipv6Addr};
use std::num::NonZeroU32;
use std::sync::Arc;
use std::time::Duration;

use governor::clock::{Clock as _, DefaultClock};
use governor::middleware::StateInformationMiddleware;
use governor::state::keyed::DefaultKeyedStateStore;
use governor::{Quota, RateLimiter};

use super::refusal::Refused;

/// The address, or for IPv6 its network, under which requests are counted.
///
/// Providers assign IPv6 networks of /64 at least (RFC 6177, section 2; RFC 4291, section 2.5.4), so a client has 2^64
/// addresses, and a limit for each address would limit nothing.
pub fn counted_as(address: &str) -> String {
    match address.parse::<IpAddr>().map(|ip| ip.to_canonical()) {
        Ok(IpAddr::V6(ip)) => {
            let [a, b, c, d, ..] = ip.segments();
            format!("{}/64", Ipv6Addr::new(a, b, c, d, 0, 0, 0, 0))
        }
        Ok(ip) => ip.to_string(),
        Err(_) => address.to_owned(),
    }
}

/// The site of an IPv6 address: a /48, the most that one site is usually assigned (RFC 6177, section 2), so that its
/// owner has 2^16 of the networks that [`counted_as`] counts separately. `None` for an IPv4 address.
pub fn site_of(address: &str) -> Option<String> {
    match address.parse::<IpAddr>().map(|ip| ip.to_canonical()) {
        Ok(IpAddr::V6(ip)) => {
            let [a, b, c, ..] = ip.segments();
            Some(format!("{}/48", Ipv6Addr::new(a, b, c, 0, 0, 0, 0, 0)))
        }
        Ok(IpAddr::V4(_)) | Err(_) => None,
    }
}

type Limiter = RateLimiter<String, DefaultKeyedStateStore<String>, DefaultClock, StateInformationMiddleware>;

/// A rate limit per client, in requests per minute.
#[derive(Clone)]
pub struct Rate {
    limiter: Arc<Limiter>,
    per_minute: u32,
}

/// Number of requests that a client has left.
#[derive(Debug, Clone, Copy)]
pub struct Allowance {
    limit: u32,
    left: u32,
    wait: Option<Duration>,
}

impl Rate {
    /// A limit of `per_minute` requests, all of which may come at once.
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

    /// Seconds to wait, if the limit is reached.
    pub fn wait_seconds(self) -> Option<u64> {
        self.wait.map(|_| self.seconds())
    }

    /// The refusal if the limit is reached.
    pub fn refusal(&self) -> Option<Refused> {
        self.wait.map(|_| {
            let detail = "Too many requests came from this address. Wait as long as Retry-After says.";
            Refused::too_many("too-many-requests", detail, self.seconds())
        })
    }

    /// Requests per minute, the remaining ones, and the seconds until there are more: each under the name of its
    /// header.
    pub fn counts(&self) -> [(&'static str, u64); 3] {
        let reset = if self.wait.is_some() { self.seconds() } else { 60 };
        [
            ("ratelimit-limit", u64::from(self.limit)),
            ("ratelimit-remaining", u64::from(self.left)),
            ("ratelimit-reset", reset),
        ]
    }
}

#[cfg(test)]
mod tests {
    use super::{counted_as, site_of};

    /// Addresses for documentation: RFC 5737 and RFC 3849.
    #[test]
    fn an_ipv6_network_counts_as_one_and_an_ipv4_address_is_one_however_it_is_written() {
        for (address, counted) in [
            ("192.0.2.7", "192.0.2.7"),
            ("::ffff:192.0.2.7", "192.0.2.7"),
            ("::ffff:c000:207", "192.0.2.7"),
            ("2001:db8:1:2:aaaa::1", "2001:db8:1:2::/64"),
            ("2001:db8:1:2:bbbb:cccc:dddd:eeee", "2001:db8:1:2::/64"),
            ("2001:db8:1:3::1", "2001:db8:1:3::/64"),
            ("::1", "::/64"),
            ("", ""),
        ] {
            assert_eq!(counted_as(address), counted, "{address}");
        }
    }

    #[test]
    fn networks_of_one_ipv6_site_belong_together() {
        for (address, site) in [
            ("2001:db8:1:2:aaaa::1", Some("2001:db8:1::/48")),
            ("2001:db8:1:ffff::1", Some("2001:db8:1::/48")),
            ("2001:db8:2:2::1", Some("2001:db8:2::/48")),
            ("::ffff:192.0.2.7", None),
            ("192.0.2.7", None),
            ("", None),
        ] {
            assert_eq!(site_of(address).as_deref(), site, "{address}");
        }
    }
}
