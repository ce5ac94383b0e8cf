//! The time budget of one step.

use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;

use crate::menu::{Factors, Step};
use crate::time::Minutes;
use crate::vehicle::Car;
use crate::word::words;

words! {
    /// Number of people who work on the steps that allow two; one by default.
    #[derive(Default)]
    pub enum Hands("number of people") {
        /// One person.
        #[default]
        One = "ONE" "one person",
        /// Two people, on the steps where a second person helps.
        Two = "TWO" "two people",
    }
}

/// A budget and the numbers behind it, in order.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Budget {
    /// Minutes on a medium car in fair condition.
    pub base: Minutes,
    /// Size factor; 1 if size doesn't matter.
    pub size: Decimal,
    /// Condition factor; 1 if condition doesn't matter.
    pub condition: Decimal,
    /// Number of times the work is done: the quantity of the one service that needs the step, and 1 for a shared step.
    pub quantity: Decimal,
    /// Share of the time that two people take; 1 for one person.
    pub hands: Decimal,
    /// The product of these, rounded up to whole minutes.
    pub minutes: Minutes,
}

/// Base minutes × size factor × condition factor × the stated share if two people work on it (RULES: budget of a step), for
/// a step that is done once: [`Budget::times`] says the same for more. The product is exact and rounded up to whole minutes once, at the end: a budget never promises less than the
/// numbers say. A product beyond what minutes can count stays at their largest number.
pub fn budget(step: &Step, base: Minutes, factors: &Factors, car: Car, hands: Hands) -> Budget {
    let size = if step.by_size { *factors.size.get(car.size) } else { Decimal::ONE };
    let condition = if step.by_condition { *factors.condition.get(car.condition) } else { Decimal::ONE };
    Budget::of(base, [size, condition, Decimal::ONE, share(step.two_hands, hands)])
}

/// Time that the step needs as a share of the time of one person.
pub(super) fn share(two_hands: Option<Decimal>, hands: Hands) -> Decimal {
    match hands {
        Hands::One => Decimal::ONE,
        Hands::Two => two_hands.unwrap_or(Decimal::ONE),
    }
}

impl Budget {
    /// The same budget for a step that is done `quantity` times.
    #[must_use]
    pub fn times(self, quantity: Decimal) -> Self {
        Self::of(self.base, [self.size, self.condition, quantity, self.hands])
    }

    /// The budget for two people who need that share of the time, or for one person with a share of 1.
    #[must_use]
    pub(super) fn shared(self, hands: Decimal) -> Self {
        Self::of(self.base, [self.size, self.condition, self.quantity, hands])
    }

    fn of(base: Minutes, factors: [Decimal; 4]) -> Self {
        let [size, condition, quantity, hands] = factors;
        let exact = factors.into_iter().try_fold(Decimal::from(base.get()), Decimal::checked_mul);
        let minutes = exact.and_then(|exact| exact.ceil().to_u32()).unwrap_or(u32::MAX);
        Self { base, size, condition, quantity, hands, minutes: Minutes::new(minutes) }
    }
}
