//! One car's stay, from the enquiry to the payment: what must happen next, and by whom.
//!
//! The answer is a function of a few facts ([`Facts`]), so buttons, lists and tests can't disagree: a list of today has
//! the stays whose next act belongs to it ([`Act::list`]).

mod next;
mod stage;
mod stretch;

use crate::word::words;

pub use next::{Bill, Booked, Facts, Next, Work};
pub use stage::{Stage, VisitGroup};
pub use stretch::{StretchKind, stretches};

words! {
    /// Role of the person who must act next, or the customer.
    pub enum Turn("person whose turn it is") {
        /// Anybody at the desk.
        Desk = "DESK" "the desk",
        /// The owner, who decides.
        Owner = "OWNER" "the owner",
        /// A person who works on the car.
        Technician = "TECHNICIAN" "the technician",
        /// The customer.
        Customer = "CUSTOMER" "the customer",
    }
}

words! {
    /// Act that must happen next.
    pub enum Act("next act") {
        /// Answer an enquiry that has no quote.
        Answer = "ANSWER" "answer the enquiry",
        /// Complete the inspection that was begun.
        Inspect = "INSPECT" "complete the inspection",
        /// Write a quote.
        WriteQuote = "WRITE_QUOTE" "write the quote",
        /// Send the quote that is in draft.
        SendQuote = "SEND_QUOTE" "send the quote",
        /// Sign the quote.
        Sign = "SIGN" "sign the quote",
        /// Agree on a time.
        Book = "BOOK" "agree on a time",
        /// Agree on another time, because of a no-show.
        BookAgain = "BOOK_AGAIN" "agree on a new time",
        /// Confirm the time that is held.
        Confirm = "CONFIRM" "confirm the held time",
        /// Find a time with room for the work that was signed since. For a car in its bay, keep the bay for longer.
        MoveBooking = "MOVE_BOOKING" "find a time that fits the signed work",
        /// Pay the deposit.
        PayDeposit = "PAY_DEPOSIT" "pay the deposit",
        /// Take the car in.
        Arrive = "ARRIVE" "take the car in",
        /// Send the variation that is in draft.
        SendVariation = "SEND_VARIATION" "send the variation",
        /// Answer the variation.
        SignVariation = "SIGN_VARIATION" "answer the variation",
        /// Start a step.
        StartStep = "START_STEP" "start the next step",
        /// Finish the step that is running.
        FinishStep = "FINISH_STEP" "finish the running step",
        /// Wait until something has dried or cured.
        LetDry = "LET_DRY" "let it dry before the next step",
        /// Declare the work done.
        MakeReady = "MAKE_READY" "declare the car ready",
        /// Give the car back.
        HandOver = "HAND_OVER" "hand the car over",
        /// Issue the invoice.
        Invoice = "INVOICE" "issue the invoice",
        /// Decide whether a credited invoice is written again.
        DecideCredited = "DECIDE_CREDITED" "decide whether a corrected invoice follows",
        /// Pay the invoice.
        Pay = "PAY" "pay the invoice",
        /// Remind the customer of an overdue invoice.
        Chase = "CHASE" "ask for the overdue payment",
        /// Correct the address of a mail that did not arrive, and send it again.
        SendMailAgain = "SEND_MAIL_AGAIN" "send the mail again",
    }
}

words! {
    /// Outcome of a stay.
    pub enum Outcome("outcome of a stay") {
        /// The enquiry was closed without a quote.
        Closed = "CLOSED" "closed without a quote",
        /// The customer declined the quote.
        Declined = "DECLINED" "declined",
        /// The customer did not answer in time.
        Lapsed = "LAPSED" "lapsed",
        /// The shop withdrew the quote.
        Withdrawn = "WITHDRAWN" "withdrawn",
        /// The agreed booking was cancelled.
        CalledOff = "CALLED_OFF" "called off",
        /// Everything is paid.
        Paid = "PAID" "paid",
        /// The unpaid amount of the invoice was written off.
        WrittenOff = "WRITTEN_OFF" "written off",
    }
}

words! {
    /// Short list of things that wait for somebody.
    pub enum TodayList("list of today") {
        /// Enquiries without a quote, and quotes that were not sent.
        ToAnswer = "TO_ANSWER" "to answer",
        /// Quotes and variations that the customer has not signed.
        ToSign = "TO_SIGN" "to sign",
        /// Signed work without a time that fits.
        ToBook = "TO_BOOK" "to book",
        /// Deposits that were agreed and not received.
        DepositDue = "DEPOSIT_DUE" "deposit due",
        /// Cars that were handed over without an invoice.
        ToInvoice = "TO_INVOICE" "to invoice",
        /// Invoices that are overdue.
        Overdue = "OVERDUE" "overdue",
        /// Mails that did not arrive.
        MailFailed = "MAIL_FAILED" "mail failed",
    }
}

impl Act {
    /// The person whose turn it is.
    pub const fn by(self) -> Turn {
        match self {
            Self::Answer
            | Self::Inspect
            | Self::WriteQuote
            | Self::SendQuote
            | Self::Book
            | Self::BookAgain
            | Self::Confirm
            | Self::MoveBooking
            | Self::Arrive
            | Self::SendVariation
            | Self::HandOver
            | Self::Invoice
            | Self::Chase
            | Self::SendMailAgain => Turn::Desk,
            Self::DecideCredited => Turn::Owner,
            Self::StartStep | Self::FinishStep | Self::LetDry | Self::MakeReady => Turn::Technician,
            Self::Sign | Self::PayDeposit | Self::SignVariation | Self::Pay => Turn::Customer,
        }
    }

    /// The list of today that it belongs to; `None` for work on the car and for payments that are not overdue.
    pub const fn list(self) -> Option<TodayList> {
        match self {
            Self::Answer | Self::Inspect | Self::WriteQuote | Self::SendQuote => Some(TodayList::ToAnswer),
            Self::Sign | Self::SendVariation | Self::SignVariation => Some(TodayList::ToSign),
            Self::Book | Self::BookAgain | Self::Confirm | Self::MoveBooking => Some(TodayList::ToBook),
            Self::PayDeposit => Some(TodayList::DepositDue),
            Self::Invoice | Self::DecideCredited => Some(TodayList::ToInvoice),
            Self::Chase => Some(TodayList::Overdue),
            Self::SendMailAgain => Some(TodayList::MailFailed),
            Self::Arrive
            | Self::StartStep
            | Self::FinishStep
            | Self::LetDry
            | Self::MakeReady
            | Self::HandOver
            | Self::Pay => None,
        }
    }
}
