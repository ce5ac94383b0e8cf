//! The queue of writers of one shop in this process.
//!
//! Only one writer at a time waits for the shop's lock with a connection in hand. Otherwise, if a replica that hangs
//! holds the lock of one shop, that shop's writers would take every connection, and no other shop could write.

use std::collections::{BTreeMap, VecDeque};
use std::sync::{Condvar, Mutex, PoisonError};
use std::time::{Duration, Instant};

/// The waiting writers, by lock, in the order in which they came.
#[derive(Debug, Default)]
pub(super) struct Turns {
    waiting: Mutex<Waiting>,
    ended: Condvar,
}

#[derive(Debug, Default)]
struct Waiting {
    tickets: u64,
    queues: BTreeMap<i64, VecDeque<u64>>,
}

impl Waiting {
    fn leave(&mut self, key: i64, ticket: u64) {
        if let Some(queue) = self.queues.get_mut(&key) {
            queue.retain(|waiting| *waiting != ticket);
            if queue.is_empty() {
                self.queues.remove(&key);
            }
        }
    }
}

/// The turn of one writer; dropping it ends it.
#[derive(Debug)]
pub(super) struct Turn<'t> {
    turns: &'t Turns,
    key: i64,
    ticket: u64,
}

impl Turns {
    /// Waits for the turn at the lock with that number; `None` if it did not come in time.
    pub(super) fn take(&self, key: i64, patience: Duration) -> Option<Turn<'_>> {
        let until = Instant::now() + patience;
        let mut waiting = self.waiting.lock().unwrap_or_else(PoisonError::into_inner);
        waiting.tickets += 1;
        let ticket = waiting.tickets;
        waiting.queues.entry(key).or_default().push_back(ticket);
        loop {
            if waiting.queues.get(&key).and_then(VecDeque::front) == Some(&ticket) {
                return Some(Turn { turns: self, key, ticket });
            }
            let left = until.saturating_duration_since(Instant::now());
            if left.is_zero() {
                waiting.leave(key, ticket);
                return None;
            }
            waiting = self.ended.wait_timeout(waiting, left).unwrap_or_else(PoisonError::into_inner).0;
        }
    }
}

impl Drop for Turn<'_> {
    fn drop(&mut self) {
        self.turns.waiting.lock().unwrap_or_else(PoisonError::into_inner).leave(self.key, self.ticket);
        self.turns.ended.notify_all();
    }
}

#[cfg(test)]
mod tests {
    use std::sync::mpsc::channel;

    use super::*;

    const SOON: Duration = Duration::from_millis(20);

    #[test]
    fn one_at_a_time_has_a_shops_turn_and_another_shop_has_its_own() {
        let turns = Turns::default();
        let first = turns.take(1, SOON).unwrap();
        assert!(turns.take(1, SOON).is_none());
        let _other = turns.take(2, SOON).unwrap();
        drop(first);
        assert!(turns.take(1, SOON).is_some());
        assert!(turns.take(1, SOON).is_some(), "the turn before has ended");
    }

    #[test]
    fn whoever_came_first_is_first_and_whoever_gave_up_is_passed_over() {
        let turns = Turns::default();
        let first = turns.take(1, SOON).unwrap();
        let (told, order) = channel();
        std::thread::scope(|scope| {
            for number in 0..4 {
                let (turns, told) = (&turns, told.clone());
                let patience = if number == 1 { SOON } else { Duration::from_mins(1) };
                scope.spawn(move || {
                    let turn = turns.take(1, patience);
                    told.send((number, turn.is_some())).unwrap();
                });
                // Each is in the queue before the next one comes.
                while turns.waiting.lock().unwrap().tickets < number + 2 {
                    std::thread::yield_now();
                }
            }
            assert_eq!(order.recv().unwrap(), (1, false));
            drop(first);
            let came: Vec<_> = (0..3).map(|_| order.recv().unwrap()).collect();
            let mut sorted = came.clone();
            sorted.sort_unstable();
            assert_eq!((came.len(), sorted), (3, vec![(0, true), (2, true), (3, true)]));
        });
        assert!(turns.waiting.lock().unwrap().queues.is_empty());
    }
}
