//! Limits on the number of connections, in all and from one address.
//!
//! A connection takes up to half a megabyte if its client sends requests one after the other and never reads an answer:
//! data it has sent, requests that wait for their turn, and answers that wait to be sent. The framework limits each of
//! these, but not their total: by default it accepts 25,000 connections for each thread.

use std::collections::BTreeMap;
use std::net::IpAddr;
use std::sync::{Arc, Mutex, PoisonError};

use baywright_core::platform::rate::counted_as;
use baywright_core::platform::refusal::Refused;

use super::problem::Problem;

/// Maximum number of connections.
const IN_ALL: usize = 512;

/// Minimum number of connections of each worker thread.
const OF_A_WORKER: usize = 16;

/// Maximum number of connections from one address. Several people may share it, whose browsers open six each.
const OF_ONE: usize = 128;

/// Number of connections that each address may open when most are in use. The last quarter of all is kept for those with
/// fewer, so that a few addresses with many can't take all of them. A browser opens six.
const FEW: usize = 16;

/// Time that a client with too many connections is asked to wait, in seconds.
const WAIT_SECONDS: u64 = 5;

/// Maximum number of connections of each worker thread. A program that may open only few files keeps half of them for
/// its database and for photographs.
pub fn of_each_worker(workers: usize) -> usize {
    let files = most_files().map_or(IN_ALL, |files| usize::try_from(files / 2).unwrap_or(IN_ALL));
    (IN_ALL.min(files) / workers.max(1)).max(OF_A_WORKER)
}

/// Number of files the program may have open; `None` if there is no limit.
#[cfg(unix)]
fn most_files() -> Option<u64> {
    rustix::process::getrlimit(rustix::process::Resource::Nofile).current
}

/// No such limit is known on this system.
#[cfg(not(unix))]
fn most_files() -> Option<u64> {
    None
}

/// The connections that are open, by the address they come from.
#[derive(Debug, Clone)]
pub struct Connections {
    open: Arc<Mutex<BTreeMap<String, usize>>>,
    in_all: usize,
}

/// A connection; dropping it removes it from the count.
#[derive(Debug)]
pub struct Connection {
    open: Arc<Mutex<BTreeMap<String, usize>>>,
    from: String,
    one_too_many: bool,
}

impl Connections {
    /// Those of that number of worker threads.
    pub fn new(workers: usize) -> Self {
        Self::at_most(of_each_worker(workers).saturating_mul(workers.max(1)))
    }

    fn at_most(in_all: usize) -> Self {
        Self { open: Arc::default(), in_all }
    }

    /// Counts a new connection from that address.
    pub fn enter(&self, peer: IpAddr) -> Connection {
        let from = counted_as(&peer.to_string());
        let mut open = self.open.lock().unwrap_or_else(PoisonError::into_inner);
        let count = open.entry(from.clone()).or_insert(0);
        *count += 1;
        let count = *count;
        let crowded = open.values().sum::<usize>() > self.in_all - self.in_all / 4;
        let most = if crowded { FEW } else { OF_ONE };
        Connection { one_too_many: count > most, from, open: Arc::clone(&self.open) }
    }
}

impl Connection {
    /// Whether its address already had as many connections as allowed when it was opened.
    pub fn is_one_too_many(&self) -> bool {
        self.one_too_many
    }

    /// The answer to its requests, if it is one connection too many.
    pub fn refusal(&self) -> Option<Problem> {
        self.one_too_many.then(|| {
            let detail = "Too many connections are open from this address. Close some of them, then ask again.";
            Problem::from(Refused::too_many("too-many-requests", detail, WAIT_SECONDS))
        })
    }
}

impl Drop for Connection {
    fn drop(&mut self) {
        let mut open = self.open.lock().unwrap_or_else(PoisonError::into_inner);
        match open.get_mut(&self.from) {
            Some(count) if *count > 1 => *count -= 1,
            _ => _ = open.remove(&self.from),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Addresses for documentation: RFC 5737 and RFC 3849.
    #[test]
    fn an_address_or_network_has_so_many_connections_and_others_have_theirs() {
        let connections = Connections::at_most(IN_ALL);
        let enter = |address: &str| connections.enter(address.parse().unwrap());
        let mut held: Vec<Connection> = (0..OF_ONE).map(|_| enter("192.0.2.7")).collect();
        assert!(held.iter().all(|connection| connection.refusal().is_none()));
        assert!(enter("192.0.2.7").refusal().is_some());
        assert!(enter("192.0.2.8").refusal().is_none());
        held.pop();
        assert!(!enter("192.0.2.7").is_one_too_many(), "a closed one leaves its place");
        let network: Vec<Connection> = (0..OF_ONE).map(|host| enter(&format!("2001:db8::{host:x}"))).collect();
        assert!(enter("2001:db8::ffff").is_one_too_many());
        drop((held, network));
        assert!(connections.open.lock().unwrap().is_empty());
    }

    #[test]
    fn a_few_addresses_with_many_leave_some_for_those_with_fewer() {
        let connections = Connections::at_most(IN_ALL);
        let enter = |address: &str| connections.enter(address.parse().unwrap());
        let many: Vec<Connection> =
            (0..3 * OF_ONE).map(|number| enter(&format!("192.0.2.{}", number / OF_ONE))).collect();
        assert!(many.iter().all(|connection| !connection.is_one_too_many()));
        for address in ["192.0.2.3", "198.51.100.7"] {
            let few: Vec<Connection> = (0..FEW).map(|_| enter(address)).collect();
            assert!(few.iter().all(|connection| !connection.is_one_too_many()), "{address}");
            assert!(enter(address).is_one_too_many(), "{address}");
        }
        drop(many);
        let again: Vec<Connection> = (0..OF_ONE).map(|_| enter("192.0.2.3")).collect();
        assert!(again.iter().all(|connection| !connection.is_one_too_many()));
    }

    #[test]
    fn the_workers_share_the_connections_and_each_has_some() {
        assert!(of_each_worker(1) <= IN_ALL);
        assert!(of_each_worker(4) <= IN_ALL / 4);
        assert_eq!(of_each_worker(1000), OF_A_WORKER);
    }
}
