//! Bodies of requests about quotes.

use baywright_core::quote::usecase::{ByMail, NotedYes};
use baywright_domain::quote::RevisionState;
use baywright_domain::signoff::Method;
use serde::Deserialize;
use utoipa::{IntoParams, ToSchema};

use super::draft::QuoteDraftBody;
use crate::platform::wire::{Email, Line, Reference, Text, Words, at_most};

/// New quote for a vehicle.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct QuoteBody {
    /// Id of the vehicle that the quote is for; its owner is the customer.
    pub(super) vehicle_id: Reference,
    /// Content from which the quote is made.
    pub(super) draft: QuoteDraftBody,
}

/// Draft to be priced.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct QuotePriceBody {
    /// Id of the vehicle that the quote is for.
    pub(super) vehicle_id: Reference,
    /// Content from which the quote would be made.
    pub(super) draft: QuoteDraftBody,
    /// Indexes of optional lines to include, from 0.
    #[serde(default, deserialize_with = "at_most::<60, _, _>")]
    #[schema(max_items = 60, required = false)]
    pub(super) choices: Vec<LineIndex>,
}

/// Index of a line in its quote, from 0.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ToSchema)]
#[schema(minimum = 0, maximum = 59)]
pub struct LineIndex(u32);

impl<'de> Deserialize<'de> for LineIndex {
    fn deserialize<D: serde::Deserializer<'de>>(reader: D) -> Result<Self, D::Error> {
        crate::platform::wire::whole::<0, 59, D>(reader).map(Self)
    }
}

/// The indexes for the rules.
pub(super) fn indexes(list: &[LineIndex]) -> Vec<usize> {
    list.iter().map(|index| usize::try_from(index.0).unwrap_or(usize::MAX)).collect()
}

/// Options for sending a quote.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct QuoteSendBody {
    /// Whether the quote is sent by mail; true if left out. If false, only its state changes and links are created
    /// separately.
    #[serde(default = "yes")]
    #[schema(required = false)]
    pub(super) by_mail: bool,
    /// Email address to send to instead of the customer's main one; null or left out for the main one.
    #[serde(default)]
    pub(super) email: Option<Email>,
    /// Personal message in the mail; empty for none.
    #[serde(default)]
    #[schema(required = false)]
    pub(super) message: Text<2000>,
}

/// Options for sending a quote again.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct QuoteSendAgainBody {
    /// Email address to send to instead of the customer's main one; null or left out for the main one.
    #[serde(default)]
    email: Option<Email>,
    /// Personal message in the mail; empty for none.
    #[serde(default)]
    #[schema(required = false)]
    message: Text<2000>,
}

impl QuoteSendAgainBody {
    /// The value for the use case.
    pub(super) fn into_mail(self) -> ByMail {
        ByMail { email: self.email.map(String::from), message: self.message.into_string() }
    }
}

fn yes() -> bool {
    true
}

impl QuoteSendBody {
    /// The values for the use cases.
    pub(crate) fn into_mail(self) -> Option<ByMail> {
        let mail = ByMail { email: self.email.map(String::from), message: self.message.into_string() };
        self.by_mail.then_some(mail)
    }
}

impl QuoteReasonBody {
    /// The values for the use cases.
    pub(crate) fn into_reason(self) -> String {
        self.reason.into_string()
    }
}

impl QuoteLinkBody {
    /// Method and recipient of the link.
    pub(crate) fn into_way(self) -> (Method, String) {
        let method = match self.method {
            LinkMethod::Link => Method::Link,
            LinkMethod::InPerson => Method::InPerson,
        };
        (method, self.contact.map(String::from).unwrap_or_default())
    }
}

impl QuoteSignOffBody {
    /// The values for the use cases.
    pub(crate) fn into_yes(self) -> NotedYes {
        NotedYes {
            digest: self.digest.into_string(),
            name: self.name.into_string(),
            agreed: self.agreed,
            ticked: indexes(&self.choices),
            early_start: self.early_start,
        }
    }
}

/// Reason for withdrawing or declining a quote.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct QuoteReasonBody {
    /// Reason for withdrawing or declining; may be empty.
    #[serde(default)]
    #[schema(required = false)]
    pub(super) reason: Text<1000>,
}

/// Link to be created.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct QuoteLinkBody {
    /// Kind of link: `LINK` to be sent by another way than mail, `IN_PERSON` for signing on the studio's device.
    pub(super) method: LinkMethod,
    /// Recipient of the link, such as a telephone number; needed for a `LINK`, else null or left out.
    #[serde(default)]
    pub(super) contact: Option<Line<200>>,
}

/// Kind of link for the customer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, ToSchema)]
#[serde(rename_all = "SCREAMING_SNAKE_CASE")]
pub enum LinkMethod {
    /// Link to be sent by another way than mail.
    Link,
    /// Link for signing on the studio's device.
    InPerson,
}

/// Acceptance that was given by phone.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct QuoteSignOffBody {
    /// Digest of the document that was read out, as shown by the quote.
    #[schema(min_length = 64, max_length = 64)]
    pub(super) digest: Line<64>,
    /// Name of the person who accepted.
    pub(super) name: Line<200>,
    /// Whether the consent was read out and the customer agreed to it.
    pub(super) agreed: bool,
    /// Indexes of the optional lines that the customer chose, from 0.
    #[serde(default, deserialize_with = "at_most::<60, _, _>")]
    #[schema(max_items = 60, required = false)]
    pub(super) choices: Vec<LineIndex>,
    /// Whether work may start within the 14 days in which the customer can withdraw; required if the quote asks, else
    /// null or left out.
    #[serde(default)]
    pub(super) early_start: Option<bool>,
}

/// Agreement of the customer to an earlier start.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct QuoteEarlyStartBody {
    /// Whether the question on the quote was read to the customer and they agreed that work may start within the 14
    /// days.
    #[schema(example = true)]
    pub(super) agreed: bool,
}

type StateWords = Words<RevisionState>;

/// Conditions for the list of quotes.
#[derive(Debug, Clone, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct QuoteFilter {
    /// Limits the list to quotes whose latest revision is in one of these states.
    #[serde(default)]
    #[param(inline, style = Form, explode = false, required = false)]
    pub(super) state: StateWords,
    /// Limits the list to quotes of the customer with this id.
    #[param(nullable = false)]
    pub(super) customer_id: Option<Reference>,
    /// Limits the list to quotes for the vehicle with this id.
    #[param(nullable = false)]
    pub(super) vehicle_id: Option<Reference>,
}
