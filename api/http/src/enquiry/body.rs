//! Bodies of requests about enquiries.

use baywright_core::enquiry::usecase::{Caller, Details};
use baywright_core::platform::refusal::Refused;
use baywright_domain::customer::CustomerKind;
use baywright_domain::enquiry::{Channel, CloseReason};
use baywright_domain::id::{CustomerId, QuoteId, VehicleId};
use serde::Deserialize;
use utoipa::ToSchema;

use super::{ChannelWord, KindWord, ReasonWord};
use crate::platform::wire::{Day, Email, Line, Phone, Reference, Text, Word};

/// Caller who may not be a customer yet.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CallerBody {
    /// Name of the caller.
    #[schema(example = "Niamh Keane")]
    name: Line<200>,
    /// Email address of the caller; null or left out if unknown. Either this or a telephone number is needed, unless
    /// the customer is known.
    #[serde(default)]
    email: Option<Email>,
    /// Telephone number of the caller; null or left out if unknown.
    #[serde(default)]
    #[schema(example = "+353 20 910 0042")]
    phone: Option<Phone>,
    /// Whether the caller agreed to receive mails about the job.
    #[serde(default)]
    may_mail: bool,
    /// Whether the caller agreed to be called about the job.
    #[serde(default)]
    #[schema(example = true)]
    may_phone: bool,
}

/// Details of an enquiry.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct EnquiryBody {
    /// Channel by which the enquiry came; `PHONE` if left out.
    #[serde(default = "phone")]
    #[schema(required = false)]
    channel: ChannelWord,
    /// Id of the customer; null or left out if the caller is not a customer yet.
    #[serde(default)]
    customer_id: Option<Reference>,
    /// Contact details that the caller gave; needed if no customer is named, else null or left out.
    #[serde(default)]
    #[schema(example = json!({ "name": "Niamh Keane", "phone": "+353 20 910 0042", "may_phone": true }))]
    caller: Option<CallerBody>,
    /// Id of the customer's vehicle; null or left out if it is not on record.
    #[serde(default)]
    vehicle_id: Option<Reference>,
    /// Description of the vehicle in the caller's words; null or left out if none was given.
    #[serde(default)]
    #[schema(example = "dark blue estate, four years old")]
    vehicle: Option<Line<200>>,
    /// Outcome that the caller wants.
    #[schema(example = "swirl marks out before it is sold")]
    wish: Text<2000>,
    /// Date by which the caller wants the work done, in the shop's time zone; null or left out if open.
    #[serde(default)]
    wanted_by: Option<Day>,
    /// Notes of the desk about the enquiry.
    #[serde(default)]
    notes: Text<4000>,
}

fn phone() -> ChannelWord {
    Word(Channel::Phone)
}

impl EnquiryBody {
    /// Checks rules that concern several values, and returns the details.
    pub(super) fn checked(self) -> Result<Details, Refused> {
        if self.wish.as_str().is_empty() {
            return Err(Refused::field("/wish", "empty", "Write what the caller wants."));
        }
        Ok(Details {
            channel: self.channel.0,
            customer: self.customer_id.map(|id| CustomerId::new(id.into_string())),
            caller: self.caller.map(|caller| Caller {
                name: caller.name.into(),
                email: caller.email.map(String::from),
                phone: caller.phone.map(String::from),
                may_mail: caller.may_mail,
                may_phone: caller.may_phone,
            }),
            vehicle: self.vehicle_id.map(|id| VehicleId::new(id.into_string())),
            vehicle_words: self.vehicle.map(String::from).unwrap_or_default(),
            wish: self.wish.into(),
            wanted_by: self.wanted_by.map(|day| day.0),
            notes: self.notes.into(),
        })
    }
}

/// Kind of customer that the caller becomes.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AddCustomerBody {
    /// Kind of customer for tax: `PRIVATE` or `TRADE`; `PRIVATE` if left out.
    #[serde(default = "private")]
    #[schema(required = false)]
    kind: KindWord,
}

fn private() -> KindWord {
    Word(CustomerKind::Private)
}

impl AddCustomerBody {
    /// Returns the kind.
    pub(super) fn kind(&self) -> CustomerKind {
        self.kind.0
    }
}

/// Quote that was made from the enquiry.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct QuotedBody {
    /// Id of the quote, which must be one of the caller's.
    quote_id: Reference,
}

impl QuotedBody {
    /// Returns the quote's id.
    pub(super) fn quote(self) -> QuoteId {
        QuoteId::new(self.quote_id.into_string())
    }
}

/// Reason for closing an enquiry.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CloseBody {
    /// Reason for closing the enquiry.
    reason: ReasonWord,
    /// Explanation of the reason, at most 500 characters; needed if the reason is `OTHER`, else null or left out for
    /// none.
    #[serde(default)]
    #[schema(example = "sells the car instead")]
    note: Option<Text<500>>,
}

impl CloseBody {
    /// Returns the reason and the note, which may be empty.
    pub(super) fn said(self) -> (CloseReason, String) {
        (self.reason.0, self.note.map(String::from).unwrap_or_default())
    }
}
