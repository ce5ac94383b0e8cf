//! A line of requests that wait for their turns, in which shops alternate.
//!
//! In the order of arrival, a shop that sends many requests at once would hold up all others for as long as all of its work
//! takes. Here a shop waits for the work that has begun and for one request of each other shop.

use std::collections::VecDeque;
use std::sync::{Mutex, MutexGuard, PoisonError};

use tokio::sync::oneshot::{Receiver, Sender, channel};

/// The line.
pub(super) struct Line {
    state: Mutex<State>,
}

struct State {
    /// Number of turns that nobody has; 0 as long as somebody waits.
    free: usize,
    /// Shops that wait, the next one first, with their requests in the order of arrival.
    shops: VecDeque<(String, VecDeque<Sender<Turn>>)>,
}

/// A turn; dropping it gives it to the next one in the line.
pub(super) struct Turn {
    line: &'static Line,
    shop: String,
}

impl Line {
    /// A line for that number of turns at a time.
    pub(super) const fn new(turns: usize) -> Self {
        Self { state: Mutex::new(State { free: turns, shops: VecDeque::new() }) }
    }

    /// Takes a place in the line for that shop, which it keeps until the receiver is dropped; `None` if `most` requests of
    /// the shop wait already.
    pub(super) fn enter(&'static self, shop: &str, most: usize) -> Option<Receiver<Turn>> {
        let (ticket, turn) = channel();
        let mut state = self.state();
        if state.free == 0 {
            return state.wait(shop, ticket, most).then_some(turn);
        }
        state.free -= 1;
        drop(state);
        // It arrives, because its receiver is here.
        let _ = ticket.send(Turn { line: self, shop: shop.to_owned() });
        Some(turn)
    }

    /// Number of turns that nobody has.
    #[cfg(test)]
    pub(super) fn free(&self) -> usize {
        self.state().free
    }

    fn state(&self) -> MutexGuard<'_, State> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl State {
    /// Puts a request of that shop into the line, unless `most` of them are there.
    fn wait(&mut self, shop: &str, ticket: Sender<Turn>, most: usize) -> bool {
        self.forget_the_gone();
        match self.shops.iter_mut().find(|(waiting, _)| waiting == shop) {
            Some((_, tickets)) if tickets.len() >= most => return false,
            Some((_, tickets)) => tickets.push_back(ticket),
            None => self.shops.push_back((shop.to_owned(), VecDeque::from([ticket]))),
        }
        true
    }

    /// Takes the next request out of the line, with its shop: one of another shop than `last`, if any waits.
    fn next(&mut self, last: &str) -> Option<(String, Sender<Turn>)> {
        self.forget_the_gone();
        if self.shops.front().is_some_and(|(shop, _)| shop == last) {
            self.shops.rotate_left(1);
        }
        let (shop, mut tickets) = self.shops.pop_front()?;
        let ticket = tickets.pop_front()?;
        if !tickets.is_empty() {
            self.shops.push_back((shop.clone(), tickets));
        }
        Some((shop, ticket))
    }

    /// Removes the requests that have given up.
    fn forget_the_gone(&mut self) {
        for (_, tickets) in &mut self.shops {
            tickets.retain(|ticket| !ticket.is_closed());
        }
        self.shops.retain(|(_, tickets)| !tickets.is_empty());
    }
}

impl Drop for Turn {
    fn drop(&mut self) {
        let line = self.line;
        let mut state = line.state();
        let Some((shop, ticket)) = state.next(&self.shop) else {
            state.free += 1;
            return;
        };
        drop(state);
        // If its request gives up at this moment, the turn is dropped, and so goes to the next one. The line is not locked.
        let _ = ticket.send(Turn { line, shop });
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The turn, if it has come.
    fn come(waiting: &mut Option<Receiver<Turn>>) -> Option<Turn> {
        let turn = waiting.as_mut()?.try_recv().ok()?;
        *waiting = None;
        Some(turn)
    }

    #[test]
    fn a_shop_waits_for_the_work_that_has_begun_and_not_for_all_that_another_shop_wants() {
        static LINE: Line = Line::new(1);
        let mut turn = come(&mut LINE.enter("first", 99));
        assert!(turn.is_some());
        let asked = ["first", "first", "first", "second", "third", "second"];
        let mut waiting: Vec<_> = asked.iter().map(|shop| LINE.enter(shop, 99)).collect();
        let mut order = Vec::new();
        while let Some(ended) = turn.take() {
            drop(ended);
            for (shop, waiting) in asked.iter().zip(&mut waiting) {
                if let Some(next) = come(waiting) {
                    assert!(turn.is_none(), "there is one turn at a time");
                    order.push(*shop);
                    turn = Some(next);
                }
            }
        }
        assert_eq!(order, ["second", "third", "first", "second", "first", "first"]);
        assert_eq!(LINE.free(), 1);
    }

    #[test]
    fn whoever_gives_up_is_passed_over_and_a_turn_that_nobody_takes_goes_on() {
        static LINE: Line = Line::new(1);
        let turn = come(&mut LINE.enter("first", 99));
        let given_up = LINE.enter("second", 99);
        let mut waiting = LINE.enter("third", 99);
        drop(given_up);
        drop(turn);
        let turn = come(&mut waiting);
        assert!(turn.is_some());
        let not_taken = LINE.enter("second", 99);
        let mut waiting = LINE.enter("third", 99);
        drop(turn);
        assert!(come(&mut waiting).is_none());
        drop(not_taken);
        assert!(come(&mut waiting).is_some());
        assert_eq!(LINE.free(), 1);
    }

    #[test]
    fn one_shop_has_so_many_that_wait_and_another_one_has_its_own() {
        static LINE: Line = Line::new(1);
        let _turn = come(&mut LINE.enter("first", 2));
        let mut waiting: Vec<_> = (0..2).map(|_| LINE.enter("first", 2)).collect();
        assert!(waiting.iter().all(Option::is_some));
        assert!(LINE.enter("first", 2).is_none());
        assert!(LINE.enter("second", 2).is_some());
        waiting.pop();
        assert!(LINE.enter("first", 2).is_some(), "one that gave up has left its place");
    }
}
