//! Stored answers with the key of their request, so that a request that is sent twice takes effect once.
//!
//! The key's row is written in the same transaction as the effect, with the answer. A key is remembered for
//! [`KEEP_HOURS`] per shop and route. It belongs to the account and the role that sent it first, because an answer's
//! content depends on who may see it.

use diesel::prelude::*;

use super::canonical;
use super::db::rows_of_shop;
use super::fail::{DbError, Done, Stored};
use super::identity::Actor;
use super::refusal::Refused;
use super::tx::Tx;
use crate::schema::idempotency;

/// Time for which a key is remembered, in hours.
pub const KEEP_HOURS: i64 = 24;

/// An answer as it is stored with its key.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StoredAnswer {
    /// Its status.
    pub status: u16,
    /// Its `Location`, or empty.
    pub location: String,
    /// Its `ETag`, or empty.
    pub etag: String,
    /// Its body.
    pub body: String,
    /// Whether it answers a repeated request.
    pub replayed: bool,
}

#[derive(Queryable, Selectable, Insertable)]
#[diesel(table_name = idempotency)]
struct Row {
    shop_id: String,
    route: String,
    key: String,
    #[diesel(column_name = print)]
    fingerprint: String,
    status: i32,
    location: String,
    etag: String,
    body: String,
    created_at: i64,
}

/// Runs `f` unless the key was used before on this route; returns the answer, kept or new.
pub fn once(
    tx: &mut Tx<'_>,
    route: &str,
    key: &str,
    fingerprint: &str,
    f: &mut dyn FnMut(&mut Tx<'_>) -> Done<StoredAnswer>,
) -> Done<StoredAnswer> {
    let of_request = fingerprint;
    let fingerprint = asked_by(&tx.actor, of_request);
    if let Some(row) = find(tx, route, key)? {
        // Before keys belonged to an account, only the request's fingerprint was stored. Such a row still counts until
        // it is deleted, so that a request that is repeated across an update takes effect once.
        if row.fingerprint != fingerprint && row.fingerprint != of_request {
            return Err(Refused::invalid(
                "idempotency-key-reused",
                "This Idempotency-Key was used for another request: with another body, or by another account or role. \
                 Use a new key for a new request.",
            )
            .into());
        }
        if row.status == BLANKED {
            let detail = "This request was done before, and its answer was erased at the customer's request. Use a new \
                          key for a new request.";
            return Err(Refused::conflict("answer-erased", detail).into());
        }
        let status = u16::try_from(row.status).unwrap_or(200);
        return Ok(StoredAnswer { status, location: row.location, etag: row.etag, body: row.body, replayed: true });
    }
    let kept = f(tx)?;
    let row = Row {
        shop_id: tx.studio.id.to_string(),
        route: route.to_owned(),
        key: key.to_owned(),
        fingerprint,
        status: i32::from(kept.status),
        location: kept.location.clone(),
        etag: kept.etag.clone(),
        body: kept.body.clone(),
        created_at: tx.now.ms(),
    };
    diesel::insert_into(idempotency::table).values(&row).execute(tx.conn).map_err(DbError::from)?;
    Ok(kept)
}

/// The fingerprint of a request and its sender, so that nobody gets an answer that was meant for another account, or for a
/// role that they no longer have.
fn asked_by(actor: &Actor, fingerprint: &str) -> String {
    let role = actor.role().map_or("", |role| role.as_str());
    canonical::digest(&format!("{}\n{}\n{role}\n{fingerprint}", actor.kind(), actor.id()))
}

/// Status that is stored for an answer that was blanked.
const BLANKED: i32 = 0;

/// Blanks the stored answers that contain one of those texts, for a customer who is being erased. Their keys stay, so
/// that a repeated request creates nothing twice.
pub fn forget_what_says(tx: &mut Tx<'_>, texts: &[String]) -> Done<()> {
    let rows: Vec<(String, String, String)> = rows_of_shop!(idempotency, tx)
        .select((idempotency::route, idempotency::key, idempotency::body))
        .load(tx.conn)
        .map_err(DbError::from)?;
    let says = |body: &str| texts.iter().any(|text| body.contains(text.as_str()));
    for (route, key, _) in rows.into_iter().filter(|(route, _, body)| says(body) || says(route)) {
        let one = rows_of_shop!(idempotency, tx).filter(idempotency::route.eq(route)).filter(idempotency::key.eq(key));
        diesel::update(one)
            .set((
                idempotency::status.eq(BLANKED),
                idempotency::location.eq(""),
                idempotency::etag.eq(""),
                idempotency::body.eq(""),
            ))
            .execute(tx.conn)
            .map_err(DbError::from)?;
    }
    Ok(())
}

/// Whether the key was used before on this route.
pub fn is_known(tx: &mut Tx<'_>, route: &str, key: &str) -> Done<bool> {
    Ok(find(tx, route, key)?.is_some())
}

fn find(tx: &mut Tx<'_>, route: &str, key: &str) -> Stored<Option<Row>> {
    Ok(rows_of_shop!(idempotency, tx)
        .filter(idempotency::route.eq(route))
        .filter(idempotency::key.eq(key))
        .select(Row::as_select())
        .first(tx.conn)
        .optional()?)
}

/// Forgets the shop's keys older than [`KEEP_HOURS`].
pub fn forget_old(tx: &mut Tx<'_>) -> Done<()> {
    let limit = tx.now.plus_minutes(-KEEP_HOURS * 60).ms();
    let old = rows_of_shop!(idempotency, tx).filter(idempotency::created_at.lt(limit));
    diesel::delete(old).execute(tx.conn).map_err(DbError::from)?;
    Ok(())
}
