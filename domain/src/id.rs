//! Typed ids, opaque to the rules.
//!
//! The program makes them (UUID version 7) and the rules only compare them, so that a booking's id can never be passed
//! where a bay's is meant.

use alloc::string::String;
use core::fmt;

/// Declares one id type per record.
macro_rules! ids {
    ($($(#[$doc:meta])* $name:ident),+ $(,)?) => {$(
        $(#[$doc])*
        #[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name(String);

        impl $name {
            /// Wraps an id that was made or read elsewhere; its form is not checked.
            pub fn new(text: impl Into<String>) -> Self {
                Self(text.into())
            }

            /// The id as text.
            pub fn as_str(&self) -> &str {
                &self.0
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(&self.0)
            }
        }

        impl AsRef<str> for $name {
            fn as_ref(&self) -> &str {
                &self.0
            }
        }

        impl From<String> for $name {
            fn from(text: String) -> Self {
                Self(text)
            }
        }
    )+};
}

ids! {
    /// A studio: the tenant that every other record belongs to.
    ShopId,
    /// A place in the studio where a car stands while it is worked on.
    BayId,
    /// A tax of the shop, with its rates.
    TaxCategoryId,
    /// Days on which the shop or one of its bays is closed.
    ClosureId,
    /// Someone who works in the studio and may sign in.
    PersonId,
    /// Time in which a person is away.
    AbsenceId,
    /// One sign-in of one person, until it ends.
    SessionId,
    /// A device beside the bays on which people sign in with four digits.
    TabletId,
    /// A private or trade customer.
    CustomerId,
    /// A vehicle of a customer.
    VehicleId,
    /// A walk-round of a vehicle before work.
    InspectionId,
    /// A stored photograph.
    PhotoId,
    /// A service of the menu.
    ServiceId,
    /// A step that services need.
    StepId,
    /// A product with its mix.
    ProductId,
    /// A package of services.
    PackageId,
    /// One published revision of the menu.
    MenuRevisionId,
    /// An enquiry: the first contact of a customer.
    EnquiryId,
    /// A quote with all its revisions.
    QuoteId,
    /// One revision of a quote.
    RevisionId,
    /// A customer's signature under a sealed document.
    SignoffId,
    /// A capability link sent to a customer.
    LinkId,
    /// A rescheduling.
    ReschedulingId,
    /// A calendar feed of a bay or a person.
    FeedId,
    /// The merged steps of the signed services.
    PlanId,
    /// A car's place in a bay, held or booked.
    BookingId,
    /// A car's work: its steps with their real times.
    JobId,
    /// A step of one car's work.
    JobStepId,
    /// The record of a hand-over.
    HandoverId,
    /// A change to the signed scope.
    VariationId,
    /// An invoice.
    InvoiceId,
    /// A payment received.
    PaymentId,
    /// A credit note.
    CreditNoteId,
    /// Money given back to a customer.
    RefundId,
    /// An amount of an invoice that was written off, or its reversal.
    WriteOffId,
    /// A reminder that was given.
    ReminderId,
    /// A mail in the outbox.
    MessageId,
    /// A record of the shop's chained log.
    RecordId,
}
