//! Changeover and elapsed time of orders, and the set of known orders that no other beats.

use alloc::vec::Vec;

/// Changeover and elapsed minutes of an order, or bounds of both.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Value {
    pub(super) changeover: u64,
    pub(super) elapsed: u64,
}

impl Value {
    /// Whether it is at most the other in both.
    pub(super) fn reaches(self, other: Self) -> bool {
        self.changeover <= other.changeover && self.elapsed <= other.elapsed
    }

    /// Whether it is at most the other in both and less in one.
    pub(super) fn beats(self, other: Self) -> bool {
        self != other && self.reaches(other)
    }
}

/// Known orders of which none beats another, by rising changeover. An order is given by the numbers of its steps.
#[derive(Debug, Default)]
pub(super) struct Best(Vec<(Value, Vec<usize>)>);

impl Best {
    /// Adds an order, unless a known one beats it, or equals it and comes first.
    pub(super) fn add(&mut self, value: Value, order: Vec<usize>) {
        let known_is_better = |(known, first): &(Value, Vec<usize>)| {
            known.beats(value) || (*known == value && first.as_slice() <= order.as_slice())
        };
        if self.0.iter().any(known_is_better) {
            return;
        }
        self.0.retain(|(known, _)| !value.reaches(*known));
        let place = self.0.partition_point(|(known, _)| *known < value);
        self.0.insert(place, (value, order));
    }

    /// Whether a known order beats every order with this lower bound.
    pub(super) fn beats(&self, least: Value) -> bool {
        self.0.iter().any(|(known, _)| known.beats(least))
    }

    /// Whether a known order is as good as every order with this lower bound.
    pub(super) fn reaches(&self, least: Value) -> bool {
        self.0.iter().any(|(known, _)| known.reaches(least))
    }

    /// Minimum of each of the two over the known orders.
    pub(super) fn least(&self) -> Value {
        let changeover = self.0.first().map_or(0, |(value, _)| value.changeover);
        let elapsed = self.0.last().map_or(0, |(value, _)| value.elapsed);
        Value { changeover, elapsed }
    }

    /// The orders, by rising changeover.
    pub(super) fn into_orders(self) -> impl Iterator<Item = (Value, Vec<usize>)> {
        self.0.into_iter()
    }
}

/// Lower bounds of which none reaches another.
#[derive(Debug, Default)]
pub(super) struct Bounds(Vec<Value>);

impl Bounds {
    /// Adds a bound, unless a known one implies it.
    pub(super) fn add(&mut self, least: Value) {
        if !self.0.iter().any(|known| known.reaches(least)) {
            self.0.retain(|known| !least.reaches(*known));
            self.0.push(least);
        }
    }

    /// Removes the bounds that known orders beat.
    pub(super) fn settle(&mut self, best: &Best) {
        self.0.retain(|least| !best.beats(*least));
    }

    /// The bounds, in no particular order.
    pub(super) fn as_slice(&self) -> &[Value] {
        &self.0
    }
}
