//! Settings of a shop, as every other feature reads them, and the defaults of a new shop.
//!
//! The defaults are in this file and nowhere else. They are common practice without a published source unless a line
//! says otherwise; each is a starting point that the shop changes in its own settings.

use baywright_domain::calendar::{Zone, ZoneRules};
use baywright_domain::country::Country;
use baywright_domain::customer::{CustomerKind, KEEP_YEARS};
use baywright_domain::document::Prices;
use baywright_domain::id::TaxCategoryId;
use baywright_domain::invoice::{DepositAfterCancellation, DepositAsked, DepositSize};
use baywright_domain::learning::Policy;
use baywright_domain::menu::{ChangeoverRates, Code, Factors};
use baywright_domain::money::{Currency, Money};
use baywright_domain::pricing::PriceDetail;
use baywright_domain::reminder::Schedule;
use baywright_domain::schedule::ClockStep;
use baywright_domain::schedule::stays::Moving;
use baywright_domain::series::{Prefix, SeriesKind};
use baywright_domain::tax::{self, RateTable};
use baywright_domain::time::{Minute, Minutes};

/// All settings of a shop.
#[derive(Debug, Clone)]
pub struct Settings {
    /// Profile of the shop.
    pub profile: Profile,
    /// The one currency of its documents; it never changes.
    pub currency: Currency,
    /// Its time zone.
    pub zone: Zone,
    /// Terms on which it deals with its customers.
    pub terms: Terms,
    /// Rates of the shop.
    pub rates: Rates,
    /// Its taxes, by code.
    pub taxes: Vec<TaxCategory>,
}

impl Settings {
    /// Whether prices for such a customer are with or without tax.
    pub fn prices(&self, kind: CustomerKind) -> Prices {
        match kind {
            CustomerKind::Private => self.rates.private_prices,
            CustomerKind::Trade => self.rates.trade_prices,
        }
    }

    /// A time in the shop's time zone: `Tue 3 March 2026, 09:30`.
    pub fn wall(&self, at: Minute) -> String {
        self.zone.wall(at)
    }

    /// The tax with that code.
    pub fn tax(&self, code: &Code) -> Option<&TaxCategory> {
        self.taxes.iter().find(|tax| tax.code == *code)
    }

    /// The tax of a new service, unless another is given.
    pub fn usual_tax(&self) -> Option<&TaxCategory> {
        self.taxes.iter().find(|tax| tax.usual)
    }
}

/// Profile of the shop, as its documents state it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Profile {
    /// The trading name.
    pub name: String,
    /// Legal name, for invoices.
    pub legal_name: String,
    /// Address of the shop.
    pub address: Address,
    /// Email address of the shop, which also receives replies to its mails.
    pub email: Option<String>,
    /// Its telephone number.
    pub phone: Option<String>,
    /// Its VAT identifier.
    pub vat_id: Option<String>,
    /// Company registration number.
    pub company_number: Option<String>,
    /// The account that customers pay to (ISO 13616).
    pub iban: Option<String>,
}

/// A postal address; parts may be missing.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Address {
    /// Street and number.
    pub street: Option<String>,
    /// Postal code.
    pub postcode: Option<String>,
    /// Town.
    pub city: Option<String>,
    /// Country.
    pub country: Option<Country>,
}

impl Address {
    /// Street and town as documents and letters write them, a line each, as far as they are known.
    pub fn lines(&self) -> Vec<String> {
        let town = [self.postcode.as_deref(), self.city.as_deref()].into_iter().flatten().collect::<Vec<_>>().join(" ");
        self.street.iter().cloned().chain(Some(town).filter(|town| !town.is_empty())).collect()
    }
}

/// Terms on which the shop deals with its customers.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Terms {
    /// Days for which a quote is valid after it is sent.
    pub quote_days: u16,
    /// Minutes after which a hold on a bay lapses.
    pub hold: Minutes,
    /// Minutes from one possible start of a booking to the next.
    pub slot: Minutes,
    /// The deposit asked for, if any.
    pub deposit: Option<DepositSize>,
    /// Largest change of price for which a recorded phone call is enough to agree a variation; `None` if every
    /// variation needs a signature.
    pub call_tolerance: Option<Money>,
    /// Days from issue to the due date of an invoice.
    pub payment_days: u16,
    /// The prefix of the numbers of quotes.
    pub quote_prefix: Prefix,
    /// The prefix of the numbers of invoices; another one starts another series at 1.
    pub invoice_prefix: Prefix,
    /// Days on which reminders are sent.
    pub reminders: Schedule,
    /// Years for which tax records of an erased customer are kept.
    pub keep_years: u8,
    /// Paint depth in micrometres below which sanding needs the owner's recorded decision. A gauge reads all coats
    /// together, so no number says that sanding is safe.
    pub paint_floor_um: u16,
    /// Maximum depth of paint that one job may remove, in micrometres.
    pub removal_budget_um: u16,
    /// Whether a consumer who signs at a distance is asked if work may start within the 14 days in which they can withdraw
    /// (Directive 2011/83/EU, article 8(8)).
    pub asks_express_wish: bool,
    /// Detail of price explanations for customers.
    pub price_detail: PriceDetail,
    /// Declaration of consent above the signature.
    pub consent: String,
    /// The conditions on each quote.
    pub conditions: String,
    /// Settings for learning from actual minutes, and the quantile of promises.
    pub learning: Policy,
    /// Step of the clock to which promised times are rounded up.
    pub promise_step: ClockStep,
    /// Period in which people can undo their moves without a reason.
    pub undo: Minutes,
    /// Number of bays that one car may be in, one after another, and minutes of a move.
    pub moving: Moving,
}

/// Terms of money beside [`Terms`]: numbers of further documents, and deposits.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MoneyTerms {
    /// The prefix of the numbers of deposit invoices.
    pub deposit_prefix: Prefix,
    /// The prefix of the numbers of credit notes.
    pub credit_prefix: Prefix,
    /// The prefix of the numbers of receipts of refunds.
    pub refund_prefix: Prefix,
    /// Days from asking for a deposit to its due date.
    pub deposit_days: u16,
    /// Time at which the agreed deposit of a quote is asked for.
    pub deposit_asked: DepositAsked,
    /// Treatment of a paid deposit when the customer calls the job off.
    pub deposit_called_off: DepositAfterCancellation,
    /// Version, which every change raises by one.
    pub version: i64,
}

impl MoneyTerms {
    /// Defaults of a new shop: a deposit is asked for by hand, is due after 7 days, and is given back when the job is
    /// called off.
    pub fn usual() -> Self {
        Self {
            deposit_prefix: Prefix::usual_for_deposits(),
            credit_prefix: Prefix::usual_for_credit_notes(),
            refund_prefix: Prefix::usual_for_refunds(),
            deposit_days: 7,
            deposit_asked: DepositAsked::ByHand,
            deposit_called_off: DepositAfterCancellation::GiveBack,
            version: 1,
        }
    }

    /// The prefixes with their kinds of documents.
    pub fn prefixes(&self) -> [(SeriesKind, &Prefix); 3] {
        [
            (SeriesKind::DepositInvoice, &self.deposit_prefix),
            (SeriesKind::CreditNote, &self.credit_prefix),
            (SeriesKind::RefundReceipt, &self.refund_prefix),
        ]
    }
}

/// Rates: prices of work, and factors for budgets.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Rates {
    /// Tax basis of prices for private customers.
    pub private_prices: Prices,
    /// Tax basis of prices for trade customers.
    pub trade_prices: Prices,
    /// Rounding of tax.
    pub tax_profile: tax::Profile,
    /// Size and condition factors, labour rate, price step.
    pub factors: Factors,
    /// Changeover minutes.
    pub changeovers: ChangeoverRates,
    /// Version of the rates, which every change raises by one.
    pub version: i64,
}

/// One tax of the shop, such as its standard or its reduced one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TaxCategory {
    /// Its id.
    pub id: TaxCategoryId,
    /// Code of the tax, by which services refer to it.
    pub code: Code,
    /// Name of the tax as people read it.
    pub name: String,
    /// Category of EN 16931-1, and rates with the dates from which they apply.
    pub table: RateTable,
    /// Reason why no tax is charged, if the category needs a reason.
    pub reason: Option<String>,
    /// Whether a new service takes it.
    pub usual: bool,
    /// Version, which every change raises by one.
    pub version: i64,
}

/// The labour rate of a new shop, in minor units: 60.00 EUR, 6,000 JPY, 6.000 KWD. No rate is usual everywhere, so this
/// is the first setting that a shop changes.
const LABOUR_RATE: Money = Money::from_minor(6_000);

const CONSENT: &str = "I accept the services chosen above at the price shown, the recorded damage and the conditions.";

const CONDITIONS: &str = "The price is for the work listed here and valid until the date shown.\n\
     Damage that we recorded before the work was not caused by it.\n\
     If we find that more or less needs doing, we ask you first. Nothing is added without your agreement.\n\
     Paint that is too thin or has been repaired may not allow a defect to be removed. We then stop and tell you.\n\
     Please take valuables and child seats out of the car before you hand it over.";

impl Terms {
    /// Defaults of a new shop: quotes are valid for 14 days, a hold for two hours, starts every 15 minutes, no deposit,
    /// every variation signed, payment within 14 days, 100 µm as the lower limit of paint depth and 5 µm to remove;
    /// learning and moves from bay to bay with the domain's own defaults.
    pub fn usual() -> Self {
        Self {
            quote_days: 14,
            hold: Minutes::new(120),
            slot: Minutes::new(15),
            deposit: None,
            call_tolerance: None,
            payment_days: 14,
            quote_prefix: Prefix::usual_for_quotes(),
            invoice_prefix: Prefix::usual_for_invoices(),
            reminders: Schedule::USUAL,
            keep_years: KEEP_YEARS,
            paint_floor_um: 100,
            removal_budget_um: 5,
            asks_express_wish: true,
            price_detail: PriceDetail::Summary,
            consent: CONSENT.to_owned(),
            conditions: CONDITIONS.to_owned(),
            learning: Policy::USUAL,
            promise_step: ClockStep::USUAL,
            undo: baywright_domain::undo::USUAL_FREE,
            moving: Moving::USUAL,
        }
    }
}

impl Rates {
    /// Defaults of a new shop: private customers see prices with tax, trade customers before tax, tax as EN 16931-1
    /// computes it, and the usual factors of the domain.
    pub fn usual(currency: Currency) -> Self {
        Self {
            private_prices: CustomerKind::Private.prices(),
            trade_prices: CustomerKind::Trade.prices(),
            tax_profile: tax::Profile::EN_16931,
            factors: Factors::usual(LABOUR_RATE, currency),
            changeovers: ChangeoverRates::USUAL,
            version: 1,
        }
    }
}
