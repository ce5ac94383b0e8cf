//! Details of an enquiry, as the use cases read them.

use baywright_domain::country::Country;
use baywright_domain::customer::Traits;
use baywright_domain::enquiry::{Asker, Channel, CloseReason, EnquiryState};
use baywright_domain::id::{CustomerId, EnquiryId, QuoteId, VehicleId};
use baywright_domain::search::Words;
use chrono::NaiveDate;

use crate::platform::clock::UtcTime;
use crate::platform::phone;
use crate::search::usecase::Hit;

/// Details of an enquiry that the desk enters.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Details {
    /// Channel by which the enquiry came.
    pub channel: Channel,
    /// Id of the customer; `None` if the caller is not a customer yet.
    pub customer: Option<CustomerId>,
    /// Contact details that the caller gave.
    pub caller: Option<Caller>,
    /// The vehicle, if it is known.
    pub vehicle: Option<VehicleId>,
    /// The vehicle in the caller's words.
    pub vehicle_words: String,
    /// Outcome that the caller wants.
    pub wish: String,
    /// Date by which the caller wants the work done.
    pub wanted_by: Option<NaiveDate>,
    /// Notes of the desk.
    pub notes: String,
}

/// A caller, who need not be a customer yet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Caller {
    /// Name of the caller.
    pub name: String,
    /// Email address of the caller.
    pub email: Option<String>,
    /// Their telephone number as typed.
    pub phone: Option<String>,
    /// Whether they agreed to be written to about the job.
    pub may_mail: bool,
    /// Whether they agreed to be called about the job.
    pub may_phone: bool,
}

/// An enquiry in its current state.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Enquiry {
    /// Its id.
    pub id: EnquiryId,
    /// Version, which every change raises by one.
    pub version: i64,
    /// State of the enquiry.
    pub state: EnquiryState,
    /// Details that were entered.
    pub details: Details,
    /// The quote that was made from it.
    pub quote: Option<QuoteId>,
    /// Reason why it was closed.
    pub close_reason: Option<CloseReason>,
    /// Explanation of the reason for closing.
    pub close_note: Option<String>,
    /// Time when the record was made.
    pub created_at: UtcTime,
    /// Time when it last changed.
    pub updated_at: UtcTime,
}

impl Caller {
    /// The details that identify the caller; a telephone number without a country's code is of `country`.
    pub(super) fn traits(&self, country: Option<Country>) -> Traits {
        Traits {
            reference: None,
            name: self.name.clone(),
            emails: self.email.iter().cloned().collect(),
            phones: self.phone.iter().map(|typed| phone::key(typed, country)).collect(),
        }
    }
}

impl Details {
    /// The facts that the rules check.
    pub(super) fn asker(&self) -> Asker {
        let caller = self.caller.as_ref();
        Asker {
            known: self.customer.is_some(),
            named: caller.is_some(),
            mail: caller.is_some_and(|caller| caller.email.is_some()),
            phone: caller.is_some_and(|caller| caller.phone.is_some()),
            may_mail: caller.is_some_and(|caller| caller.may_mail),
            may_phone: caller.is_some_and(|caller| caller.may_phone),
        }
    }
}

impl Enquiry {
    /// Words by which a caller who is not a customer yet is found; an enquiry of a customer needs none, since the
    /// customer is found. A telephone number without a country's code is of `country`.
    pub(super) fn found_as(&self, country: Option<Country>) -> Option<(Hit, Words)> {
        let caller = self.details.caller.as_ref().filter(|_| self.details.customer.is_none())?;
        let mut words = Words::new().text(&caller.name).text(&self.details.vehicle_words);
        words = caller.email.iter().fold(words, |words, address| words.mail(address));
        words =
            caller.phone.iter().fold(words, |words, typed| words.phone(typed, phone::parse(typed, country).as_ref()));
        let detail = caller.phone.as_ref().or(caller.email.as_ref()).cloned().unwrap_or_default();
        let hit = Hit { kind: "enquiry".to_owned(), id: self.id.to_string(), title: caller.name.clone(), detail };
        Some((hit, words))
    }
}
