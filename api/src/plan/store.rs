//! Rows of plans.

use baywright_domain::id::{PlanId, QuoteId, VariationId};
use baywright_domain::money::Money;
use baywright_domain::plan::Hands;
use diesel::prelude::*;

use super::form::PlanForm;
use super::usecase::Plan;
use crate::agreement::usecase::Agreed;
use crate::platform::canonical;
use crate::platform::clock::UtcTime;
use crate::platform::db::rows_of_shop;
use crate::platform::fail::{DbError, Stored};
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
        let corrupt = |what: &dyn std::fmt::Display| DbError::Corrupt(format!("plan {}: {what}", self.id));
        let variations: Vec<String> = serde_json::from_str(&self.variations).map_err(|e| corrupt(&e))?;
        let form: PlanForm = serde_json::from_str(&self.content).map_err(|e| corrupt(&e))?;
        let number = u32::try_from(self.number).map_err(|e| corrupt(&e))?;
        Ok(Plan {
            id: self.id.into(),
            quote: self.quote_id.into(),
            number,
            revision: self.revision_id.into(),
            variations: variations.into_iter().map(VariationId::new).collect(),
            customer: self.customer_id.into(),
            vehicle: self.vehicle_id.into(),
            deposit: self.deposit.map(Money::from_minor),
            hands: Hands::One,
            form,
            created_at: UtcTime::from_ms(self.created_at),
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

/// The plans of those ids that there are, in no order.
pub(super) fn of_ids(tx: &mut Tx<'_>, ids: &[PlanId]) -> Stored<Vec<Plan>> {
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
    let corrupt = |what: &dyn std::fmt::Display| DbError::Corrupt(format!("a new plan: {what}"));
    let value = serde_json::to_value(new.form).map_err(|e| corrupt(&e))?;
    let content = canonical::canonical(&value).map_err(|e| corrupt(&e))?;
    let variations: Vec<&str> = new.variations.iter().map(VariationId::as_str).collect();
    let quote = &new.agreed.quote;
    diesel::insert_into(plan::table)
        .values((
            plan::id.eq(new.id.as_str()),
            plan::shop_id.eq(tx.studio.id.as_str()),
            plan::quote_id.eq(quote.id.as_str()),
            plan::number.eq(i32::try_from(new.number).map_err(|e| corrupt(&e))?),
            plan::revision_id.eq(quote.revision_id.as_str()),
            plan::variations.eq(serde_json::json!(variations).to_string()),
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
