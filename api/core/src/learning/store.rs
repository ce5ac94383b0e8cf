//! Rows of lessons.

use baywright_domain::id::JobId;
use baywright_domain::learning::Lesson;
use baywright_domain::plan::Hands;
use diesel::prelude::*;
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;

use super::usecase::Kept;
use crate::platform::db::{RowId, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::ids;
use crate::platform::tx::Tx;
use crate::schema::lesson;

#[derive(Queryable, Selectable)]
#[diesel(table_name = lesson)]
struct Row {
    id: String,
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

impl Row {
    fn read(self) -> Stored<Kept> {
        let row = RowId::of("lesson", &self.id);
        Ok(Kept {
            job: self.job_id.into(),
            at: row.read("learned_at", self.learned_at)?,
            lesson: Lesson {
                step: row.read("step", self.step)?,
                services: row.read("services", self.services)?,
                size: row.read("size_class", self.size_class)?,
                condition: row.read("condition", self.condition)?,
                hands: if self.two_hands { Hands::Two } else { Hands::One },
                quantity: Decimal::new(i64::from(self.quantity_thousandths), 3).normalize(),
                actual: row.read("actual_minutes", self.actual_minutes)?,
            },
        })
    }
}

/// A quantity as it is stored. It has at most three decimals; one that is too large for the column becomes the column's
/// largest number.
fn thousandths(quantity: Decimal) -> i32 {
    quantity.saturating_mul(Decimal::ONE_THOUSAND).to_i32().unwrap_or(i32::MAX)
}

pub(super) fn insert(tx: &mut Tx<'_>, job: &JobId, new: &Lesson) -> Stored<()> {
    let id: String = ids::new();
    let row = RowId::of("lesson", &id);
    diesel::insert_into(lesson::table)
        .values((
            lesson::id.eq(&id),
            lesson::shop_id.eq(tx.studio.id.as_str()),
            lesson::job_id.eq(job.as_str()),
            lesson::step.eq(new.step.as_str()),
            lesson::services.eq(row.write("services", &new.services)?),
            lesson::size_class.eq(new.size.as_str()),
            lesson::condition.eq(new.condition.as_str()),
            lesson::two_hands.eq(new.hands == Hands::Two),
            lesson::quantity_thousandths.eq(thousandths(new.quantity)),
            lesson::actual_minutes.eq(row.write("actual_minutes", &new.actual)?),
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

/// Maximum number of lessons that are read at once: those of a year or two, so that old habits fade.
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
