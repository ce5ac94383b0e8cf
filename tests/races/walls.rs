//! What must be true of the database afterwards, asked in SQL and beside the program.

use std::cell::Cell;
use std::collections::BTreeMap;

use baywright_core::platform::db::{Conn, Db, Scope};
use baywright_core::platform::fail::{DbError, Fail};
use baywright_core::platform::identity::Studio;
use baywright_core::platform::record;
use diesel::connection::SimpleConnection;
use diesel::sql_types::{BigInt, Text};
use diesel::{QueryableByName, RunQueryDsl, sql_query};

use baywright_tests::engine::Engine;

/// Pairs of live rows of one bay, or one person, that overlap.
const BAYS: &str = "SELECT CAST(COUNT(*) AS BIGINT) AS many FROM booking_stay a JOIN booking_stay b \
    ON a.bay_id = b.bay_id AND a.id < b.id AND a.starts < b.finishes AND b.starts < a.finishes WHERE a.live AND b.live";
/// Pairs of live stays of one car that overlap.
const CARS: &str = "SELECT CAST(COUNT(*) AS BIGINT) AS many FROM booking_stay a JOIN booking_stay b \
    ON a.vehicle_id = b.vehicle_id AND a.id < b.id AND a.starts < b.finishes AND b.starts < a.finishes \
    WHERE a.live AND b.live";
const PEOPLE: &str = "SELECT CAST(COUNT(*) AS BIGINT) AS many FROM attendance a JOIN attendance b \
    ON a.person_id = b.person_id AND a.id < b.id AND a.starts < b.finishes AND b.starts < a.finishes \
    WHERE a.live AND b.live";

#[derive(QueryableByName)]
struct Many {
    #[diesel(sql_type = BigInt)]
    many: i64,
}

#[derive(QueryableByName)]
struct Counted {
    #[diesel(sql_type = Text)]
    id: String,
    #[diesel(sql_type = BigInt)]
    many: i64,
}

fn many(conn: &mut Conn, sql: &str) -> Result<i64, Fail> {
    let row: Many = sql_query(sql).get_result(conn).map_err(DbError::from)?;
    Ok(row.many)
}

fn counted(conn: &mut Conn, sql: &str) -> Result<BTreeMap<String, i64>, Fail> {
    let rows: Vec<Counted> = sql_query(sql).load(conn).map_err(DbError::from)?;
    Ok(rows.into_iter().map(|row| (row.id, row.many)).collect())
}

fn said(fail: Fail) -> String {
    format!("{fail:?}")
}

/// No two cars are in one bay at once, and nobody is at two cars; and live rows belong to live bookings.
pub(crate) fn nothing_overlaps(db: &Db, engine: Engine) -> Result<(), String> {
    let found = db.read(|conn| Ok((many(conn, BAYS)?, many(conn, PEOPLE)?, many(conn, CARS)?))).map_err(said)?;
    if found != (0, 0, 0) {
        let (bays, people, cars) = found;
        return Err(format!(
            "pairs in one bay: {bays}, of steps of one person: {people}, of places of one car: {cars}"
        ));
    }
    let stray = "SELECT CAST(COUNT(*) AS BIGINT) AS many FROM placement p JOIN booking b \
        ON b.shop_id = p.shop_id AND b.id = p.booking_id WHERE p.live <> (b.state NOT IN ('CANCELLED', 'MISSED'))";
    let stray = db.read(|conn| many(conn, stray)).map_err(said)?;
    if stray != 0 {
        return Err(format!("{stray} places are live without their booking, or the other way round"));
    }
    let alone = "SELECT CAST(COUNT(*) AS BIGINT) AS many FROM attendance a WHERE a.live AND a.helps AND NOT EXISTS (\
        SELECT 1 FROM attendance b WHERE b.booking_id = a.booking_id AND b.place = a.place AND b.live AND NOT b.helps \
        AND b.person_id <> a.person_id AND b.starts = a.starts AND b.finishes = a.finishes)";
    let alone = db.read(|conn| many(conn, alone)).map_err(said)?;
    if alone != 0 {
        return Err(format!("{alone} people help nobody"));
    }
    would_be_seen(db, engine)
}

/// Whether two people were ever booked for one step, so that they were raced for.
pub(crate) fn some_help(db: &Db) -> Result<(), String> {
    let helped = "SELECT CAST(COUNT(*) AS BIGINT) AS many FROM attendance WHERE helps";
    let helped = db.read(|conn| many(conn, helped)).map_err(said)?;
    if helped == 0 { Err("nobody was booked to help".to_owned()) } else { Ok(()) }
}

/// The question itself is put to the test: without its wall, one car is put into another's place, and must be found.
fn would_be_seen(db: &Db, engine: Engine) -> Result<(), String> {
    let wall = match engine {
        Engine::Sqlite => "DROP TRIGGER booking_stay_update_overlap",
        Engine::Postgres => "ALTER TABLE booking_stay DROP CONSTRAINT booking_stay_overlap",
    };
    let there = "UPDATE booking_stay SET \
        bay_id = (SELECT bay_id FROM booking_stay WHERE live ORDER BY id LIMIT 1), \
        starts = (SELECT starts FROM booking_stay WHERE live ORDER BY id LIMIT 1), \
        finishes = (SELECT finishes FROM booking_stay WHERE live ORDER BY id LIMIT 1) \
        WHERE id = (SELECT MAX(id) FROM booking_stay WHERE live)";
    let found = Cell::new(0);
    let undone = db.write(Scope::Program, |conn| -> Result<(), Fail> {
        conn.batch_execute(wall).map_err(DbError::from)?;
        conn.batch_execute(there).map_err(DbError::from)?;
        found.set(many(conn, BAYS)?);
        Err(Fail::unexpected("undo it"))
    });
    match undone {
        Err(Fail::Unexpected(_)) if found.get() > 0 => Ok(()),
        other => Err(format!("an overlap made on purpose was not found: {} {other:?}", found.get())),
    }
}

/// The bookings are those that the clients were told of, each in the version they were told last: nothing that was
/// acknowledged is lost, and nothing happened twice or unasked.
pub(crate) fn as_told(db: &Db, told: &BTreeMap<String, i64>) -> Result<(), String> {
    let there = db.read(|conn| counted(conn, "SELECT id, version AS many FROM booking")).map_err(said)?;
    let lost = told.iter().filter(|(id, version)| there.get(*id) != Some(version)).count();
    let extra = there.iter().filter(|(id, _)| !told.contains_key(*id)).count();
    if lost + extra > 0 {
        return Err(format!(
            "of {} bookings {lost} are not as they were told, and {extra} were never told",
            there.len()
        ));
    }
    Ok(())
}

/// Nothing is half done: each version of a booking has its record in the log, and each agreed place its mail. A reminder
/// that the program gives meanwhile is a record about a booking, and no version of it.
pub(crate) fn nothing_is_half_done(db: &Db, mailed: bool) -> Result<(), String> {
    let counts = db
        .read(|conn| {
            let versions = counted(conn, "SELECT id, version AS many FROM booking")?;
            let records = "SELECT subject_id AS id, CAST(COUNT(*) AS BIGINT) AS many FROM record \
                WHERE subject_kind = 'booking' AND action <> 'reminder.given' GROUP BY subject_id";
            let records = counted(conn, records)?;
            let booked = "SELECT CAST(COUNT(*) AS BIGINT) AS many FROM record WHERE action = 'booking.booked'";
            let mails = "SELECT CAST(COUNT(*) AS BIGINT) AS many FROM message WHERE kind = 'booking.booked'";
            Ok((versions, records, many(conn, booked)?, many(conn, mails)?))
        })
        .map_err(said)?;
    let (versions, records, booked, mails) = counts;
    let unlike = versions.iter().find(|(id, version)| records.get(*id) != Some(version));
    if let Some((id, version)) = unlike.or_else(|| records.iter().find(|(id, _)| !versions.contains_key(*id))) {
        // Each once, with its place in the log, since a booking may be moved to the same place twice.
        let of_it = format!(
            "SELECT CAST(seq AS TEXT) || ' ' || action || ' ' || detail AS id, at AS many FROM record \
             WHERE subject_id = '{id}'"
        );
        let log = db.read(|conn| counted(conn, &of_it)).map_err(said)?;
        return Err(format!("booking {id} is in version {version}, and the log says of it: {log:#?}"));
    }
    let wanted = if mailed { booked } else { 0 };
    if mails != wanted {
        return Err(format!("{booked} places were agreed, and {mails} mails say so instead of {wanted}"));
    }
    Ok(())
}

/// There is one customer, one record of the log and one kept answer for each key of the race for them.
pub(crate) fn customers_of_keys(db: &Db, keys: i64) -> Result<(), String> {
    let ask = |sql: &str| db.read(|conn| many(conn, sql)).map_err(said);
    let there = "SELECT CAST(COUNT(*) AS BIGINT) AS many FROM customer WHERE name LIKE 'Key %'";
    let names = "SELECT CAST(COUNT(DISTINCT name) AS BIGINT) AS many FROM customer WHERE name LIKE 'Key %'";
    let records = "SELECT CAST(COUNT(*) AS BIGINT) AS many FROM record r JOIN customer c \
        ON c.shop_id = r.shop_id AND c.id = r.subject_id WHERE r.subject_kind = 'customer' AND c.name LIKE 'Key %'";
    let kept = "SELECT CAST(COUNT(*) AS BIGINT) AS many FROM idempotency WHERE key LIKE 'one-key-%'";
    let found = [ask(there)?, ask(names)?, ask(records)?, ask(kept)?];
    if found == [keys; 4] {
        return Ok(());
    }
    Err(format!("{keys} keys, and customers, names, records of the log and answers kept: {found:?}"))
}

/// The log of every shop is whole, and each record's digest is right; gives how many there are.
pub(crate) fn the_log_is_whole(db: &Db) -> Result<i64, String> {
    let mut all = 0;
    for shop in db.read(Studio::all).map_err(said)? {
        let (mut seq, mut previous) = (0, record::START.to_owned());
        loop {
            let rows = db.read(|conn| Ok(record::after(conn, &shop, seq, 1_000)?)).map_err(said)?;
            if rows.is_empty() {
                break;
            }
            for row in rows {
                let digest = row.expected_digest().map_err(said)?;
                if row.seq != seq + 1 || row.previous != previous || row.digest != digest {
                    return Err(format!("record {} of the log is not the one that was written", seq + 1));
                }
                (seq, previous) = (row.seq, digest);
            }
        }
        all += seq;
    }
    Ok(all)
}
