//! The signing keys that the program stores: made at its first start, shared by its replicas, rotated by `baywright
//! keys rotate`.
//!
//! They are in the database, unencrypted, unless the settings provide one: anyone who can read the database can read
//! everything else there too. Replicas read the keys at every turn of the scheduler, so a new key is published two
//! minutes before it signs, and no replica gets a token that it can't check. A former key verifies until the last token
//! it signed has expired.

use diesel::prelude::*;
use secrecy::ExposeSecret;
use sha2::{Digest, Sha256};

use super::{ACCESS_MINUTES, Key, Keyring};
use crate::platform::canonical::hex;
use crate::platform::clock::UtcTime;
use crate::platform::config::Config;
use crate::platform::db::{Conn, Db, Scope};
use crate::platform::fail::{DbError, Done, Fail, Stored};
use crate::platform::ids;
use crate::schema::signing_key;

/// Minutes between creating a key and its first signature; replicas read the keys every few seconds.
const PUBLISH_MINUTES: i64 = 2;

/// Minutes after which a key that no longer signs is deleted.
const FORGET_MINUTES: i64 = ACCESS_MINUTES + PUBLISH_MINUTES;

/// A key as it is stored.
#[derive(Clone, Queryable, Selectable, Insertable)]
#[diesel(table_name = signing_key)]
struct Row {
    id: String,
    secret: Vec<u8>,
    created_at: i64,
    retired_at: Option<i64>,
}

/// The facts about a key that are not secret.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KeyInfo {
    /// Its id, which tokens carry.
    pub id: String,
    /// Time when it was made.
    pub created_at: UtcTime,
    /// Time when it stops signing, if it was rotated out.
    pub retired_at: Option<UtcTime>,
}

/// The keys to use now, the signing one first: those of the settings if there are any, else those of the database. If
/// the database has none, one is created.
pub fn load(db: &Db, config: &Config, now: UtcTime) -> Done<Vec<Key>> {
    if let Some(secret) = &config.token_key {
        let former = config.former_token_key.iter();
        return std::iter::once(secret).chain(former).map(|secret| configured(secret.expose_secret())).collect();
    }
    let mut rows = db.read(|conn| Ok(all(conn)?))?;
    if rows.is_empty() {
        rows = db.write(Scope::Program, |conn| {
            if all(conn)?.is_empty() {
                insert(conn, now)?;
            }
            Ok(all(conn)?)
        })?;
    }
    in_order(rows, now).into_iter().map(|row| Key::new(row.id, row.secret).map_err(Fail::unexpected)).collect()
}

/// Reads the keys again, so that changes by other replicas or the command line take effect.
pub fn reload(db: &Db, config: &Config, now: UtcTime, ring: &Keyring) -> Done<()> {
    if config.token_key.is_none() {
        ring.replace(load(db, config, now)?);
    }
    Ok(())
}

/// Creates a new key, which signs from [`PUBLISH_MINUTES`] on; the others sign until then.
pub fn rotate(db: &Db, now: UtcTime) -> Done<KeyInfo> {
    db.write(Scope::Program, |conn| {
        let until = now.plus_minutes(PUBLISH_MINUTES).ms();
        let standing = signing_key::table.filter(signing_key::retired_at.is_null());
        diesel::update(standing).set(signing_key::retired_at.eq(until)).execute(conn).map_err(DbError::from)?;
        let old = signing_key::table.filter(signing_key::retired_at.lt(now.plus_minutes(-FORGET_MINUTES).ms()));
        diesel::delete(old).execute(conn).map_err(DbError::from)?;
        Ok(told(&insert(conn, now)?))
    })
}

/// The stored keys, newest first.
pub fn list(db: &Db) -> Done<Vec<KeyInfo>> {
    db.read(|conn| Ok(all(conn)?.iter().map(told).collect()))
}

fn told(row: &Row) -> KeyInfo {
    KeyInfo {
        id: row.id.clone(),
        created_at: UtcTime::from_ms(row.created_at),
        retired_at: row.retired_at.map(UtcTime::from_ms),
    }
}

/// A key of the settings; its id is derived from it, so that replicas with the same settings agree.
fn configured(secret: &str) -> Done<Key> {
    let print = hex(&Sha256::digest([b"kid:", secret.as_bytes()].concat()));
    Key::new(format!("set-{}", &print[..16]), secret.as_bytes().to_vec()).map_err(Fail::unexpected)
}

fn all(conn: &mut Conn) -> Stored<Vec<Row>> {
    Ok(signing_key::table.order(signing_key::created_at.desc()).select(Row::as_select()).load(conn)?)
}

fn insert(conn: &mut Conn, now: UtcTime) -> Done<Row> {
    let secret = ids::random::<32>().map_err(Fail::unexpected)?.to_vec();
    let row = Row { id: ids::new(), secret, created_at: now.ms(), retired_at: None };
    diesel::insert_into(signing_key::table).values(&row).execute(conn).map_err(DbError::from)?;
    Ok(row)
}

/// The rows whose tokens may still be valid: the signing one first, then the others from new to old.
fn in_order(mut rows: Vec<Row>, now: UtcTime) -> Vec<Row> {
    rows.retain(|row| row.retired_at.is_none_or(|at| at > now.plus_minutes(-FORGET_MINUTES).ms()));
    rows.sort_by_key(|row| std::cmp::Reverse(row.created_at));
    let published = now.plus_minutes(-PUBLISH_MINUTES).ms();
    let stands = |row: &Row| row.retired_at.is_none_or(|at| at > now.ms());
    // The very first key signs at once: no replica has to read it first.
    let first = rows.iter().position(|row| row.created_at <= published && stands(row));
    let first = first.or_else(|| rows.iter().rposition(stands));
    if let Some(first) = first {
        let row = rows.remove(first);
        rows.insert(0, row);
    }
    rows
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(id: &str, created: i64, retired: Option<i64>) -> Row {
        let ms = |minute: i64| minute * 60_000;
        Row { id: id.into(), secret: vec![1; 32], created_at: ms(created), retired_at: retired.map(ms) }
    }

    fn ids_at(minute: i64, rows: &[Row]) -> Vec<String> {
        let now = UtcTime::from_ms(minute * 60_000);
        in_order(rows.to_vec(), now).into_iter().map(|row| row.id).collect()
    }

    #[test]
    fn a_new_key_is_published_before_it_signs_and_a_former_one_outlives_its_tokens() {
        assert_eq!(ids_at(0, &[row("a", 0, None)]), ["a"]);
        let rows = [row("a", 0, Some(102)), row("b", 100, None)];
        assert_eq!(ids_at(100, &rows), ["a", "b"]);
        assert_eq!(ids_at(101, &rows), ["a", "b"]);
        assert_eq!(ids_at(102, &rows), ["b", "a"]);
        assert_eq!(ids_at(118, &rows), ["b", "a"]);
        assert_eq!(ids_at(119, &rows), ["b"]);
    }
}
