//! What requests about quotes bring.

use baywright_domain::quote::RevisionState;
use baywright_domain::signoff::Method;
use serde::Deserialize;
use utoipa::{IntoParams, ToSchema};

use crate::platform::wire::{Email, Line, Reference, Text, Word, Words, at_most};
use crate::quote::form::QuoteDraft;
use crate::quote::usecase::{ByMail, NotedYes};

crate::wire_words! {
    RevisionState => "QuoteState",
    Method => "SignoffMethod",
}

/// A state as its word.
pub(super) type StateWord = Word<RevisionState>;
/// A way of signing as its word.
pub(super) type MethodWord = Word<Method>;

/// A new quote.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct QuoteBody {
    /// The vehicle it is for; its owner is the customer.
    pub(super) vehicle_id: Reference,
    /// What is offered.
    pub(super) draft: QuoteDraft,
}

/// A draft to be priced.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct QuotePriceBody {
    /// The vehicle it is for.
    pub(super) vehicle_id: Reference,
    /// What would be offered.
    pub(super) draft: QuoteDraft,
    /// Optional lines to be counted in, by place from 0.
    #[serde(default, deserialize_with = "at_most::<60, _, _>")]
    #[schema(max_items = 60, required = false)]
    pub(super) choices: Vec<Place>,
}

/// The place of a line in its quote, from 0.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ToSchema)]
#[schema(minimum = 0, maximum = 59)]
pub struct Place(u32);

impl<'de> Deserialize<'de> for Place {
    fn deserialize<D: serde::Deserializer<'de>>(reader: D) -> Result<Self, D::Error> {
        crate::platform::wire::whole::<0, 59, D>(reader).map(Self)
    }
}

/// The places as the rules take them.
pub(super) fn places(list: &[Place]) -> Vec<usize> {
    list.iter().map(|place| usize::try_from(place.0).unwrap_or(usize::MAX)).collect()
}

/// How a quote is sent.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct QuoteSendBody {
    /// Whether it goes out by mail; else only its state changes and a link is made by hand.
    #[serde(default = "yes")]
    #[schema(required = false)]
    pub(super) by_mail: bool,
    /// Another address than the customer's main one.
    #[serde(default)]
    pub(super) email: Option<Email>,
    /// What is said beside it.
    #[serde(default)]
    #[schema(required = false)]
    pub(super) message: Text<2000>,
}

/// How a quote is sent once more.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct QuoteSendAgainBody {
    /// Another address than the customer's main one.
    #[serde(default)]
    email: Option<Email>,
    /// What is said beside it.
    #[serde(default)]
    #[schema(required = false)]
    message: Text<2000>,
}

impl QuoteSendAgainBody {
    /// As the use case takes it.
    pub(super) fn into_mail(self) -> ByMail {
        ByMail { email: self.email.map(String::from), message: self.message.into_string() }
    }
}

fn yes() -> bool {
    true
}

impl QuoteSendBody {
    /// As the use cases take it.
    pub(crate) fn into_mail(self) -> Option<ByMail> {
        let mail = ByMail { email: self.email.map(String::from), message: self.message.into_string() };
        self.by_mail.then_some(mail)
    }
}

impl QuoteReasonBody {
    /// As the use cases take it.
    pub(crate) fn into_reason(self) -> String {
        self.reason.into_string()
    }
}

impl QuoteLinkBody {
    /// How the link reaches the customer, and where.
    pub(crate) fn into_way(self) -> (Method, String) {
        let method = match self.method {
            LinkMethod::Link => Method::Link,
            LinkMethod::InPerson => Method::InPerson,
        };
        (method, self.contact.map(String::from).unwrap_or_default())
    }
}

impl QuoteSignOffBody {
    /// As the use cases take it.
    pub(crate) fn into_yes(self) -> NotedYes {
        NotedYes {
            digest: self.digest.into_string(),
            name: self.name.into_string(),
            agreed: self.agreed,
            ticked: places(&self.choices),
            early_start: self.early_start,
        }
    }
}

/// Why a quote is taken back or turned down.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct QuoteReasonBody {
    /// The reason; may be empty.
    #[serde(default)]
    #[schema(required = false)]
    pub(super) reason: Text<1000>,
}

/// A link to be made.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct QuoteLinkBody {
    /// LINK for one that is sent by another way than mail, IN_PERSON for signing on the studio's device.
    pub(super) method: LinkMethod,
    /// To whom a LINK goes, such as a telephone number.
    #[serde(default)]
    pub(super) contact: Option<Line<200>>,
}

/// How a link reaches the customer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, ToSchema)]
#[serde(rename_all = "SCREAMING_SNAKE_CASE")]
pub enum LinkMethod {
    /// Sent by another way than mail.
    Link,
    /// On the studio's device, which is handed over.
    InPerson,
}

/// A yes that was given by phone.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct QuoteSignOffBody {
    /// Digest of the document that was read out, as the quote shows it.
    #[schema(min_length = 64, max_length = 64)]
    pub(super) digest: Line<64>,
    /// The name of whoever said yes.
    pub(super) name: Line<200>,
    /// Whether the consent was read out and the customer agreed to it.
    pub(super) agreed: bool,
    /// Optional lines that the customer takes, by place from 0.
    #[serde(default, deserialize_with = "at_most::<60, _, _>")]
    #[schema(max_items = 60, required = false)]
    pub(super) choices: Vec<Place>,
    /// Whether work may start within the 14 days in which the customer can withdraw; required if the quote asks.
    #[serde(default)]
    pub(super) early_start: Option<bool>,
}

/// The customer's agreement to an earlier start.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct QuoteEarlyStartBody {
    /// Whether the question on the quote was read to the customer and they said that work may start within the 14 days.
    #[schema(example = true)]
    pub(super) agreed: bool,
}

type StateWords = Words<RevisionState>;

/// Which quotes a list holds.
#[derive(Debug, Clone, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct QuoteFilter {
    /// Only those whose latest revision is in one of these states.
    #[serde(default)]
    #[param(inline, style = Form, explode = false, required = false)]
    pub(super) state: StateWords,
    /// Only those of one customer.
    #[param(nullable = false)]
    pub(super) customer_id: Option<Reference>,
    /// Only those for one vehicle.
    #[param(nullable = false)]
    pub(super) vehicle_id: Option<Reference>,
}
