//! Terms of money over HTTP.

use actix_web::{get, put};
use baywright_core::platform::clock::UtcTime;
use baywright_core::platform::faults::Faults;
use baywright_core::platform::identity::{Accounts, Owner};
use baywright_core::platform::refusal::Refused;
use baywright_core::shop::usecase::{self, MoneyTerms};
use baywright_domain::invoice::{DepositAfterCancellation, DepositAsked};
use baywright_domain::series::Prefix;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::platform::answer::{Answer, item};
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::etag::{IfMatch, IfNoneMatch};
use crate::platform::wire::{Instant, SeriesPrefix, Whole, Word};

/// A time to ask for deposits as it is sent over HTTP.
type AskedWord = Word<DepositAsked>;
/// A treatment of deposits as it is sent over HTTP.
type CalledOffWord = Word<DepositAfterCancellation>;

/// Terms of money: numbers of documents, and deposits.
#[derive(Debug, Clone, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "deposit_prefix": "DEP", "credit_prefix": "CRN", "refund_prefix": "RFD", "deposit_days": 7,
    "deposit_asked": "AT_BOOKING", "deposit_called_off": "GIVE_BACK"
}))]
pub struct MoneyTermsBody {
    /// Prefix of the numbers of deposit invoices, which no other kind of document has or had.
    deposit_prefix: SeriesPrefix,
    /// Prefix of the numbers of credit notes, which no other kind of document has or had.
    credit_prefix: SeriesPrefix,
    /// Prefix of the numbers of receipts of refunds, which no other kind of document has or had.
    refund_prefix: SeriesPrefix,
    /// Number of days from asking for a deposit to its due date.
    deposit_days: Whole<0, 365>,
    /// Time at which the agreed deposit of a quote is asked for: by hand, at signing or at booking.
    deposit_asked: AskedWord,
    /// Treatment of a paid deposit when the customer calls the job off: given back, kept as a price with its tax, or kept
    /// as compensation without tax. Which of them applies is for the shop and its adviser to decide.
    deposit_called_off: CalledOffWord,
}

/// Terms of money of a shop.
#[derive(Debug, Serialize, ToSchema)]
pub struct MoneyTermsView {
    /// Version of the record, which every change raises by one; the same number as in the ETag.
    #[schema(minimum = 1)]
    version: i64,
    /// Terms of money: numbers of documents, and deposits.
    #[serde(flatten)]
    terms: MoneyTermsBody,
    /// Time of the last change, RFC 3339 in UTC.
    updated_at: Instant,
}

crate::versioned!(MoneyTermsView);

impl MoneyTermsBody {
    fn terms(&self) -> Result<MoneyTerms, Refused> {
        let mut faults = Faults::default();
        let terms = self.read(&mut faults);
        faults.all_or(terms)
    }

    fn read(&self, faults: &mut Faults) -> Option<MoneyTerms> {
        let mut prefix = |text: &SeriesPrefix, pointer: &str| {
            let read = Prefix::parse(text.as_str());
            faults.note(read.map_err(|error| Refused::field(pointer, "bad_prefix", format!("{error}."))))
        };
        let deposit = prefix(&self.deposit_prefix, "/deposit_prefix");
        let credit = prefix(&self.credit_prefix, "/credit_prefix");
        let refund = prefix(&self.refund_prefix, "/refund_prefix");
        Some(MoneyTerms {
            deposit_prefix: deposit?,
            credit_prefix: credit?,
            refund_prefix: refund?,
            deposit_days: u16::try_from(self.deposit_days.get()).unwrap_or(u16::MAX),
            deposit_asked: self.deposit_asked.0,
            deposit_called_off: self.deposit_called_off.0,
            version: 0,
        })
    }
}

fn view((terms, updated_at): (MoneyTerms, UtcTime)) -> MoneyTermsView {
    MoneyTermsView {
        version: terms.version,
        terms: MoneyTermsBody {
            deposit_prefix: SeriesPrefix::from(&terms.deposit_prefix),
            credit_prefix: SeriesPrefix::from(&terms.credit_prefix),
            refund_prefix: SeriesPrefix::from(&terms.refund_prefix),
            deposit_days: Whole::of(terms.deposit_days),
            deposit_asked: Word(terms.deposit_asked),
            deposit_called_off: Word(terms.deposit_called_off),
        },
        updated_at: Instant(updated_at),
    }
}

/// Read the terms of money.
///
/// Returns the prefixes of deposit invoices, credit notes and receipts, and how deposits are handled. The prefixes of
/// quotes and invoices are part of the shop's terms.
#[utoipa::path(tag = "shop",
    responses((status = 200, description = "Terms of money of the shop.", body = MoneyTermsView),
        (status = 304, description = "The record is unchanged since the version in If-None-Match.")))]
#[get("/v1/money-terms")]
pub(super) async fn show(call: Call<Accounts>, known: IfNoneMatch) -> Answer {
    let terms = call.read(|tx| Ok(view(usecase::show_money_terms(tx)?))).await?;
    Ok(item(&terms, &known))
}

/// Replace the terms of money.
///
/// A new prefix starts a new series; documents that were issued keep their numbers.
#[utoipa::path(tag = "shop", request_body = MoneyTermsBody, extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "Terms of money after the change.", body = MoneyTermsView)))]
#[put("/v1/money-terms")]
pub(super) async fn replace(call: Call<Owner>, IfMatch(seen): IfMatch, body: Body<MoneyTermsBody>) -> Answer {
    let terms = body.value.terms()?;
    call.change(move |tx| Ok(view(usecase::replace_money_terms(tx, seen, &terms)?))).await
}
