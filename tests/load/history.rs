//! A shop with many years of bookings: before a quarter of a year and after it, and the same few within.

use std::path::Path;

use baywright_tests::person::Person;
use chrono::{NaiveDate, NaiveTime};
use rusqlite::{Connection, named_params};
use serde_json::json;

use crate::bookings::floor;

/// Days that a question about the diary looks ahead, and one more.
const QUARTER_DAYS: i64 = 91;
/// Days of the quarter on which every bay is taken from morning to evening.
const FULL_DAYS: u64 = 30;
/// So many bookings are in the quarter, whatever the size: one a day in each of three bays.
const IN_QUARTER: u64 = FULL_DAYS * 3;

/// The quote asked about, and one like it whose rows the bookings are copied from.
pub(crate) fn set_up(base: &str, token: &str) {
    let owner = Person::new(base, Some(token.to_owned()));
    let (_, vehicle) = floor(&owner);
    // A car is in one bay at a time, so each bay has a car of its own, and the one that is asked about is in none.
    for _ in 0..3 {
        owner.add_customer_with_car();
    }
    let coating: &[&str] = &["coating"];
    let quotes = owner.signed_quotes(&vehicle, &[coating, coating], None);
    println!("{}", json!({ "quote": quotes[0], "pattern": quotes[1] }));
}

/// Rows from 0 up to `:count`: when each booking is, and in which bay. Outside the quarter each bay has sixteen half
/// hours a day, every day: two thirds of the bookings end before `:first`, the last at its midnight, and are handed over
/// and no longer live; the others begin a quarter later.
const PLACES: &str = "
CREATE TEMP TABLE place AS
WITH RECURSIVE n(n) AS (SELECT 0 UNION ALL SELECT n + 1 FROM n WHERE n + 1 < :count),
    past(days) AS (SELECT (:past + 47) / 48),
    at(n, bay, starts, minutes, live) AS (
        SELECT n, n % 3, :first + (n / 48 - days) * 1440 + 480 + n / 3 % 16 * 30, 30, 0 FROM n, past WHERE n < :past
        UNION ALL
        SELECT n, n % 3, :first + (n - :past) / 3 * 1440 + 480, 540, 1 FROM n WHERE n >= :past AND n < :past + :within
        UNION ALL
        SELECT n, n % 3, :first + (:quarter + (n - :past - :within) / 48) * 1440 + 480 + (n - :past - :within) / 3 % 16 * 30, 30, 1
        FROM n WHERE n >= :past + :within)
SELECT n, printf('placed-%09d', n) AS id, bay.id AS bay_id, person.id AS person_id, car.id AS car_id, starts,
    starts + minutes AS finishes, live
FROM at JOIN (SELECT id, row_number() OVER (ORDER BY id) - 1 AS place FROM bay) AS bay ON bay.place = at.bay
    JOIN (SELECT id, row_number() OVER (ORDER BY id) - 1 AS place FROM person WHERE role = 'TECHNICIAN') AS person
    ON person.place = at.bay
    JOIN (SELECT id, row_number() OVER (ORDER BY id) - 2 AS place FROM vehicle) AS car ON car.place = at.bay
ORDER BY n";

/// A quote, a booking, a place, its one bay and a piece of somebody's work for each.
const ROWS: [&str; 5] = [
    "INSERT INTO quote (id, shop_id, number, series, year, counter, customer_id, vehicle_id, latest, version, created_at, updated_at)
     SELECT place.id, shop_id, place.id, 'placed', 2000, n + 1, customer_id, car_id, latest, version, created_at, updated_at
     FROM place, quote WHERE quote.id = :pattern",
    "INSERT INTO booking (id, shop_id, quote_id, plan_id, customer_id, vehicle_id, state, booked_at, arrived_at, ready_at,
        handed_over_at, note, version, created_at, updated_at)
     SELECT place.id, shop_id, place.id, plan.id, customer_id, car_id, iif(live, 'BOOKED', 'HANDED_OVER'), created_at,
        iif(live, NULL, starts * 60000), iif(live, NULL, finishes * 60000), iif(live, NULL, finishes * 60000), '', 1,
        created_at, created_at
     FROM place, plan WHERE plan.quote_id = :pattern",
    "INSERT INTO placement (id, shop_id, booking_id, bay_id, starts, finishes, live, vehicle_id)
     SELECT place.id, shop_id, place.id, bay_id, starts, finishes, live, car_id FROM place, quote WHERE quote.id = :pattern",
    "INSERT INTO booking_stay (id, shop_id, booking_id, ordinal, bay_id, starts, finishes, live, vehicle_id)
     SELECT place.id, shop_id, place.id, 0, bay_id, starts, finishes, live, car_id
     FROM place, quote WHERE quote.id = :pattern",
    "INSERT INTO attendance (id, shop_id, booking_id, person_id, step, place, starts, finishes, live)
     SELECT place.id, shop_id, place.id, person_id, 'machine', 0, starts, finishes, live
     FROM place, quote WHERE quote.id = :pattern",
];

/// Copies a shop's file and books into the copy, so that it has `count` bookings around the quarter that begins with
/// the day `first`.
pub(crate) fn fill(file: &Path, copy: &Path, pattern: &str, first: NaiveDate, count: u64) {
    let whole = |number: u64| i64::try_from(number).unwrap();
    let outside =
        count.checked_sub(IN_QUARTER).unwrap_or_else(|| panic!("{count} bookings are too few: {IN_QUARTER} at least"));
    let past = outside * 2 / 3;
    let minute = first.and_time(NaiveTime::MIN).and_utc().timestamp() / 60;
    Connection::open(file).unwrap().execute("VACUUM INTO ?1", [copy.to_str().unwrap()]).unwrap();
    let mut conn = Connection::open(copy).unwrap();
    // Nothing is lost where this is cut short: the copy is made anew.
    conn.execute_batch(
        "PRAGMA synchronous = OFF; PRAGMA cache_size = -400000; PRAGMA temp_store = MEMORY; PRAGMA foreign_keys = OFF",
    )
    .unwrap();
    let tx = conn.transaction().unwrap();
    tx.execute(
        PLACES,
        named_params! { ":count": whole(count), ":past": whole(past), ":within": whole(IN_QUARTER), ":first": minute,
        ":quarter": QUARTER_DAYS },
    )
    .unwrap();
    for rows in ROWS {
        let written = tx.execute(rows, named_params! { ":pattern": pattern }).unwrap();
        assert_eq!(u64::try_from(written).unwrap(), count, "{rows}");
    }
    let lost: Option<String> = {
        let mut check = tx.prepare("PRAGMA foreign_key_check").unwrap();
        let mut rows = check.query([]).unwrap();
        rows.next().unwrap().map(|row| row.get_unwrap(0))
    };
    assert_eq!(lost, None, "a row points nowhere");
    let (first, last): (i64, i64) = tx
        .query_row("SELECT min(starts), max(finishes) FROM placement", [], |row| Ok((row.get(0)?, row.get(1)?)))
        .unwrap();
    tx.commit().unwrap();
    println!("{}", json!({ "bookings": count, "within": IN_QUARTER, "days": (last - first) / 1440 }));
}
