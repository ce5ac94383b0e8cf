//! What requests say of an enquiry.

use baywright_domain::customer::CustomerKind;
use baywright_domain::enquiry::{Channel, CloseReason};
use baywright_domain::id::{CustomerId, QuoteId, VehicleId};
use serde::Deserialize;
use utoipa::ToSchema;

use super::{ChannelWord, KindWord, ReasonWord};
use crate::enquiry::usecase::{Caller, Details};
use crate::platform::problem::Problem;
use crate::platform::wire::{Day, Email, Line, Phone, Reference, Text, Word};

/// Somebody who asks and need not be a customer yet.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CallerBody {
    /// Their name.
    #[schema(example = "Niamh Keane")]
    name: Line<200>,
    /// Their mail address; this or a telephone number is needed, unless the customer is known.
    #[serde(default)]
    email: Option<Email>,
    /// Their telephone number.
    #[serde(default)]
    #[schema(example = "+353 20 910 0042")]
    phone: Option<Phone>,
    /// Whether they agreed to be written to about the job.
    #[serde(default)]
    may_mail: bool,
    /// Whether they agreed to be called about the job.
    #[serde(default)]
    #[schema(example = true)]
    may_phone: bool,
}

/// What is taken down of a first call.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct EnquiryBody {
    /// How somebody asked; `PHONE` where not said.
    #[serde(default = "phone")]
    #[schema(required = false)]
    channel: ChannelWord,
    /// The customer, where they are one.
    #[serde(default)]
    customer_id: Option<Reference>,
    /// What the one who asks says of themselves; needed where no customer is named.
    #[serde(default)]
    #[schema(example = json!({ "name": "Niamh Keane", "phone": "+353 20 910 0042", "may_phone": true }))]
    caller: Option<CallerBody>,
    /// The vehicle, where the customer's is known.
    #[serde(default)]
    vehicle_id: Option<Reference>,
    /// The vehicle in the caller's words.
    #[serde(default)]
    #[schema(example = "dark blue estate, four years old")]
    vehicle: Option<Line<200>>,
    /// The outcome they want.
    #[schema(example = "swirl marks out before it is sold")]
    wish: Text<2000>,
    /// The day by which they want it.
    #[serde(default)]
    wanted_by: Option<Day>,
    /// What the desk wants to remember.
    #[serde(default)]
    notes: Text<4000>,
}

fn phone() -> ChannelWord {
    Word(Channel::Phone)
}

impl EnquiryBody {
    /// Checks what single values can't, and gives what was taken down.
    pub(super) fn checked(self) -> Result<Details, Problem> {
        if self.wish.as_str().is_empty() {
            return Err(Problem::field("/wish", "empty", "Write what the caller wants."));
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

/// What kind of customer a caller becomes.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AddCustomerBody {
    /// Who they are to the tax office; `PRIVATE` where not said.
    #[serde(default = "private")]
    #[schema(required = false)]
    kind: KindWord,
}

fn private() -> KindWord {
    Word(CustomerKind::Private)
}

impl AddCustomerBody {
    /// The kind.
    pub(super) fn kind(&self) -> CustomerKind {
        self.kind.0
    }
}

/// The quote that was made.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct QuotedBody {
    /// The quote, of the one who asked.
    quote_id: Reference,
}

impl QuotedBody {
    /// The quote.
    pub(super) fn quote(self) -> QuoteId {
        QuoteId::new(self.quote_id.into_string())
    }
}

/// Why an enquiry is closed.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CloseBody {
    /// The reason.
    reason: ReasonWord,
    /// More to that, in at most 500 characters; needed where the reason is `OTHER`.
    #[serde(default)]
    #[schema(example = "sells the car instead")]
    note: Option<Text<500>>,
}

impl CloseBody {
    /// The reason and the note, which may be empty.
    pub(super) fn said(self) -> (CloseReason, String) {
        (self.reason.0, self.note.map(String::from).unwrap_or_default())
    }
}
