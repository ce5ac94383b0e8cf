//! Rows of lessons.

use baywright_domain::id::JobId;
use baywright_domain::inspection::ConditionClass;
use baywright_domain::learning::Lesson;
use baywright_domain::menu::Code;
use baywright_domain::plan::Hands;
use baywright_domain::time::Minutes;
use baywright_domain::vehicle::SizeClass;
use diesel::prelude::*;
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;

use super::usecase::Kept;
use crate::platform::clock::UtcTime;
use crate::platform::db::rows_of_shop;
use crate::platform::fail::{DbError, Stored};
use crate::platform::ids;
use crate::platform::tx::Tx;
use crate::schema::lesson;

#[derive(Queryable, Selectable)]
#[diesel(table_name = lesson)]
struct Row {
    job_id: String,
    step: String,
    services: String,
    size_class: String,
    condition: String,
    two_hands: bool,
    quantity_thousandths: i32,
    actual_minutes: i32,
    learned_at: i64,
}

fn corrupt(what: impl std::fmt::Display) -> DbError {
    DbError::Corrupt(format!("a lesson: {what}"))
}

impl Row {
    fn read(self) -> Stored<Kept> {
        let services: Vec<String> = serde_json::from_str(&self.services).map_err(corrupt)?;
        let code = |text: &String| Code::parse(text).map_err(corrupt);
        Ok(Kept {
            job: self.job_id.into(),
            at: UtcTime::from_ms(self.learned_at),
            lesson: Lesson {
                step: code(&self.step)?,
                services: services.iter().map(code).collect::<Stored<_>>()?,
                size: SizeClass::parse(&self.size_class).map_err(corrupt)?,
                condition: ConditionClass::parse(&self.condition).map_err(corrupt)?,
                hands: if self.two_hands { Hands::Two } else { Hands::One },
                quantity: Decimal::new(i64::from(self.quantity_thousandths), 3).normalize(),
                actual: Minutes::new(u32::try_from(self.actual_minutes).map_err(corrupt)?),
            },
        })
    }
}

/// A quantity as it is kept. It has at most three decimals; one beyond what the column holds stays at its largest number.
fn thousandths(quantity: Decimal) -> i32 {
    quantity.saturating_mul(Decimal::ONE_THOUSAND).to_i32().unwrap_or(i32::MAX)
}

pub(super) fn insert(tx: &mut Tx<'_>, job: &JobId, new: &Lesson) -> Stored<()> {
    let services: Vec<&str> = new.services.iter().map(Code::as_str).collect();
    diesel::insert_into(lesson::table)
        .values((
            lesson::id.eq(ids::new::<String>()),
            lesson::shop_id.eq(tx.studio.id.as_str()),
            lesson::job_id.eq(job.as_str()),
            lesson::step.eq(new.step.as_str()),
            lesson::services.eq(serde_json::json!(services).to_string()),
            lesson::size_class.eq(new.size.as_str()),
            lesson::condition.eq(new.condition.as_str()),
            lesson::two_hands.eq(new.hands == Hands::Two),
            lesson::quantity_thousandths.eq(thousandths(new.quantity)),
            lesson::actual_minutes.eq(i32::try_from(new.actual.get()).unwrap_or(i32::MAX)),
            lesson::learned_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

/// Removes the lessons of a job.
pub(super) fn remove_of(tx: &mut Tx<'_>, job: &JobId) -> Stored<()> {
    let its = rows_of_shop!(lesson, tx).filter(lesson::job_id.eq(job.as_str()));
    diesel::delete(its).execute(tx.conn)?;
    Ok(())
}

/// The most lessons that are read at once: those of a year or two, so that old habits fade.
const MOST: i64 = 10_000;

/// The lessons of the shop, the latest first.
pub(super) fn all(tx: &mut Tx<'_>) -> Stored<Vec<Kept>> {
    let rows: Vec<Row> =
        rows_of_shop!(lesson, tx).order(lesson::id.desc()).limit(MOST).select(Row::as_select()).load(tx.conn)?;
    rows.into_iter().map(Row::read).collect()
}

/// The lessons of some steps, the latest first.
pub(super) fn of_steps(tx: &mut Tx<'_>, steps: &[&str]) -> Stored<Vec<Kept>> {
    let rows: Vec<Row> = rows_of_shop!(lesson, tx)
        .filter(lesson::step.eq_any(steps))
        .order(lesson::id.desc())
        .limit(MOST)
        .select(Row::as_select())
        .load(tx.conn)?;
    rows.into_iter().map(Row::read).collect()
}
