//! Customers: private and trade, their consents, how they are found, and which records are kept when they are erased.

mod erasure;
mod phone;
mod same;

use chrono::{DateTime, Utc};

use crate::document::Prices;
use crate::word::words;

pub use erasure::{Erasure, KEEP_YEARS, Kept, OpenBusiness, StillOpen, erasure, kept_until, may_erase};
pub use phone::{FEWEST_DIGITS, MOST_DIGITS, PhoneNumber, dialable, is_phone, phone_key};
pub use same::{Key, Likeness, Traits, name_key};

words! {
    /// Kind of customer for tax.
    pub enum CustomerKind("kind of customer") {
        /// A person who buys for themselves: prices include tax.
        Private = "PRIVATE" "private",
        /// A dealer, a fleet or another business: prices exclude tax.
        Trade = "TRADE" "trade",
    }
}

impl CustomerKind {
    /// Whether prices shown and signed are with or without tax.
    pub const fn prices(self) -> Prices {
        match self {
            Self::Private => Prices::Gross,
            Self::Trade => Prices::Net,
        }
    }
}

words! {
    /// Kinds of consent, which are given separately.
    pub enum ConsentKind("kind of consent") {
        /// Being written to about this job.
        Mail = "MAIL" "mail about the job",
        /// Being called about this job.
        Phone = "PHONE" "calls about the job",
        /// Come-back reminders and offers.
        Marketing = "MARKETING" "come-back reminders and offers",
        /// Showing photographs of the car to others.
        Photos = "PHOTOS" "showing photographs",
    }
}

/// A consent, with the times when it was given and withdrawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Consent {
    /// Kind of the consent.
    pub kind: ConsentKind,
    /// Time when it was given.
    pub given_at: DateTime<Utc>,
    /// Time when it was withdrawn.
    pub withdrawn_at: Option<DateTime<Utc>>,
}

/// Whether a consent of that kind is valid at a given time: given by then and not withdrawn by then.
pub fn consents(all: &[Consent], kind: ConsentKind, at: DateTime<Utc>) -> bool {
    let holds = |one: &Consent| one.given_at <= at && one.withdrawn_at.is_none_or(|withdrawn| at < withdrawn);
    all.iter().any(|one| one.kind == kind && holds(one))
}

/// The first name of a person, or the first word of a firm's name: the only part that a technician sees.
pub fn first_name(name: &str) -> &str {
    name.split_whitespace().next().unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_consent_holds_from_given_until_withdrawn() {
        let at = |seconds| DateTime::from_timestamp(seconds, 0).unwrap();
        let given = Consent { kind: ConsentKind::Marketing, given_at: at(100), withdrawn_at: Some(at(200)) };
        let holds = |seconds| consents(&[given], ConsentKind::Marketing, at(seconds));
        assert_eq!([99, 100, 199, 200].map(holds), [false, true, true, false]);
        assert!(!consents(&[given], ConsentKind::Photos, at(150)));
        let again = Consent { given_at: at(300), withdrawn_at: None, ..given };
        assert!(consents(&[given, again], ConsentKind::Marketing, at(1_000)));
    }

    #[test]
    fn a_first_name_is_the_first_word() {
        assert_eq!(first_name("Aoife Byrne"), "Aoife");
        assert_eq!(first_name(" Quay Motors Ltd"), "Quay");
        assert_eq!(first_name("  "), "");
    }
}
