//! A day: what stands in each bay.

use baywright_domain::calendar::{Zone, ZoneRules};
use chrono::NaiveDate;
use rusqlite::{Connection, Row, Statement};

use super::json::{Object, list, now};

/// The statements over a day.
pub(super) struct Days {
    bays: Statement<'static>,
    bookings: Statement<'static>,
    here: Statement<'static>,
    currency: String,
    zone: Zone,
}

const COLUMNS: &str = "SELECT b.id, b.version, b.state, b.quote_id, b.plan_id, b.customer_id, c.name, b.vehicle_id,
    v.make || CASE v.model WHEN '' THEN '' ELSE ' ' || v.model END || CASE coalesce(v.colour, '') WHEN '' THEN '' ELSE ' ' || v.colour END,
    v.registration, p.bay_id, p.starts, p.finishes, b.hold_until, b.deposit, b.deposit_received_at, b.note, b.reason,
    b.booked_at, b.arrived_at, b.ready_at, b.handed_over_at, b.ended_at, b.created_at, b.updated_at,
    p.finishes + p.promise_margin, b.hands, b.fits, p.standing AND p.live, s.bay_id, s.starts, s.finishes
    FROM placement p JOIN booking_stay s ON s.shop_id = p.shop_id AND s.booking_id = p.booking_id AND s.ordinal = 0
    JOIN booking b ON b.id = p.booking_id JOIN customer c ON c.id = b.customer_id
    JOIN vehicle v ON v.id = b.vehicle_id WHERE p.shop_id = (SELECT id FROM shop) AND";

/// What has its place on the day.
const PLACED: &str = "p.finishes > ?1 AND p.finishes < ?2 + 129600 AND p.starts < ?2
    AND b.state NOT IN ('CANCELLED', 'MISSED') AND (b.hold_until IS NULL OR b.hold_until > ?3)";

/// What is here on the day, though its place may be on another one.
const HERE: &str = "p.finishes > ?1 - 129600 AND p.finishes < ?2 + 129600 AND p.live AND b.state IN ('IN_BAY', 'READY')
    AND b.arrived_at < ?2 * 60000 AND ?3 >= ?1 * 60000 AND NOT (p.finishes > ?1 AND p.starts < ?2)";

const MINUTE: i64 = 60_000;

/// Start and id of a booking, by which a bay's list is sorted, and the booking as JSON.
type Listed = (i64, String, String);

impl Days {
    pub(super) fn new(conn: &'static Connection) -> Self {
        Self {
            bays: conn.prepare("SELECT id, name FROM bay ORDER BY id").unwrap(),
            bookings: conn.prepare(&format!("{COLUMNS} {PLACED}")).unwrap(),
            here: conn.prepare(&format!("{COLUMNS} {HERE}")).unwrap(),
            currency: conn.query_row("SELECT currency FROM shop", [], |row| row.get(0)).unwrap(),
            zone: Zone::named(&conn.query_row::<String, _, _>("SELECT zone FROM shop", [], |row| row.get(0)).unwrap())
                .unwrap(),
        }
    }

    /// The day as JSON, where it is one.
    pub(super) fn get(&mut self, date: &str) -> Option<String> {
        let day: NaiveDate = date.parse().ok()?;
        let day = self.zone.day(day)?;
        let (start, finish) = (day.from().get() * MINUTE, day.to().get() * MINUTE);
        let mut bays: Vec<(String, String, Vec<Listed>)> = Vec::new();
        let mut rows = self.bays.query([]).unwrap();
        while let Some(row) = rows.next().unwrap() {
            bays.push((row.get(0).unwrap(), row.get(1).unwrap(), Vec::new()));
        }
        for statement in [&mut self.bookings, &mut self.here] {
            let mut rows = statement.query([start / MINUTE, finish / MINUTE, now()]).unwrap();
            while let Some(row) = rows.next().unwrap() {
                let here = row.get_ref(10).unwrap().as_str().unwrap();
                if let Some((_, _, bookings)) = bays.iter_mut().find(|(bay, _, _)| bay == here) {
                    bookings.push((row.get(11).unwrap(), row.get(0).unwrap(), booking(row, &self.currency)));
                }
            }
        }
        for (_, _, bookings) in &mut bays {
            bookings.sort();
        }
        let mut out = String::with_capacity(16_000);
        let mut whole = Object::start(&mut out);
        whole.text("date", Some(date));
        whole.moment("start", Some(start));
        whole.moment("finish", Some(finish));
        list(whole.name("bays"), bays.iter(), |out, (id, name, bookings)| {
            let mut bay = Object::start(out);
            bay.text("id", Some(id));
            bay.text("name", Some(name));
            list(bay.name("bookings"), bookings.iter(), |out, (_, _, booking)| out.push_str(booking));
            bay.end();
        });
        whole.end();
        Some(out)
    }
}

/// What `undo` takes back in a state that a day shows.
fn last_move(state: &str) -> Option<&'static str> {
    Some(match state {
        "IN_BAY" => "ARRIVE",
        "READY" => "MAKE_READY",
        "HANDED_OVER" => "HAND_OVER",
        _ => return None,
    })
}

fn booking(row: &Row<'_>, currency: &str) -> String {
    let mut out = String::with_capacity(1200);
    let mut one = Object::start(&mut out);
    one.column("id", row, 0);
    one.number("version", row.get(1).unwrap());
    one.column("state", row, 2);
    one.text("last_move", last_move(row.get_ref(2).unwrap().as_str().unwrap()));
    for (name, at) in [("quote_id", 3), ("plan_id", 4), ("customer_id", 5), ("customer_name", 6)] {
        one.column(name, row, at);
    }
    for (name, at) in [("vehicle_id", 7), ("vehicle_name", 8), ("registration", 9), ("bay_id", 10)] {
        one.column(name, row, at);
    }
    // None of these cars changes bays.
    list(one.name("stays"), std::iter::once(()), |out, ()| {
        let mut stay = Object::start(out);
        stay.column("bay_id", row, 29);
        for (name, at) in [("start", 30), ("finish", 31)] {
            stay.moment(name, Some(row.get::<_, i64>(at).unwrap() * MINUTE));
        }
        stay.end();
    });
    for (name, at) in [("start", 11), ("finish", 12), ("promised", 25)] {
        one.moment(name, row.get::<_, Option<i64>>(at).unwrap().map(|minute| minute * MINUTE));
    }
    one.column("hands", row, 26);
    for (name, at) in [("fits", 27), ("stands_in_bay", 28)] {
        one.raw(name, if row.get(at).unwrap() { "true" } else { "false" });
    }
    let (deposit, received): (Option<i64>, Option<i64>) = (row.get(14).unwrap(), row.get(15).unwrap());
    one.moment("hold_until", row.get(13).unwrap());
    one.amount("deposit", deposit, currency);
    one.raw("deposit_due", if deposit.is_some() && received.is_none() { "true" } else { "false" });
    one.moment("deposit_received_at", received);
    one.column("note", row, 16);
    one.column("reason", row, 17);
    let moments = ["booked_at", "arrived_at", "ready_at", "handed_over_at", "ended_at"];
    for (name, at) in moments.into_iter().zip(18..) {
        one.moment(name, row.get(at).unwrap());
    }
    one.raw("pieces", "[]");
    one.moment("created_at", row.get(23).unwrap());
    one.moment("updated_at", row.get(24).unwrap());
    one.end();
    out
}
