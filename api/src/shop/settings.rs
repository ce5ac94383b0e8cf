//! What a shop decides for itself, as every other feature reads it, and what a new shop starts with.
//!
//! The defaults are in this file and nowhere else. They are common practice without a published source unless a line
//! says otherwise; each is a starting point that the shop changes in its own settings.

use baywright_domain::calendar::{Zone, ZoneRules};
use baywright_domain::country::Country;
use baywright_domain::customer::{CustomerKind, KEEP_YEARS};
use baywright_domain::document::Prices;
use baywright_domain::id::TaxCategoryId;
use baywright_domain::invoice::DepositSize;
use baywright_domain::learning::Policy;
use baywright_domain::menu::{ChangeoverRates, Code, Factors};
use baywright_domain::money::{Currency, Money};
use baywright_domain::pricing::PriceDetail;
use baywright_domain::reminder::Schedule;
use baywright_domain::schedule::ClockStep;
use baywright_domain::series::Prefix;
use baywright_domain::tax::{self, RateTable};
use baywright_domain::time::{Minute, Minutes};

/// Everything that a shop has settled.
#[derive(Debug, Clone)]
pub struct Settings {
    /// Who the shop is.
    pub profile: Profile,
    /// The one currency of its documents; it never changes.
    pub currency: Currency,
    /// Its time zone.
    pub zone: Zone,
    /// How it deals.
    pub terms: Terms,
    /// What it charges.
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

    /// A moment on the studio's wall: `Tue 3 March 2026, 09:30`.
    pub fn wall(&self, at: Minute) -> String {
        self.zone.wall(at)
    }

    /// The tax of that code.
    pub fn tax(&self, code: &Code) -> Option<&TaxCategory> {
        self.taxes.iter().find(|tax| tax.code == *code)
    }

    /// The tax that a new service takes if nothing else is said.
    pub fn usual_tax(&self) -> Option<&TaxCategory> {
        self.taxes.iter().find(|tax| tax.usual)
    }
}

/// Who the shop is, as its documents say it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Profile {
    /// The trading name.
    pub name: String,
    /// The name in law, on invoices.
    pub legal_name: String,
    /// Address of the shop.
    pub address: Address,
    /// Where mail for it goes, and answers to its mails.
    pub email: Option<String>,
    /// Its telephone number.
    pub phone: Option<String>,
    /// Its VAT identifier.
    pub vat_id: Option<String>,
    /// Its number in the register of companies.
    pub company_number: Option<String>,
    /// The account that customers pay to (ISO 13616).
    pub iban: Option<String>,
}

/// A postal address; each part may still be missing.
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

/// How the shop deals with its customers.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Terms {
    /// Days for which a quote holds after it is sent.
    pub quote_days: u16,
    /// Minutes after which a hold on a bay lapses.
    pub hold: Minutes,
    /// Minutes from one possible start of a booking to the next.
    pub slot: Minutes,
    /// The deposit asked for, if any.
    pub deposit: Option<DepositSize>,
    /// The change of price up to which a noted phone call is enough for a variation; none: always a signature.
    pub call_tolerance: Option<Money>,
    /// Days from issue to the due date of an invoice.
    pub payment_days: u16,
    /// The prefix of the numbers of quotes.
    pub quote_prefix: Prefix,
    /// The prefix of the numbers of invoices; another one starts another series at 1.
    pub invoice_prefix: Prefix,
    /// When reminders go out.
    pub reminders: Schedule,
    /// Years for which tax records of an erased customer are kept.
    pub keep_years: u8,
    /// Paint depth in micrometres below which sanding needs the owner's recorded decision. A gauge reads all coats
    /// together, so no number says that sanding is safe.
    pub paint_floor_um: u16,
    /// Micrometres that one job may remove at most.
    pub removal_budget_um: u16,
    /// Whether a consumer who signs at a distance is asked if work may start within the 14 days in which they can withdraw
    /// (Directive 2011/83/EU, article 8(8)).
    pub asks_express_wish: bool,
    /// How much of a price's explanation customers see.
    pub price_detail: PriceDetail,
    /// The words above the signature.
    pub consent: String,
    /// The conditions on each quote.
    pub conditions: String,
    /// How it learns from actual minutes, and how sure its promises are.
    pub learning: Policy,
    /// Step of the clock to which promised times are rounded up.
    pub promise_step: ClockStep,
    /// For how long its people undo what they did without a reason.
    pub undo: Minutes,
}

/// What the shop charges and what budgets are made with.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Rates {
    /// Prices for private customers, with or without tax.
    pub private_prices: Prices,
    /// Prices for trade customers, with or without tax.
    pub trade_prices: Prices,
    /// How tax is rounded.
    pub tax_profile: tax::Profile,
    /// Size and condition factors, labour rate, price step.
    pub factors: Factors,
    /// Minutes that changeovers cost.
    pub changeovers: ChangeoverRates,
    /// Counts the changes of rates.
    pub version: i64,
}

/// One tax of the shop, such as its standard or its reduced one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TaxCategory {
    /// Its id.
    pub id: TaxCategoryId,
    /// Its short name, by which services say how they are taxed.
    pub code: Code,
    /// Its name for people.
    pub name: String,
    /// The category of EN 16931-1 and the rates from each date on.
    pub table: RateTable,
    /// Reason why no tax is charged, if the category needs a reason.
    pub reason: Option<String>,
    /// Whether a new service takes it.
    pub usual: bool,
    /// Version, which every change raises by one.
    pub version: i64,
}

/// The labour rate of a new shop, in minor units: 60.00 EUR, 6,000 JPY, 6.000 KWD. No figure is common to all, so this is
/// the first one that a shop sets for itself.
const LABOUR_RATE: Money = Money::from_minor(6_000);

const CONSENT: &str = "I accept the services chosen above at the price shown, the recorded damage and the conditions.";

const CONDITIONS: &str = "The price is for the work listed here and valid until the date shown.\n\
     Damage that we recorded before the work was not caused by it.\n\
     If we find that more or less needs doing, we ask you first. Nothing is added without your agreement.\n\
     Paint that is too thin or has been repaired may not allow a defect to be removed. We then stop and tell you.\n\
     Please take valuables and child seats out of the car before you hand it over.";

impl Terms {
    /// What a new shop starts with: quotes hold for 14 days, a hold for two hours, starts every 15 minutes, no deposit,
    /// every variation signed, payment within 14 days, 100 µm of paint as the floor and 5 µm to remove; learning as the
    /// domain's own defaults have it.
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
        }
    }
}

impl Rates {
    /// What a new shop starts with: private customers see prices with tax, trade customers without, tax as EN 16931-1
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
