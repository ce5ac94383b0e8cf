//! Rows of consents; a withdrawn one is kept, with the time.

use std::collections::BTreeMap;

use baywright_domain::customer::{Consent, ConsentKind};
use baywright_domain::id::CustomerId;
use diesel::prelude::*;

use super::super::usecase::{GivenConsent, KeptConsent};
use crate::platform::db::{RowId, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::ids;
use crate::platform::tx::Tx;
use crate::schema::customer_consent;

#[derive(Queryable, Selectable)]
#[diesel(table_name = customer_consent)]
struct Row {
    id: String,
    customer_id: String,
    kind: String,
    how: String,
    given_at: i64,
    withdrawn_at: Option<i64>,
}

/// The consents of each customer, oldest first.
pub(super) fn of(tx: &mut Tx<'_>, customers: &[String]) -> Stored<BTreeMap<String, Vec<KeptConsent>>> {
    let rows: Vec<Row> = rows_of_shop!(customer_consent, tx)
        .filter(customer_consent::customer_id.eq_any(customers.to_vec()))
        .order(customer_consent::id.asc())
        .select(Row::as_select())
        .load(tx.conn)?;
    let mut all: BTreeMap<String, Vec<KeptConsent>> = BTreeMap::new();
    for row in rows {
        let at = RowId::of("customer_consent", &row.id);
        let consent = Consent {
            kind: at.read("kind", row.kind)?,
            given_at: at.read("given_at", row.given_at)?,
            withdrawn_at: at.read("withdrawn_at", row.withdrawn_at)?,
        };
        all.entry(row.customer_id).or_default().push(KeptConsent { consent, how: row.how });
    }
    Ok(all)
}

pub(in super::super) fn insert_consent(tx: &mut Tx<'_>, customer: &CustomerId, given: &GivenConsent) -> Stored<()> {
    diesel::insert_into(customer_consent::table)
        .values((
            customer_consent::id.eq(ids::new::<String>()),
            customer_consent::shop_id.eq(tx.studio.id.as_str()),
            customer_consent::customer_id.eq(customer.as_str()),
            customer_consent::kind.eq(given.kind.as_str()),
            customer_consent::how.eq(&given.how),
            customer_consent::given_at.eq(given.given_at.unwrap_or(tx.now).ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

pub(in super::super) fn withdraw_consent(tx: &mut Tx<'_>, customer: &CustomerId, kind: ConsentKind) -> Stored<()> {
    diesel::update(
        rows_of_shop!(customer_consent, tx)
            .filter(customer_consent::customer_id.eq(customer.as_str()))
            .filter(customer_consent::kind.eq(kind.as_str()))
            .filter(customer_consent::withdrawn_at.is_null()),
    )
    .set(customer_consent::withdrawn_at.eq(tx.now.ms()))
    .execute(tx.conn)?;
    Ok(())
}

/// Ids of a customer's valid consents of a kind.
fn standing(tx: &mut Tx<'_>, customer: &CustomerId, kind: ConsentKind) -> Stored<Vec<String>> {
    Ok(rows_of_shop!(customer_consent, tx)
        .filter(customer_consent::customer_id.eq(customer.as_str()))
        .filter(customer_consent::kind.eq(kind.as_str()))
        .filter(customer_consent::withdrawn_at.is_null())
        .select(customer_consent::id)
        .load(tx.conn)?)
}

/// Ends a valid consent; returns its id.
pub(in super::super) fn end_consent(tx: &mut Tx<'_>, customer: &CustomerId, kind: ConsentKind) -> Stored<Vec<String>> {
    let ids = standing(tx, customer, kind)?;
    withdraw_consent(tx, customer, kind)?;
    Ok(ids)
}

/// Moves a valid consent to another customer; returns its id.
pub(in super::super) fn move_consent(
    tx: &mut Tx<'_>,
    from: &CustomerId,
    to: &CustomerId,
    kind: ConsentKind,
) -> Stored<Vec<String>> {
    let ids = standing(tx, from, kind)?;
    give_consents_back(tx, to, &ids)?;
    Ok(ids)
}

/// Adds consents to a customer.
pub(in super::super) fn give_consents_back(tx: &mut Tx<'_>, to: &CustomerId, ids: &[String]) -> Stored<()> {
    let these = rows_of_shop!(customer_consent, id = tx.studio.id.to_string())
        .filter(customer_consent::id.eq_any(ids.to_vec()));
    diesel::update(these).set(customer_consent::customer_id.eq(to.as_str())).execute(tx.conn)?;
    Ok(())
}

/// Restores consents that a merge had ended, unless one of their kind was given since.
pub(in super::super) fn let_consents_stand(tx: &mut Tx<'_>, customer: &CustomerId, ids: &[String]) -> Stored<()> {
    for id in ids {
        let one = || {
            rows_of_shop!(customer_consent, id = tx.studio.id.to_string()).filter(customer_consent::id.eq(id.clone()))
        };
        let (query, target) = (one().select(customer_consent::kind), one());
        let kind: Option<String> = query.first(tx.conn).optional()?;
        let Some(kind) = kind else { continue };
        let kind: ConsentKind = RowId::of("customer_consent", id).read("kind", kind)?;
        if standing(tx, customer, kind)?.is_empty() {
            diesel::update(target).set(customer_consent::withdrawn_at.eq(None::<i64>)).execute(tx.conn)?;
        }
    }
    Ok(())
}

/// Ends every consent of a customer, and blanks how they were given.
pub(super) fn end_all(tx: &mut Tx<'_>, customer: &CustomerId) -> Stored<()> {
    let theirs = || {
        rows_of_shop!(customer_consent, id = tx.studio.id.to_string())
            .filter(customer_consent::customer_id.eq(customer.as_str()))
    };
    let (all, standing) = (theirs(), theirs().filter(customer_consent::withdrawn_at.is_null()));
    diesel::update(standing).set(customer_consent::withdrawn_at.eq(tx.now.ms())).execute(tx.conn)?;
    diesel::update(all).set(customer_consent::how.eq("")).execute(tx.conn)?;
    Ok(())
}
