//! An enquiry as it is answered.

use serde::Serialize;
use utoipa::ToSchema;

use super::{ChannelWord, ReasonWord, StateWord};
use crate::enquiry::usecase::{Caller, Enquiry};
use crate::platform::wire::{Day, Instant, Reference, Word};

/// What the one who asks said of themselves.
#[derive(Debug, Serialize, ToSchema)]
pub struct CallerView {
    /// Their name.
    #[schema(max_length = 200)]
    name: String,
    /// Their mail address.
    #[schema(max_length = 254)]
    email: Option<String>,
    /// Their telephone number.
    #[schema(max_length = 60)]
    phone: Option<String>,
    /// Whether they agreed to be written to about the job.
    may_mail: bool,
    /// Whether they agreed to be called about the job.
    may_phone: bool,
}

/// An enquiry.
#[derive(Debug, Serialize, ToSchema)]
pub struct EnquiryView {
    /// The enquiry's id.
    id: Reference,
    /// Counts the changes; the same as the ETag.
    #[schema(minimum = 1)]
    version: i64,
    /// Where it stands.
    state: StateWord,
    /// How somebody asked.
    channel: ChannelWord,
    /// The customer, where they are one.
    customer_id: Option<Reference>,
    /// What the one who asks said of themselves.
    caller: Option<CallerView>,
    /// The vehicle, where it is known.
    vehicle_id: Option<Reference>,
    /// The vehicle in the caller's words.
    #[schema(max_length = 200)]
    vehicle: Option<String>,
    /// The outcome they want.
    #[schema(max_length = 2000)]
    wish: String,
    /// The day by which they want it.
    wanted_by: Option<Day>,
    /// What the desk wants to remember.
    #[schema(max_length = 4000)]
    notes: String,
    /// The quote that was made from it.
    quote_id: Option<Reference>,
    /// Why it was closed; null until it is.
    close_reason: Option<ReasonWord>,
    /// What the desk said to that.
    #[schema(max_length = 500)]
    close_note: Option<String>,
    /// When the record was made.
    created_at: Instant,
    /// When it last changed.
    updated_at: Instant,
}

crate::versioned!(EnquiryView);

impl From<Enquiry> for EnquiryView {
    fn from(enquiry: Enquiry) -> Self {
        let details = enquiry.details;
        let caller = |caller: Caller| CallerView {
            name: caller.name,
            email: caller.email,
            phone: caller.phone,
            may_mail: caller.may_mail,
            may_phone: caller.may_phone,
        };
        Self {
            id: Reference::from(&enquiry.id),
            version: enquiry.version,
            state: Word(enquiry.state),
            channel: Word(details.channel),
            customer_id: details.customer.as_ref().map(Reference::from),
            caller: details.caller.map(caller),
            vehicle_id: details.vehicle.as_ref().map(Reference::from),
            vehicle: Some(details.vehicle_words).filter(|words| !words.is_empty()),
            wish: details.wish,
            wanted_by: details.wanted_by.map(Day),
            notes: details.notes,
            quote_id: enquiry.quote.as_ref().map(Reference::from),
            close_reason: enquiry.close_reason.map(Word),
            close_note: enquiry.close_note,
            created_at: Instant(enquiry.created_at),
            updated_at: Instant(enquiry.updated_at),
        }
    }
}
