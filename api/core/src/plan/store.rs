//! Rows of plans.

use baywright_domain::id::{PlanId, QuoteId, VariationId};
use baywright_domain::money::Money;
use baywright_domain::plan::Hands;
use diesel::prelude::*;

use super::kept::PlanForm;
use super::usecase::Plan;
use crate::agreement::usecase::Agreed;
use crate::platform::canonical;
use crate::platform::db::{RowId, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::tx::Tx;
use crate::schema::plan;

#[derive(Queryable, Selectable)]
#[diesel(table_name = plan)]
struct Row {
    id: String,
    quote_id: String,
    number: i32,
    revision_id: String,
    variations: String,
    customer_id: String,
    vehicle_id: String,
    deposit: Option<i64>,
    content: String,
    created_at: i64,
}

impl Row {
    fn read(self) -> Stored<Plan> {
        let row = RowId::of("plan", &self.id);
        Ok(Plan {
            quote: self.quote_id.into(),
            number: row.read("number", self.number)?,
            revision: self.revision_id.into(),
            variations: row.read("variations", self.variations)?,
            customer: self.customer_id.into(),
            vehicle: self.vehicle_id.into(),
            deposit: self.deposit.map(Money::from_minor),
            hands: Hands::One,
            form: row.read_json("content", &self.content)?,
            created_at: row.read("created_at", self.created_at)?,
            id: self.id.into(),
        })
    }
}

/// The latest plan of a quote.
pub(super) fn latest(tx: &mut Tx<'_>, quote: &QuoteId) -> Stored<Option<Plan>> {
    let row: Option<Row> = rows_of_shop!(plan, tx)
        .filter(plan::quote_id.eq(quote.as_str()))
        .order(plan::number.desc())
        .select(Row::as_select())
        .first(tx.conn)
        .optional()?;
    row.map(Row::read).transpose()
}

pub(super) fn find(tx: &mut Tx<'_>, id: &PlanId) -> Stored<Option<Plan>> {
    let row: Option<Row> =
        rows_of_shop!(plan, tx).filter(plan::id.eq(id.as_str())).select(Row::as_select()).first(tx.conn).optional()?;
    row.map(Row::read).transpose()
}

/// The plans with those ids, in no order; unknown ids are left out.
pub(super) fn of_ids(tx: &mut Tx<'_>, ids: &[PlanId]) -> Stored<Vec<Plan>> {
    if ids.is_empty() {
        return Ok(Vec::new());
    }
    let rows: Vec<Row> = rows_of_shop!(plan, tx)
        .filter(plan::id.eq_any(ids.iter().map(PlanId::as_str)))
        .select(Row::as_select())
        .load(tx.conn)?;
    rows.into_iter().map(Row::read).collect()
}

/// A plan to be kept.
pub(super) struct NewPlan<'a> {
    pub(super) id: &'a PlanId,
    pub(super) number: u32,
    pub(super) agreed: &'a Agreed,
    pub(super) variations: &'a [VariationId],
    pub(super) form: &'a PlanForm,
}

pub(super) fn insert(tx: &mut Tx<'_>, new: &NewPlan<'_>) -> Stored<()> {
    let row = RowId::of("plan", new.id.as_str());
    let value = serde_json::to_value(new.form).map_err(|why| row.corrupt("content", why))?;
    let content = canonical::canonical(&value).map_err(|why| row.corrupt("content", why))?;
    let quote = &new.agreed.quote;
    diesel::insert_into(plan::table)
        .values((
            plan::id.eq(new.id.as_str()),
            plan::shop_id.eq(tx.studio.id.as_str()),
            plan::quote_id.eq(quote.id.as_str()),
            plan::number.eq(row.write("number", &new.number)?),
            plan::revision_id.eq(quote.revision_id.as_str()),
            plan::variations.eq(row.write("variations", &new.variations.to_vec())?),
            plan::customer_id.eq(quote.customer.as_str()),
            plan::vehicle_id.eq(quote.vehicle.as_str()),
            plan::deposit.eq(quote.deposit.map(Money::minor)),
            plan::digest.eq(canonical::digest(&content)),
            plan::content.eq(content),
            plan::created_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}
