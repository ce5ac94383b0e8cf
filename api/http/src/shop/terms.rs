//! Terms as they are sent over HTTP.

use std::num::NonZeroU32;

use baywright_core::platform::faults::Faults;
use baywright_core::platform::refusal::Refused;
use baywright_core::shop::usecase::Terms;
use baywright_domain::customer::KEEP_YEARS;
use baywright_domain::invoice::DepositSize;
use baywright_domain::learning::{Policy, Prior, Quantile};
use baywright_domain::money::{Currency, Money, Percent};
use baywright_domain::pricing::PriceDetail;
use baywright_domain::reminder::Schedule;
use baywright_domain::schedule::ClockStep;
use baywright_domain::schedule::stays::Moving;
use baywright_domain::series::Prefix;
use baywright_domain::time::Minutes;
use baywright_domain::undo::USUAL_FREE;
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::platform::wire::{Amount, Number, SeriesPrefix, Text, Whole, Word};

/// Detail of price explanations, as its word.
type PriceDetailWord = Word<PriceDetail>;

/// Terms on which a shop deals with its customers.
#[derive(Debug, Clone, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct TermsBody {
    /// Days for which a quote is valid after it is sent.
    #[schema(example = 14)]
    quote_days: Whole<1, 365>,
    /// Minutes after which a hold on a bay lapses.
    #[schema(example = 120)]
    hold_minutes: Whole<1, 43_200>,
    /// Minutes from one possible start of a booking to the next.
    #[schema(example = 15)]
    slot_minutes: Whole<5, 240>,
    /// Usual deposit in percent of the total, with tax; null or left out for none.
    #[serde(default)]
    #[schema(example = "20")]
    deposit_percent: Option<Number>,
    /// Usual deposit as an amount, with tax; null or left out for none. Cannot be combined with a percentage.
    #[serde(default)]
    deposit_amount: Option<Amount>,
    /// Largest change of price, with tax, for which a recorded phone call is enough to agree a variation; if null or
    /// left out, every variation needs a signature.
    #[serde(default)]
    call_tolerance: Option<Amount>,
    /// Days from the issue of an invoice to its due date.
    #[schema(example = 14)]
    payment_days: Whole<0, 365>,
    /// Prefix of quote numbers, such as `Q` for `Q-2026-0042`; `Q` if left out.
    #[serde(default = "quote_prefix")]
    #[schema(required = false, example = "Q")]
    quote_prefix: SeriesPrefix,
    /// Prefix of invoice numbers, different from that of quotes; `INV` if left out. Each prefix is counted from 1 every
    /// year.
    #[serde(default = "invoice_prefix")]
    #[schema(required = false, example = "INV")]
    invoice_prefix: SeriesPrefix,
    /// Days between the reminder and the booking. The reminder goes out while the shop is open, on the last open day up
    /// to that date, at most three days sooner. 0 sends none.
    #[schema(example = 1)]
    booking_reminder_days: Whole<0, 60>,
    /// Days between the reminder and the last day of a quote. The reminder goes out while the shop is open, on the last
    /// open day up to that date, at most three days sooner.
    #[schema(example = 2)]
    lapse_reminder_days: Whole<0, 60>,
    /// Days between the due date and the first letter about an overdue invoice. The letter goes out on that day, or on
    /// the next day on which the shop is open.
    #[schema(example = 7)]
    first_letter_days: Whole<1, 365>,
    /// Days between the due date and the second letter; more than for the first.
    #[schema(example = 21)]
    second_letter_days: Whole<1, 365>,
    /// Days between the due date and the third letter; more than for the second.
    #[schema(example = 35)]
    third_letter_days: Whole<1, 365>,
    /// Minimum number of days between two letters about one invoice.
    #[schema(example = 7)]
    days_between_letters: Whole<0, 60>,
    /// Years for which signed, invoiced and paid records are kept when their customer is erased, counted from the end
    /// of the year in which they were made. Required periods differ by country; 10 if left out.
    #[serde(default = "keep_years")]
    #[schema(required = false, example = 10)]
    keep_years: Whole<1, 30>,
    /// Lower limit for the paint depth, in micrometres: below it, sanding needs the owner's recorded decision. A gauge
    /// reads all coats together, so no reading says that sanding is safe.
    #[schema(example = 100)]
    paint_floor_um: Whole<0, 2000>,
    /// Maximum depth of paint that one job may remove, in micrometres.
    #[schema(example = 5)]
    removal_budget_um: Whole<0, 100>,
    /// Whether consumers who sign at a distance are asked if work may start within the 14 days in which they can
    /// withdraw (Directive 2011/83/EU, article 8(8)). If they say no, work waits until the 14 days are over.
    asks_express_wish: bool,
    /// Declaration of consent that is shown above the signature.
    #[schema(example = "I accept the services chosen above at the price shown.")]
    consent_text: Text<2000>,
    /// Terms and conditions that are shown on each quote.
    #[schema(example = "The price holds until the date shown.")]
    conditions_text: Text<20_000>,
    /// Number of jobs that a budget counts as when actual times are learned; a size class with fewer jobs is judged by
    /// the jobs of all sizes. 5 if left out.
    #[serde(default = "learning_jobs")]
    #[schema(required = false, example = 5)]
    learning_jobs: Whole<1, 100>,
    /// Usual spread of actual times before any job was finished: the standard deviation of the logarithm of actual time
    /// ÷ budget, in percent. 25, the value if left out, means that two jobs of three take 0.78 to 1.28 times the
    /// budget.
    #[serde(default = "usual_spread_percent")]
    #[schema(required = false, example = 25)]
    usual_spread_percent: Whole<1, 100>,
    /// Share of jobs, in percent, that need no more work than is promised to the customer; 80 if left out.
    #[serde(default = "promise_percent")]
    #[schema(required = false, example = 80)]
    promise_percent: Whole<50, 99>,
    /// Minutes to which the times promised to customers are rounded up, within opening hours: a part of the hour such
    /// as 15 or 30, or whole hours up to 240. 15 if left out.
    #[serde(default = "promise_step_minutes")]
    #[schema(required = false, example = 15)]
    promise_step_minutes: Whole<1, 240>,
    /// Detail of price explanations for customers on quotes: SUMMARY names size, condition, quantity and discounts;
    /// FULL also shows minutes, labour rate and products. SUMMARY if left out. Applies to quotes sent from now on.
    #[serde(default = "price_detail")]
    #[schema(required = false)]
    price_detail: PriceDetailWord,
    /// Minutes during which a move, such as an arrival, a step or a publication, can be undone without a reason. After
    /// that a reason is needed. 10 if left out.
    #[serde(default = "undo_minutes")]
    #[schema(required = false, example = 10)]
    undo_minutes: Whole<0, 1440>,
    /// Maximum number of bays that one car is in, one after another, from start to finish. A car changes bays only if no
    /// bay has everything that its work needs, or if a request allows it. 1 switches moves off; 3 if left out.
    #[serde(default = "max_stays")]
    #[schema(required = false, example = 3)]
    max_stays: Whole<1, 10>,
    /// Minutes that it takes to move a car to another bay; they are added to the first step there. 10 if left out.
    #[serde(default = "move_minutes")]
    #[schema(required = false, example = 10)]
    move_minutes: Whole<0, 240>,
}

fn promise_step_minutes() -> Whole<1, 240> {
    Whole::of(ClockStep::USUAL.minutes())
}

fn price_detail() -> PriceDetailWord {
    Word(PriceDetail::Summary)
}

fn undo_minutes() -> Whole<0, 1440> {
    Whole::of(USUAL_FREE.get())
}

fn max_stays() -> Whole<1, 10> {
    Whole::of(Moving::USUAL.max_stays.get())
}

fn move_minutes() -> Whole<0, 240> {
    Whole::of(Moving::USUAL.minutes.get())
}

fn learning_jobs() -> Whole<1, 100> {
    Whole::of(Policy::USUAL.prior.jobs().to_u32().unwrap_or_default())
}

fn usual_spread_percent() -> Whole<1, 100> {
    Whole::of((Policy::USUAL.prior.spread() * Decimal::ONE_HUNDRED).to_u32().unwrap_or_default())
}

fn promise_percent() -> Whole<50, 99> {
    Whole::of(Policy::USUAL.promise.percent())
}

fn quote_prefix() -> SeriesPrefix {
    SeriesPrefix::from(&Prefix::usual_for_quotes())
}

fn keep_years() -> Whole<1, 30> {
    Whole::of(KEEP_YEARS)
}

fn invoice_prefix() -> SeriesPrefix {
    SeriesPrefix::from(&Prefix::usual_for_invoices())
}

impl TermsBody {
    /// Checks rules that concern several values, and returns the terms; their faults are added to `faults`.
    pub(super) fn terms(&self, currency: Currency, faults: &mut Faults) -> Option<Terms> {
        let overdue = faults.note(self.overdue());
        let consent = faults.note(self.consent());
        let prefixes = faults.note(self.prefixes());
        let deposit = faults.note(self.deposit(currency));
        let tolerance = self.call_tolerance.as_ref();
        let call_tolerance = faults.note(above_zero(tolerance, currency, "/terms/call_tolerance"));
        let learning = faults.note(self.learning());
        let promise_step = ClockStep::new(self.promise_step_minutes.small())
            .map_err(|error| Refused::field("/terms/promise_step_minutes", "not_a_clock_step", format!("{error}.")));
        let promise_step = faults.note(promise_step);
        let (quote_prefix, invoice_prefix) = prefixes?;
        Some(Terms {
            quote_days: self.quote_days.small(),
            hold: Minutes::new(self.hold_minutes.get()),
            slot: Minutes::new(self.slot_minutes.get()),
            deposit: deposit?,
            call_tolerance: call_tolerance?,
            payment_days: self.payment_days.small(),
            quote_prefix,
            invoice_prefix,
            reminders: Schedule {
                before_booking: self.booking_reminder_days.small(),
                before_lapse: self.lapse_reminder_days.small(),
                overdue: overdue?,
                between_letters: self.days_between_letters.small(),
            },
            keep_years: self.keep_years.small(),
            paint_floor_um: self.paint_floor_um.small(),
            removal_budget_um: self.removal_budget_um.small(),
            asks_express_wish: self.asks_express_wish,
            price_detail: self.price_detail.0,
            consent: consent?,
            conditions: self.conditions_text.as_str().to_owned(),
            learning: learning?,
            promise_step: promise_step?,
            undo: Minutes::new(self.undo_minutes.get()),
            moving: Moving {
                max_stays: NonZeroU32::new(self.max_stays.get()).unwrap_or(NonZeroU32::MIN),
                minutes: Minutes::new(self.move_minutes.get()),
            },
        })
    }

    fn overdue(&self) -> Result<[u16; 3], Refused> {
        let overdue: [u16; 3] =
            [self.first_letter_days.small(), self.second_letter_days.small(), self.third_letter_days.small()];
        if overdue[0] >= overdue[1] || overdue[1] >= overdue[2] {
            let detail = "Each of the three reminder letters must come after the one before. Give it more days.";
            return Err(Refused::field("/terms/second_letter_days", "not_rising", detail));
        }
        Ok(overdue)
    }

    fn consent(&self) -> Result<String, Refused> {
        if self.consent_text.as_str().is_empty() {
            let detail = "Write the text that customers agree to when they sign.";
            return Err(Refused::field("/terms/consent_text", "empty", detail));
        }
        Ok(self.consent_text.as_str().to_owned())
    }

    fn learning(&self) -> Result<Policy, Refused> {
        let (jobs, spread) = (self.learning_jobs.get(), self.usual_spread_percent.get());
        let prior = Prior::new(Decimal::from(jobs), Decimal::new(spread.into(), 2))
            .map_err(|error| Refused::field("/terms/learning_jobs", "bad_prior", format!("{error}.")))?;
        let promise = Quantile::new(self.promise_percent.small())
            .map_err(|error| Refused::field("/terms/promise_percent", "bad_quantile", format!("{error}.")))?;
        Ok(Policy { prior, promise })
    }

    fn prefixes(&self) -> Result<(Prefix, Prefix), Refused> {
        let read = |text: &SeriesPrefix, pointer: &str| {
            Prefix::parse(text.as_str()).map_err(|error| Refused::field(pointer, "bad_prefix", format!("{error}.")))
        };
        let quote = read(&self.quote_prefix, "/terms/quote_prefix")?;
        let invoice = read(&self.invoice_prefix, "/terms/invoice_prefix")?;
        if quote == invoice {
            let detail = "Use different prefixes for invoices and for quotes.";
            return Err(Refused::field("/terms/invoice_prefix", "taken", detail));
        }
        Ok((quote, invoice))
    }

    fn deposit(&self, currency: Currency) -> Result<Option<DepositSize>, Refused> {
        match (&self.deposit_percent, &self.deposit_amount) {
            (Some(_), Some(_)) => {
                let detail = "Give the deposit as a percentage or as an amount, not as both.";
                Err(Refused::field("/terms/deposit_amount", "two_deposits", detail))
            }
            (Some(percent), None) => {
                let fault = |detail: String| Refused::field("/terms/deposit_percent", "not_a_percentage", detail);
                let percent = Percent::new(percent.0).map_err(|e| fault(format!("{e}.")))?;
                if percent.is_zero() {
                    return Err(fault("Leave the deposit out if none is asked for.".to_owned()));
                }
                Ok(Some(DepositSize::Percent(percent)))
            }
            (None, amount) => {
                Ok(above_zero(amount.as_ref(), currency, "/terms/deposit_amount")?.map(DepositSize::Amount))
            }
        }
    }

    /// The terms for an answer.
    pub(super) fn of(terms: &Terms, currency: Currency) -> Self {
        let (deposit_percent, deposit_amount) = match terms.deposit {
            None => (None, None),
            Some(DepositSize::Percent(percent)) => (Some(Number(percent.decimal())), None),
            Some(DepositSize::Amount(amount)) => (None, Some(Amount::of(amount, currency))),
        };
        let [first, second, third] = terms.reminders.overdue;
        Self {
            quote_days: Whole::of(terms.quote_days),
            hold_minutes: Whole::of(terms.hold.get()),
            slot_minutes: Whole::of(terms.slot.get()),
            deposit_percent,
            deposit_amount,
            call_tolerance: terms.call_tolerance.map(|amount| Amount::of(amount, currency)),
            payment_days: Whole::of(terms.payment_days),
            quote_prefix: SeriesPrefix::from(&terms.quote_prefix),
            invoice_prefix: SeriesPrefix::from(&terms.invoice_prefix),
            booking_reminder_days: Whole::of(terms.reminders.before_booking),
            lapse_reminder_days: Whole::of(terms.reminders.before_lapse),
            first_letter_days: Whole::of(first),
            second_letter_days: Whole::of(second),
            third_letter_days: Whole::of(third),
            days_between_letters: Whole::of(terms.reminders.between_letters),
            keep_years: Whole::of(terms.keep_years),
            paint_floor_um: Whole::of(terms.paint_floor_um),
            removal_budget_um: Whole::of(terms.removal_budget_um),
            asks_express_wish: terms.asks_express_wish,
            consent_text: Text::parse(&terms.consent).unwrap_or_default(),
            conditions_text: Text::parse(&terms.conditions).unwrap_or_default(),
            learning_jobs: Whole::of(terms.learning.prior.jobs().to_u32().unwrap_or_default()),
            usual_spread_percent: Whole::of(
                (terms.learning.prior.spread() * Decimal::ONE_HUNDRED).to_u32().unwrap_or_default(),
            ),
            promise_percent: Whole::of(terms.learning.promise.percent()),
            promise_step_minutes: Whole::of(terms.promise_step.minutes()),
            price_detail: Word(terms.price_detail),
            undo_minutes: Whole::of(terms.undo.get()),
            max_stays: Whole::of(terms.moving.max_stays.get()),
            move_minutes: Whole::of(terms.moving.minutes.get()),
        }
    }
}

fn above_zero(amount: Option<&Amount>, currency: Currency, pointer: &str) -> Result<Option<Money>, Refused> {
    let money = amount.map(|amount| amount.positive(currency, pointer)).transpose()?;
    if money == Some(Money::ZERO) {
        let detail = "Write an amount above 0, or leave it out.";
        return Err(Refused::field(format!("{pointer}/amount"), "not_positive", detail));
    }
    Ok(money)
}
