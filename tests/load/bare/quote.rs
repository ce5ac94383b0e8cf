//! Quotes with their latest revision.

use rusqlite::{Connection, OptionalExtension, Row, Statement};

use super::json::{Object, list, now};

/// The statements over quotes.
pub(super) struct Quotes {
    page: Statement<'static>,
    one: Statement<'static>,
    states: Statement<'static>,
    fits: Statement<'static>,
    base: String,
    currency: String,
}

const PAGE: &str = "SELECT q.id, q.version, q.number, q.customer_id, q.vehicle_id, r.number, r.state, r.holds_until,
    r.payable, r.sent_at, q.created_at
    FROM quote q JOIN quote_revision r ON r.shop_id = q.shop_id AND r.quote_id = q.id AND r.number = q.latest
    WHERE q.shop_id = (SELECT id FROM shop) ORDER BY q.id DESC LIMIT ?1";

const ONE: &str = "SELECT q.id, q.version, q.number, q.customer_id, q.vehicle_id, r.number, r.state, r.holds_until,
    r.draft, r.document, r.digest, r.reason, r.decided_at, r.created_at, q.created_at, q.updated_at,
    s.id, s.method, s.typed_name, s.noted_by, s.choices, s.early_start, s.signed_at, s.document_digest, s.evidence_digest,
    s.evidence, r.explanation
    FROM quote q JOIN quote_revision r ON r.shop_id = q.shop_id AND r.quote_id = q.id AND r.number = q.latest
    LEFT JOIN signoff s ON s.shop_id = r.shop_id AND s.subject_kind = 'QUOTE' AND s.subject_id = r.id WHERE q.id = ?1";

const FITS: &str = "SELECT fits FROM booking WHERE shop_id = (SELECT id FROM shop) AND quote_id = ?1
    AND state NOT IN ('CANCELLED', 'MISSED') AND (hold_until IS NULL OR hold_until > ?2)";

impl Quotes {
    pub(super) fn new(conn: &'static Connection, base: &str, currency: String) -> Self {
        let states = "SELECT number, state FROM quote_revision WHERE shop_id = (SELECT id FROM shop) AND quote_id = ?1
            ORDER BY number";
        Self {
            page: conn.prepare(PAGE).unwrap(),
            one: conn.prepare(ONE).unwrap(),
            states: conn.prepare(states).unwrap(),
            fits: conn.prepare(FITS).unwrap(),
            base: base.to_owned(),
            currency,
        }
    }

    /// The newest quotes.
    pub(super) fn list(&mut self, limit: u32) -> String {
        let (now, mut out) = (now(), String::with_capacity(32_000));
        out.push_str("{\"items\":[");
        let mut rows = self.page.query([limit]).unwrap();
        let mut first = true;
        while let Some(row) = rows.next().unwrap() {
            if !first {
                out.push(',');
            }
            first = false;
            let mut quote = head(&mut out, row);
            quote.number("revision", row.get(5).unwrap());
            quote.text("state", Some(state(row, now)));
            quote.amount("payable", row.get(8).unwrap(), &self.currency);
            quote.moment("sent_at", row.get(9).unwrap());
            quote.moment("holds_until", row.get(7).unwrap());
            quote.moment("created_at", row.get(10).unwrap());
            quote.end();
        }
        out.push_str("],\"next\":null,\"prev\":null,\"self\":\"");
        out.push_str(&self.base);
        out.push_str("/v1/quotes?limit=");
        out.push_str(&limit.to_string());
        out.push_str("\"}");
        out
    }

    /// One quote.
    pub(super) fn get(&mut self, id: &str) -> Option<String> {
        let now = now();
        let mut rows = self.states.query([id]).unwrap();
        let mut states: Vec<(i64, String)> = Vec::new();
        while let Some(row) = rows.next().unwrap() {
            states.push((row.get(0).unwrap(), row.get(1).unwrap()));
        }
        drop(rows);
        let fits: Option<bool> = self.fits.query_row(rusqlite::params![id, now], |row| row.get(0)).optional().unwrap();
        let one = self.one.query_row([id], |row| {
            let mut out = String::with_capacity(32_000);
            let mut quote = head(&mut out, row);
            latest(quote.name("latest"), row, state(row, now));
            if let Some(last) = states.last_mut() {
                state(row, now).clone_into(&mut last.1);
            }
            list(quote.name("revisions"), states.iter(), |out, (number, state)| {
                let mut one = Object::start(out);
                one.number("number", *number);
                one.text("state", Some(state));
                one.end();
            });
            quote.raw("booking_fits", fits.map_or("null", |fits| if fits { "true" } else { "false" }));
            quote.moment("created_at", row.get(14)?);
            quote.moment("updated_at", row.get(15)?);
            quote.end();
            Ok(out)
        });
        one.optional().unwrap()
    }
}

fn head<'o>(out: &'o mut String, row: &Row<'_>) -> Object<'o> {
    let mut quote = Object::start(out);
    quote.column("id", row, 0);
    quote.number("version", row.get(1).unwrap());
    quote.column("number", row, 2);
    quote.column("customer_id", row, 3);
    quote.column("vehicle_id", row, 4);
    quote
}

/// A revision that was sent and has expired counts as lapsed.
fn state<'r>(row: &'r Row<'_>, now: i64) -> &'r str {
    match row.get_ref(6).unwrap().as_str().unwrap() {
        "SENT" if row.get::<_, i64>(7).unwrap() <= now => "LAPSED",
        kept => kept,
    }
}

fn latest(out: &mut String, row: &Row<'_>, state: &str) {
    let mut revision = Object::start(out);
    revision.column("quote_id", row, 0);
    revision.number("version", row.get(1).unwrap());
    revision.number("number", row.get(5).unwrap());
    revision.text("state", Some(state));
    for (name, at) in [("draft", 8), ("document", 9)] {
        revision.raw(name, row.get_ref(at).unwrap().as_str().unwrap());
    }
    revision.raw("explanation", row.get_ref(26).unwrap().as_str_or_null().unwrap().unwrap_or("null"));
    revision.column("digest", row, 10);
    revision.column("reason", row, 11);
    revision.moment("decided_at", row.get(12).unwrap());
    match row.get::<_, Option<i64>>(22).unwrap() {
        Some(signed_at) => signoff(revision.name("signoff"), row, signed_at),
        None => revision.raw("signoff", "null"),
    }
    // Every yes of the demo says that work may start early.
    revision.raw("start_not_before", "null");
    revision.raw("early_start_agreed_at", "null");
    revision.moment("created_at", row.get(13).unwrap());
    revision.end();
}

fn signoff(out: &mut String, row: &Row<'_>, signed_at: i64) {
    let mut signoff = Object::start(out);
    signoff.column("id", row, 16);
    signoff.column("method", row, 17);
    signoff.column("typed_name", row, 18);
    signoff.column("noted_by", row, 19);
    signoff.raw("choices", row.get_ref(20).unwrap().as_str().unwrap());
    let early = row.get::<_, Option<bool>>(21).unwrap();
    signoff.raw("early_start", early.map_or("null", |early| if early { "true" } else { "false" }));
    signoff.moment("signed_at", Some(signed_at));
    signoff.column("document_digest", row, 23);
    signoff.column("evidence_digest", row, 24);
    signoff.column("evidence", row, 25);
    signoff.end();
}
