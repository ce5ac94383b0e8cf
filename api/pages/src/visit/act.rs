//! What people do on a visit: each verb with its address, its words, and the next acts that it belongs to.

use baywright_core::platform::ids;
use baywright_domain::booking::BookingState;
use baywright_domain::id::{BookingId, EnquiryId, QuoteId};
use baywright_domain::quote::RevisionState;
use baywright_domain::visit::Act;

use super::at;

/// Something that is done on a visit by a form.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verb {
    /// Send the quote.
    Send,
    /// Mail the quote again.
    SendAgain,
    /// Record that the customer accepted the quote by phone.
    Accepted,
    /// Record that the customer declined the quote.
    Declined,
    /// Withdraw the quote.
    Withdraw,
    /// Confirm a held time.
    Confirm,
    /// Record that the deposit was received.
    Deposit,
    /// Take the car in.
    Arrive,
    /// Record that the car did not come.
    NoShow,
    /// Cancel the booking.
    Cancel,
    /// Declare the car ready.
    Ready,
    /// Hand the car over.
    HandOver,
    /// Undo the last move of the booking.
    Undo,
    /// Send the variation.
    SendVariation,
    /// Record that the customer accepted the variation by phone.
    VariationAccepted,
    /// Record that the customer declined the variation.
    VariationDeclined,
    /// Make a draft of the invoice.
    Invoice,
    /// Issue the invoice.
    Issue,
    /// Mail the invoice.
    MailInvoice,
    /// Record a payment.
    Payment,
}

/// Last part of a verb's address, label of its button, and what is said once it is done.
type Words = (&'static str, &'static str, &'static str);

impl Verb {
    /// Every verb.
    const ALL: [Self; 20] = [
        Self::Send,
        Self::SendAgain,
        Self::Accepted,
        Self::Declined,
        Self::Withdraw,
        Self::Confirm,
        Self::Deposit,
        Self::Arrive,
        Self::NoShow,
        Self::Cancel,
        Self::Ready,
        Self::HandOver,
        Self::Undo,
        Self::SendVariation,
        Self::VariationAccepted,
        Self::VariationDeclined,
        Self::Invoice,
        Self::Issue,
        Self::MailInvoice,
        Self::Payment,
    ];

    const fn words(self) -> Words {
        match self {
            Self::Send => ("send", "Send the quote", "The quote is sent."),
            Self::SendAgain => ("send-again", "Send the quote again", "The quote is sent again."),
            Self::Accepted => ("accepted", "They accepted by phone", "The acceptance is recorded."),
            Self::Declined => ("declined", "They declined", "It is recorded that the customer declined."),
            Self::Withdraw => ("withdraw", "Withdraw the quote", "The quote is withdrawn."),
            Self::Confirm => ("confirm", "Confirm the time", "The time is booked."),
            Self::Deposit => ("deposit", "The deposit has come", "The deposit is recorded."),
            Self::Arrive => ("arrive", "Take the car in", "The car is here."),
            Self::NoShow => ("no-show", "The car did not come", "It is recorded that the car did not come."),
            Self::Cancel => ("cancel", "Cancel the booking", "The booking is cancelled."),
            Self::Ready => ("ready", "The car is ready", "The car is ready."),
            Self::HandOver => ("hand-over", "Hand the car over", "The car is handed over."),
            Self::Undo => ("undo", "Undo the last move", "The last move is undone."),
            Self::SendVariation => ("send-variation", "Send the variation", "The variation is sent."),
            Self::VariationAccepted => {
                ("variation-accepted", "They accepted by phone", "The acceptance of the variation is recorded.")
            }
            Self::VariationDeclined => {
                ("variation-declined", "They declined", "It is recorded that the customer declined the variation.")
            }
            Self::Invoice => ("invoice", "Make the invoice", "The invoice is a draft. Check it, then issue it."),
            Self::Issue => ("issue", "Check and issue the invoice", "The invoice is issued."),
            Self::MailInvoice => ("mail-invoice", "Send the invoice by email", "The invoice is sent."),
            Self::Payment => ("payment", "Record a payment", "The payment is recorded."),
        }
    }

    /// The last part of its address.
    pub const fn slug(self) -> &'static str {
        self.words().0
    }

    /// Label of the button or link that leads to it.
    pub const fn label(self) -> &'static str {
        self.words().1
    }

    /// What is said once it is done.
    pub const fn said(self) -> &'static str {
        self.words().2
    }

    /// The verb with that last part of its address.
    pub fn of_slug(slug: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|verb| verb.slug() == slug)
    }

    /// Its address on the visit of a quote.
    pub fn address(self, quote: &QuoteId) -> String {
        format!("{}/{}", at(quote), self.slug())
    }

    /// Whether one press does it for a booking, since nothing has to be typed.
    pub const fn is_one_press(self) -> bool {
        matches!(self, Self::Confirm | Self::Deposit | Self::Arrive | Self::Ready | Self::Invoice)
    }
}

/// A form that one press sends.
#[derive(Debug, Clone)]
pub struct Press {
    /// The address that takes it.
    pub action: String,
    /// Label of its button.
    pub label: &'static str,
    /// What the button is about, for those who don't see where it stands; empty if the page has only one.
    pub about: String,
    /// Class of the button.
    pub class: &'static str,
    /// Key under which it takes effect once.
    pub key: String,
    /// Version of the booking that was seen.
    pub version: i64,
    /// Id of the booking that was seen.
    pub record: String,
}

impl Press {
    /// The form of a verb for a booking of that version.
    pub fn new(verb: Verb, quote: &QuoteId, booking: &BookingId, version: i64) -> Self {
        Self {
            action: verb.address(quote),
            label: verb.label(),
            about: String::new(),
            class: "go",
            key: ids::new(),
            version,
            record: booking.to_string(),
        }
    }

    /// The same form among others of its kind.
    #[must_use]
    pub fn among(self, about: impl Into<String>) -> Self {
        Self { about: about.into(), class: "way fwd", ..self }
    }
}

/// What leads on from a next act.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Way {
    /// A form of the visit.
    Do(Verb),
    /// Another page.
    Go {
        /// Its address.
        address: String,
        /// Label of the link.
        label: &'static str,
    },
}

/// What leads on from a next act of a visit, the main way first. `enquiry` is the one that the quote was made from;
/// `is_drafted` says whether the invoice is a draft.
pub fn ways(act: Act, quote: &QuoteId, enquiry: Option<&EnquiryId>, is_drafted: bool) -> Vec<Way> {
    let go = |address: String, label: &'static str| Way::Go { address, label };
    let step =
        |step: &str, label: &'static str| enquiry.map(|id| Way::Go { address: format!("/new-car/{id}/{step}"), label });
    let both = |first: Vec<Way>, second: Option<Way>| first.into_iter().chain(second).collect();
    match act {
        Act::Answer | Act::WriteQuote => step("work", "Write the quote").into_iter().collect(),
        Act::Inspect => {
            let walk = step("walk-round", "Complete the inspection");
            both(walk.into_iter().collect(), Some(Way::Do(Verb::Send)))
        }
        Act::SendQuote => both(vec![Way::Do(Verb::Send)], step("work", "Change the work")),
        Act::Sign => both(
            vec![Way::Do(Verb::Accepted), Way::Do(Verb::SendAgain), Way::Do(Verb::Declined)],
            step("send", "Sign on this device"),
        ),
        Act::Book => vec![go(format!("/diary/book/{quote}"), "Choose a time")],
        Act::BookAgain => vec![go(format!("/diary/book/{quote}"), "Choose a new time")],
        Act::Confirm => vec![Way::Do(Verb::Confirm)],
        Act::MoveBooking => vec![go("/diary".to_owned(), "Find another time in the diary")],
        Act::PayDeposit => vec![Way::Do(Verb::Deposit)],
        Act::Arrive => vec![Way::Do(Verb::Arrive)],
        Act::SendVariation => vec![Way::Do(Verb::SendVariation)],
        Act::SignVariation => vec![Way::Do(Verb::VariationAccepted), Way::Do(Verb::VariationDeclined)],
        Act::StartStep | Act::FinishStep | Act::LetDry => vec![go("/bay".to_owned(), "Open the work in the bays")],
        Act::MakeReady => vec![Way::Do(Verb::Ready)],
        Act::HandOver => vec![Way::Do(Verb::HandOver)],
        Act::Invoice | Act::DecideCredited if is_drafted => vec![Way::Do(Verb::Issue)],
        Act::Invoice | Act::DecideCredited => vec![Way::Do(Verb::Invoice)],
        Act::Pay | Act::Chase => vec![Way::Do(Verb::Payment), Way::Do(Verb::MailInvoice)],
        Act::SendMailAgain => Vec::new(),
    }
}

/// What else can be done on a visit beside its next act: the ways out. `quote_state` is that of the latest revision.
pub fn others(quote_state: RevisionState, booking: Option<BookingState>, has_started: bool) -> Vec<Verb> {
    let mut verbs = Vec::new();
    if quote_state == RevisionState::Sent {
        verbs.push(Verb::Withdraw);
    }
    match booking {
        Some(BookingState::Held) => verbs.push(Verb::Cancel),
        Some(BookingState::Booked) => {
            if has_started {
                verbs.push(Verb::NoShow);
            }
            verbs.push(Verb::Cancel);
        }
        _ => {}
    }
    verbs
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_verb_is_found_by_its_address() {
        for verb in Verb::ALL {
            assert_eq!(Verb::of_slug(verb.slug()), Some(verb), "{verb:?}");
        }
        assert_eq!(Verb::of_slug("nothing"), None);
    }

    #[test]
    fn every_next_act_of_a_quote_leads_somewhere() {
        let (quote, enquiry) = (QuoteId::new("q"), EnquiryId::new("e"));
        for act in Act::ALL.iter().filter(|act| **act != Act::SendMailAgain) {
            assert!(!ways(*act, &quote, Some(&enquiry), false).is_empty(), "{act:?}");
        }
    }
}
