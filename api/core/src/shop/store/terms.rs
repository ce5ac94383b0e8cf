//! The shop's terms as a row.

use std::num::NonZeroU32;

use baywright_domain::invoice::DepositSize;
use baywright_domain::learning::{Policy, Prior};
use baywright_domain::money::{Money, Percent};
use baywright_domain::pricing::PriceDetail;
use baywright_domain::reminder::Schedule;
use baywright_domain::schedule::ClockStep;
use baywright_domain::schedule::stays::Moving;
use baywright_domain::series::Prefix;
use baywright_domain::time::Minutes;
use diesel::prelude::*;
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;

use crate::platform::db::{Conn, RowId, columns, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::tx::Tx;
use crate::schema::shop_terms;
use crate::shop::settings::Terms;

columns! {
    /// The terms that are columns themselves.
    struct TermColumns in shop_terms as Terms {
        quote_days: u16,
        hold = hold_minutes: Minutes,
        slot = slot_minutes: Minutes,
        call_tolerance: Option<Money>,
        payment_days: u16,
        quote_prefix: Prefix,
        invoice_prefix: Prefix,
        keep_years: u8,
        paint_floor_um: u16,
        removal_budget_um: u16,
        asks_express_wish: bool,
        price_detail: PriceDetail,
        consent = consent_text: String,
        conditions = conditions_text: String,
        promise_step = promise_step_minutes: ClockStep,
        undo = undo_minutes: Minutes,
    }
    with { deposit: Option<DepositSize>, reminders: Schedule, learning: Policy, moving: Moving }
}

/// The deposit asked for.
#[derive(Queryable, Selectable, Insertable, AsChangeset)]
#[diesel(table_name = shop_terms, treat_none_as_null = true, treat_none_as_default_value = false)]
struct DepositColumns {
    #[diesel(column_name = deposit_kind)]
    kind: String,
    #[diesel(column_name = deposit_amount)]
    amount: Option<i64>,
    #[diesel(column_name = deposit_percent)]
    percent: Option<String>,
}

impl DepositColumns {
    fn of(row: RowId<'_>, deposit: Option<DepositSize>) -> Stored<Self> {
        let (kind, amount, percent) = match deposit {
            None => ("NONE", None, None),
            Some(DepositSize::Amount(amount)) => ("AMOUNT", Some(amount), None),
            Some(DepositSize::Percent(percent)) => ("PERCENT", None, Some(percent)),
        };
        Ok(Self {
            kind: kind.to_owned(),
            amount: row.write("deposit_amount", &amount)?,
            percent: row.write("deposit_percent", &percent)?,
        })
    }

    fn read(self, row: RowId<'_>) -> Stored<Option<DepositSize>> {
        let percent: Option<Percent> = row.read("deposit_percent", self.percent)?;
        Ok(match self.amount {
            Some(amount) => Some(DepositSize::Amount(Money::from_minor(amount))),
            None => percent.map(DepositSize::Percent),
        })
    }
}

/// Days for reminders.
#[derive(Queryable, Selectable, Insertable, AsChangeset)]
#[diesel(table_name = shop_terms)]
struct ReminderColumns {
    #[diesel(column_name = booking_reminder_days)]
    before_booking: i32,
    #[diesel(column_name = lapse_reminder_days)]
    before_lapse: i32,
    #[diesel(column_name = first_letter_days)]
    first_letter: i32,
    #[diesel(column_name = second_letter_days)]
    second_letter: i32,
    #[diesel(column_name = third_letter_days)]
    third_letter: i32,
    #[diesel(column_name = letter_gap_days)]
    between_letters: i32,
}

impl From<&Schedule> for ReminderColumns {
    fn from(reminders: &Schedule) -> Self {
        let [first, second, third] = reminders.overdue.map(i32::from);
        Self {
            before_booking: reminders.before_booking.into(),
            before_lapse: reminders.before_lapse.into(),
            first_letter: first,
            second_letter: second,
            third_letter: third,
            between_letters: reminders.between_letters.into(),
        }
    }
}

impl ReminderColumns {
    fn read(self, row: RowId<'_>) -> Stored<Schedule> {
        Ok(Schedule {
            before_booking: row.read("booking_reminder_days", self.before_booking)?,
            before_lapse: row.read("lapse_reminder_days", self.before_lapse)?,
            overdue: [
                row.read("first_letter_days", self.first_letter)?,
                row.read("second_letter_days", self.second_letter)?,
                row.read("third_letter_days", self.third_letter)?,
            ],
            between_letters: row.read("letter_gap_days", self.between_letters)?,
        })
    }
}

/// Settings for learning from actual minutes; the spread is stored in hundredths.
#[derive(Queryable, Selectable, Insertable, AsChangeset)]
#[diesel(table_name = shop_terms)]
struct LearningColumns {
    learning_jobs: i32,
    usual_spread_percent: i32,
    promise_percent: i32,
}

impl LearningColumns {
    fn of(row: RowId<'_>, learning: &Policy) -> Stored<Self> {
        let whole = |column: &str, number: Decimal| {
            number.to_i32().ok_or_else(|| row.corrupt(column, format!("{number} is out of range")))
        };
        Ok(Self {
            learning_jobs: whole("learning_jobs", learning.prior.jobs())?,
            usual_spread_percent: whole("usual_spread_percent", learning.prior.spread() * Decimal::ONE_HUNDRED)?,
            promise_percent: row.write("promise_percent", &learning.promise)?,
        })
    }

    fn read(self, row: RowId<'_>) -> Stored<Policy> {
        let spread = Decimal::new(self.usual_spread_percent.into(), 2);
        let prior = Prior::new(Decimal::from(self.learning_jobs), spread);
        Ok(Policy {
            prior: prior.map_err(|why| row.corrupt("learning_jobs", why))?,
            promise: row.read("promise_percent", self.promise_percent)?,
        })
    }
}

/// Settings for cars that change bays.
#[derive(Queryable, Selectable, Insertable, AsChangeset)]
#[diesel(table_name = shop_terms)]
struct MovingColumns {
    max_stays: i32,
    move_minutes: i32,
}

impl MovingColumns {
    fn of(row: RowId<'_>, moving: Moving) -> Stored<Self> {
        Ok(Self {
            max_stays: row.write("max_stays", &moving.max_stays.get())?,
            move_minutes: row.write("move_minutes", &moving.minutes)?,
        })
    }

    fn read(self, row: RowId<'_>) -> Stored<Moving> {
        let max_stays = NonZeroU32::new(row.read("max_stays", self.max_stays)?);
        Ok(Moving {
            max_stays: max_stays.ok_or_else(|| row.corrupt("max_stays", "no stay at all"))?,
            minutes: row.read("move_minutes", self.move_minutes)?,
        })
    }
}

#[derive(Queryable, Selectable, Insertable, AsChangeset)]
#[diesel(table_name = shop_terms)]
struct Row {
    #[diesel(embed)]
    terms: TermColumns,
    #[diesel(embed)]
    deposit: DepositColumns,
    #[diesel(embed)]
    reminders: ReminderColumns,
    #[diesel(embed)]
    learning: LearningColumns,
    #[diesel(embed)]
    moving: MovingColumns,
}

impl Row {
    fn of(shop: &str, terms: &Terms) -> Stored<Self> {
        let row = RowId::of("shop_terms", shop);
        Ok(Self {
            terms: TermColumns::of(shop, terms)?,
            deposit: DepositColumns::of(row, terms.deposit)?,
            reminders: ReminderColumns::from(&terms.reminders),
            learning: LearningColumns::of(row, &terms.learning)?,
            moving: MovingColumns::of(row, terms.moving)?,
        })
    }

    fn read(self, shop: &str) -> Stored<Terms> {
        let row = RowId::of("shop_terms", shop);
        let (deposit, reminders) = (self.deposit.read(row)?, self.reminders.read(row)?);
        self.terms.read(shop, deposit, reminders, self.learning.read(row)?, self.moving.read(row)?)
    }
}

pub(in crate::shop) fn insert(conn: &mut Conn, shop: &str, terms: &Terms) -> Stored<()> {
    diesel::insert_into(shop_terms::table)
        .values((shop_terms::shop_id.eq(shop), Row::of(shop, terms)?))
        .execute(conn)?;
    Ok(())
}

pub(in crate::shop) fn find(tx: &mut Tx<'_>) -> Stored<Terms> {
    let mine = rows_of_shop!(shop_terms, tx);
    let row: Row = mine.select(Row::as_select()).first(tx.conn)?;
    row.read(tx.studio.id.as_str())
}

pub(in crate::shop) fn update(tx: &mut Tx<'_>, terms: &Terms) -> Stored<()> {
    diesel::update(rows_of_shop!(shop_terms, tx)).set(Row::of(tx.studio.id.as_str(), terms)?).execute(tx.conn)?;
    Ok(())
}
