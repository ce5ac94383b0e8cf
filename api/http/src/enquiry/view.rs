//! Views of an enquiry.

use baywright_core::enquiry::usecase::{Caller, Enquiry};
use serde::Serialize;
use utoipa::ToSchema;

use super::{ChannelWord, ReasonWord, StateWord};
use crate::platform::wire::{Day, Instant, Reference, Word};

/// Contact details that the caller gave.
#[derive(Debug, Serialize, ToSchema)]
pub struct CallerView {
    /// Name of the caller.
    #[schema(max_length = 200)]
    name: String,
    /// Email address of the caller; null if unknown.
    #[schema(max_length = 254)]
    email: Option<String>,
    /// Telephone number of the caller; null if unknown.
    #[schema(max_length = 60)]
    phone: Option<String>,
    /// Whether the caller agreed to receive mails about the job.
    may_mail: bool,
    /// Whether the caller agreed to be called about the job.
    may_phone: bool,
}

/// Enquiry: the first contact about a job.
#[derive(Debug, Serialize, ToSchema)]
pub struct EnquiryView {
    /// Id of the enquiry.
    id: Reference,
    /// Version of the record, which every change raises by one; the same number as in the ETag.
    #[schema(minimum = 1)]
    version: i64,
    /// State of the enquiry: open, quoted or closed.
    state: StateWord,
    /// Channel by which the enquiry came.
    channel: ChannelWord,
    /// Id of the customer; null if the caller is not a customer yet.
    customer_id: Option<Reference>,
    /// Contact details that the caller gave; null if none were given.
    caller: Option<CallerView>,
    /// Id of the vehicle; null if it is not on record.
    vehicle_id: Option<Reference>,
    /// Description of the vehicle in the caller's words; null if none was given.
    #[schema(max_length = 200)]
    vehicle: Option<String>,
    /// Outcome that the caller wants.
    #[schema(max_length = 2000)]
    wish: String,
    /// Date by which the caller wants the work done, in the shop's time zone; null if open.
    wanted_by: Option<Day>,
    /// Notes of the desk about the enquiry.
    #[schema(max_length = 4000)]
    notes: String,
    /// Id of the quote made from the enquiry; null before.
    quote_id: Option<Reference>,
    /// Reason for closing the enquiry; null while it is not closed.
    close_reason: Option<ReasonWord>,
    /// Explanation of the reason for closing; null if none was given.
    #[schema(max_length = 500)]
    close_note: Option<String>,
    /// Time when the record was created, RFC 3339 in UTC.
    created_at: Instant,
    /// Time of the last change, RFC 3339 in UTC.
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
