//! How the shop deals, as a row.

use baywright_domain::invoice::DepositSize;
use baywright_domain::learning::{Policy, Prior, Quantile};
use baywright_domain::money::{Money, Percent};
use baywright_domain::pricing::PriceDetail;
use baywright_domain::reminder::Schedule;
use baywright_domain::schedule::ClockStep;
use baywright_domain::series::Prefix;
use baywright_domain::time::Minutes;
use diesel::prelude::*;
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;

use super::{decimal, small};
use crate::platform::db::{Conn, rows_of_shop};
use crate::platform::fail::{DbError, Stored};
use crate::platform::tx::Tx;
use crate::schema::shop_terms;
use crate::shop::settings::Terms;

#[derive(Queryable, Selectable, Insertable, AsChangeset)]
#[diesel(table_name = shop_terms, treat_none_as_null = true)]
struct Row {
    quote_days: i32,
    hold_minutes: i32,
    slot_minutes: i32,
    deposit_kind: String,
    deposit_amount: Option<i64>,
    deposit_percent: Option<String>,
    call_tolerance: Option<i64>,
    payment_days: i32,
    quote_prefix: String,
    invoice_prefix: String,
    booking_reminder_days: i32,
    lapse_reminder_days: i32,
    first_letter_days: i32,
    second_letter_days: i32,
    third_letter_days: i32,
    letter_gap_days: i32,
    keep_years: i32,
    paint_floor_um: i32,
    removal_budget_um: i32,
    asks_express_wish: bool,
    consent_text: String,
    conditions_text: String,
    learning_jobs: i32,
    usual_spread_percent: i32,
    promise_percent: i32,
    promise_step_minutes: i32,
    price_detail: String,
    undo_minutes: i32,
}

impl From<&Terms> for Row {
    fn from(terms: &Terms) -> Self {
        let minutes = |minutes: Minutes| i32::try_from(minutes.get()).unwrap_or(i32::MAX);
        let (kind, amount, percent) = match terms.deposit {
            None => ("NONE", None, None),
            Some(DepositSize::Amount(amount)) => ("AMOUNT", Some(amount.minor()), None),
            Some(DepositSize::Percent(percent)) => ("PERCENT", None, Some(percent.to_string())),
        };
        let [first, second, third] = terms.reminders.overdue.map(i32::from);
        Self {
            quote_days: terms.quote_days.into(),
            hold_minutes: minutes(terms.hold),
            slot_minutes: minutes(terms.slot),
            deposit_kind: kind.to_owned(),
            deposit_amount: amount,
            deposit_percent: percent,
            call_tolerance: terms.call_tolerance.map(Money::minor),
            payment_days: terms.payment_days.into(),
            quote_prefix: terms.quote_prefix.as_str().to_owned(),
            invoice_prefix: terms.invoice_prefix.as_str().to_owned(),
            booking_reminder_days: terms.reminders.before_booking.into(),
            lapse_reminder_days: terms.reminders.before_lapse.into(),
            first_letter_days: first,
            second_letter_days: second,
            third_letter_days: third,
            letter_gap_days: terms.reminders.between_letters.into(),
            keep_years: terms.keep_years.into(),
            paint_floor_um: terms.paint_floor_um.into(),
            removal_budget_um: terms.removal_budget_um.into(),
            asks_express_wish: terms.asks_express_wish,
            consent_text: terms.consent.clone(),
            conditions_text: terms.conditions.clone(),
            learning_jobs: terms.learning.prior.jobs().to_i32().unwrap_or(i32::MAX),
            usual_spread_percent: (terms.learning.prior.spread() * Decimal::ONE_HUNDRED).to_i32().unwrap_or(i32::MAX),
            promise_percent: terms.learning.promise.percent().into(),
            promise_step_minutes: terms.promise_step.minutes().into(),
            price_detail: terms.price_detail.as_str().to_owned(),
            undo_minutes: minutes(terms.undo),
        }
    }
}

impl Row {
    fn read(self) -> Stored<Terms> {
        let percent = |text: &str| -> Stored<Percent> {
            Percent::new(decimal(text)?).map_err(|e| DbError::Corrupt(e.to_string()))
        };
        let prefix = |text: &str| Prefix::parse(text).map_err(|e| DbError::Corrupt(e.to_string()));
        let deposit = match (self.deposit_amount, &self.deposit_percent) {
            (Some(amount), _) => Some(DepositSize::Amount(Money::from_minor(amount))),
            (None, Some(text)) => Some(DepositSize::Percent(percent(text)?)),
            (None, None) => None,
        };
        Ok(Terms {
            quote_days: small(self.quote_days)?,
            hold: Minutes::new(small(self.hold_minutes)?),
            slot: Minutes::new(small(self.slot_minutes)?),
            deposit,
            call_tolerance: self.call_tolerance.map(Money::from_minor),
            payment_days: small(self.payment_days)?,
            quote_prefix: prefix(&self.quote_prefix)?,
            invoice_prefix: prefix(&self.invoice_prefix)?,
            reminders: Schedule {
                before_booking: small(self.booking_reminder_days)?,
                before_lapse: small(self.lapse_reminder_days)?,
                overdue: [
                    small(self.first_letter_days)?,
                    small(self.second_letter_days)?,
                    small(self.third_letter_days)?,
                ],
                between_letters: small(self.letter_gap_days)?,
            },
            keep_years: small(self.keep_years)?,
            paint_floor_um: small(self.paint_floor_um)?,
            removal_budget_um: small(self.removal_budget_um)?,
            asks_express_wish: self.asks_express_wish,
            price_detail: PriceDetail::parse(&self.price_detail).map_err(|e| DbError::Corrupt(e.to_string()))?,
            consent: self.consent_text,
            conditions: self.conditions_text,
            promise_step: ClockStep::new(small(self.promise_step_minutes)?)
                .map_err(|e| DbError::Corrupt(e.to_string()))?,
            learning: policy(self.learning_jobs, self.usual_spread_percent, self.promise_percent)?,
            undo: Minutes::new(small(self.undo_minutes)?),
        })
    }
}

fn policy(jobs: i32, spread_percent: i32, promise_percent: i32) -> Stored<Policy> {
    let prior = Prior::new(Decimal::from(jobs), Decimal::new(spread_percent.into(), 2));
    Ok(Policy {
        prior: prior.map_err(|e| DbError::Corrupt(e.to_string()))?,
        promise: Quantile::new(small(promise_percent)?).map_err(|e| DbError::Corrupt(e.to_string()))?,
    })
}

pub(in crate::shop) fn insert(conn: &mut Conn, shop: &str, terms: &Terms) -> Stored<()> {
    diesel::insert_into(shop_terms::table).values((shop_terms::shop_id.eq(shop), Row::from(terms))).execute(conn)?;
    Ok(())
}

pub(in crate::shop) fn find(tx: &mut Tx<'_>) -> Stored<Terms> {
    let mine = rows_of_shop!(shop_terms, tx);
    let row: Row = mine.select(Row::as_select()).first(tx.conn)?;
    row.read()
}

pub(in crate::shop) fn update(tx: &mut Tx<'_>, terms: &Terms) -> Stored<()> {
    diesel::update(rows_of_shop!(shop_terms, tx)).set(Row::from(terms)).execute(tx.conn)?;
    Ok(())
}
