//! The one moment of a stay that its page shows on top.

use crate::booking::BookingState;
use crate::visit::{Act, Next, Outcome};
use crate::word::words;

words! {
    /// Part of a stay, as its page shows the way through it.
    pub enum Stage("stage of a stay") {
        /// The customer chooses what is done.
        Choose = "CHOOSE" "Choose",
        /// A time is agreed.
        Book = "BOOK" "Book",
        /// The work is done.
        Work = "WORK" "Work",
        /// The car can be collected.
        Ready = "READY" "Ready",
        /// Everything is paid.
        Paid = "PAID" "Paid",
    }
}

/// Moment of a stay, as its customer sees it: what comes next for them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Moment {
    /// The studio writes a quote, or a new version of it.
    AwaitQuote,
    /// A version of the quote waits for the customer's answer.
    AnswerQuote,
    /// The customer can choose a time.
    PickTime,
    /// The studio agrees a time with the customer.
    AwaitTime,
    /// A time is held for the customer and not booked yet.
    Held,
    /// A time is booked.
    Booked,
    /// The booked time has no room for everything that was signed since.
    AwaitNewTime,
    /// The car is here.
    Work,
    /// A change to the work waits for the customer's answer.
    AnswerChange,
    /// The car can be collected.
    Collect,
    /// The customer has the car back, and an invoice follows.
    AwaitInvoice,
    /// An invoice is to be paid.
    Pay,
    /// Everything is done.
    Finished,
    /// The booking was cancelled.
    CalledOff,
    /// The quote ended without an order.
    Ended,
}

impl Moment {
    /// The moment of a stay with that next act. `booking` is the state of the booking that counts, and `may_choose` says
    /// whether the shop lets customers choose a time.
    pub const fn of(next: Next, booking: Option<BookingState>, may_choose: bool) -> Self {
        let act = match next {
            Next::Act(act) => act,
            Next::Done(Outcome::CalledOff) => return Self::CalledOff,
            Next::Done(Outcome::Paid | Outcome::WrittenOff) => return Self::Finished,
            Next::Done(Outcome::Closed | Outcome::Declined | Outcome::Lapsed | Outcome::Withdrawn) => {
                return Self::Ended;
            }
        };
        match act {
            Act::Answer | Act::Inspect | Act::WriteQuote | Act::SendQuote | Act::SendMailAgain => Self::AwaitQuote,
            Act::Sign => Self::AnswerQuote,
            Act::Book | Act::BookAgain => {
                if may_choose {
                    Self::PickTime
                } else {
                    Self::AwaitTime
                }
            }
            Act::MoveBooking if matches!(booking, Some(BookingState::InBay)) => Self::Work,
            Act::MoveBooking => Self::AwaitNewTime,
            Act::Confirm => Self::Held,
            // A deposit is due for a time that is only held as well.
            Act::PayDeposit if matches!(booking, Some(BookingState::Held)) => Self::Held,
            Act::PayDeposit | Act::Arrive => Self::Booked,
            Act::SignVariation => Self::AnswerChange,
            Act::SendVariation | Act::StartStep | Act::FinishStep | Act::LetDry | Act::MakeReady => Self::Work,
            Act::HandOver => Self::Collect,
            Act::Invoice | Act::DecideCredited => Self::AwaitInvoice,
            Act::Pay | Act::Chase => Self::Pay,
        }
    }

    /// The stage that it belongs to; `None` for a stay that ended early.
    pub const fn stage(self) -> Option<Stage> {
        match self {
            Self::AwaitQuote | Self::AnswerQuote => Some(Stage::Choose),
            Self::PickTime | Self::AwaitTime | Self::Held | Self::Booked | Self::AwaitNewTime => Some(Stage::Book),
            Self::Work | Self::AnswerChange => Some(Stage::Work),
            Self::Collect => Some(Stage::Ready),
            Self::AwaitInvoice | Self::Pay | Self::Finished => Some(Stage::Paid),
            Self::CalledOff | Self::Ended => None,
        }
    }

    /// Whether the customer has something to do now.
    pub const fn is_customers_turn(self) -> bool {
        matches!(self, Self::AnswerQuote | Self::PickTime | Self::AnswerChange | Self::Collect | Self::Pay)
    }

    /// Whether the booked time is still ahead, so that it belongs in a calendar.
    pub const fn is_ahead(self) -> bool {
        matches!(self, Self::Booked | Self::AwaitNewTime)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_act_has_its_moment() {
        let of = |act| Moment::of(Next::Act(act), None, false);
        for (act, moment) in [
            (Act::SendQuote, Moment::AwaitQuote),
            (Act::Sign, Moment::AnswerQuote),
            (Act::Book, Moment::AwaitTime),
            (Act::BookAgain, Moment::AwaitTime),
            (Act::Confirm, Moment::Held),
            (Act::Arrive, Moment::Booked),
            (Act::PayDeposit, Moment::Booked),
            (Act::MoveBooking, Moment::AwaitNewTime),
            (Act::StartStep, Moment::Work),
            (Act::LetDry, Moment::Work),
            (Act::SignVariation, Moment::AnswerChange),
            (Act::HandOver, Moment::Collect),
            (Act::Invoice, Moment::AwaitInvoice),
            (Act::Pay, Moment::Pay),
            (Act::Chase, Moment::Pay),
        ] {
            assert_eq!(of(act), moment, "{act:?}");
        }
    }

    #[test]
    fn a_time_is_chosen_only_where_the_shop_allows_it_and_only_while_none_is_booked() {
        let of = |act, allowed| Moment::of(Next::Act(act), None, allowed);
        assert_eq!((of(Act::Book, true), of(Act::Book, false)), (Moment::PickTime, Moment::AwaitTime));
        for act in Act::ALL.iter().filter(|act| !matches!(act, Act::Book | Act::BookAgain)) {
            assert_ne!(of(*act, true), Moment::PickTime, "{act:?}");
        }
    }

    #[test]
    fn a_car_in_its_bay_is_worked_on_whatever_its_booking_lacks() {
        let of = |state| Moment::of(Next::Act(Act::MoveBooking), Some(state), true);
        assert_eq!(of(BookingState::InBay), Moment::Work);
        assert_eq!(of(BookingState::Booked), Moment::AwaitNewTime);
        let deposit = |state| Moment::of(Next::Act(Act::PayDeposit), Some(state), true);
        assert_eq!((deposit(BookingState::Held), deposit(BookingState::Booked)), (Moment::Held, Moment::Booked));
    }

    #[test]
    fn an_ended_stay_has_no_stage_and_asks_for_nothing() {
        for outcome in Outcome::ALL {
            let moment = Moment::of(Next::Done(*outcome), None, true);
            assert!(!moment.is_customers_turn(), "{outcome:?}");
            let paid = matches!(outcome, Outcome::Paid | Outcome::WrittenOff);
            assert_eq!(moment.stage().is_some(), paid, "{outcome:?}");
        }
    }
}
