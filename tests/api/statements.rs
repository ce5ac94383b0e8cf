//! Number of statements that each operation sends to the database, compared with the table in `statements.txt`.
//!
//! The counter is the instrumentation of the whole process, so a test here needs a process of its own, as nextest gives it.

use std::collections::BTreeMap;
use std::sync::{Mutex, PoisonError};

use baywright_tests::engine::Engine;
use baywright_tests::make::booking::floor_menu;
use baywright_tests::make::customer;
use baywright_tests::make::quote::id;
use baywright_tests::{Studio, on_each_engine};
use diesel::connection::{Instrumentation, InstrumentationEvent, set_default_instrumentation};
use serde_json::json;

const FILE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/api/statements.txt");

/// Largest numbers that the operations used most may ever have, whatever the table says.
const LIMITS: [(&str, usize); 4] = [
    ("GET /v1/quotes", 3),
    ("GET /v1/quotes, three of them", 3),
    ("GET /v1/quotes/{id}, sent", 5),
    ("GET /v1/quotes/{id}, signed", 5),
];

/// Statements that were sent since they were last taken.
static SENT: Mutex<Vec<String>> = Mutex::new(Vec::new());

fn taken() -> Vec<String> {
    std::mem::take(&mut *SENT.lock().unwrap_or_else(PoisonError::into_inner))
}

/// Whether a statement reads or changes rows. Others begin and end transactions, set limits of time, or take locks.
fn is_counted(statement: &str) -> bool {
    let verbs = ["SELECT", "INSERT", "UPDATE", "DELETE", "WITH"];
    verbs.iter().any(|verb| statement.starts_with(verb)) && !statement.contains("pg_advisory_")
}

#[allow(clippy::unnecessary_wraps, reason = "the library asks for an option")]
fn counter() -> Option<Box<dyn Instrumentation>> {
    Some(Box::new(|event: InstrumentationEvent<'_>| {
        if let InstrumentationEvent::StartQuery { query, .. } = event {
            let statement = query.to_string();
            if is_counted(&statement) {
                SENT.lock().unwrap_or_else(PoisonError::into_inner).push(statement);
            }
        }
    }))
}

/// The statements of each operation.
#[derive(Default)]
struct Found(Vec<(String, Vec<String>)>);

impl Found {
    /// Does one request, and keeps its statements under that name.
    fn of<T>(&mut self, name: &str, request: impl FnOnce() -> T) -> T {
        drop(taken());
        let answer = request();
        self.0.push((name.to_owned(), taken()));
        answer
    }
}

/// One car from the new customer to the first finished step, with the reads on the way.
fn measured(studio: &Studio) -> Found {
    let (mut found, owner) = (Found::default(), studio.owner());
    studio.floor();
    owner.publish_menu_with(&floor_menu(), &json!({}));
    let body = customer::body("Aoife Byrne");
    let customer = found.of("POST /v1/customers", || owner.post("/v1/customers", &body).expect(201));
    let vehicle = owner.add_vehicle(&id(&customer), "231-D-10101");
    let draft = json!({ "condition": "FAIR", "lines": [{ "item": { "service": "coating" } }] });
    let written = found.of("POST /v1/quotes", || owner.write_quote(&id(&vehicle), &draft).expect(201));
    let quote = id(&written);
    let path = format!("/v1/quotes/{quote}");
    found.of("GET /v1/quotes/{id}, a draft", || owner.get(&path).expect(200));
    let silent = json!({ "by_mail": false });
    let sent = found.of("POST /v1/quotes/{id}/send", || owner.move_quote(&written, "send", &silent).expect(200));
    found.of("GET /v1/quotes/{id}, sent", || owner.get(&path).expect(200));
    found.of("POST /v1/quotes/{id}/sign-off", || owner.note_yes(&sent, &[]).expect(200));
    found.of("GET /v1/quotes/{id}, signed", || owner.get(&path).expect(200));
    found.of("GET /v1/quotes/{id}/plan", || owner.get(&format!("{path}/plan")).expect(200));
    let times = found.of("GET /v1/quotes/{id}/availability", || owner.times(&quote, 1));
    let (bay, start) = (times[0]["bay_id"].as_str().unwrap(), times[0]["start"].as_str().unwrap());
    let booking = found.of("POST /v1/bookings", || owner.place(&quote, bay, start, false).expect(201));
    let arrive = "arrive?confirm=bay-not-cleared,arrival-on-another-day";
    let arrived = || owner.move_booking(&booking, arrive, &json!({})).expect(200);
    found.of("POST /v1/bookings/{id}/arrive", arrived);
    let job = id(&owner.get("/v1/jobs").expect(200)["items"][0]);
    let step = format!("/v1/jobs/{job}/steps/wash");
    for (verb, body) in [("start", json!({})), ("finish", json!({ "used": [] }))] {
        let etag = owner.get(&step).etag();
        let name = format!("POST /v1/jobs/{{id}}/steps/{{code}}/{verb}");
        found.of(&name, || owner.act(&format!("{step}/{verb}"), &etag, &body).expect(200));
    }
    for (name, path) in [
        ("GET /v1/customers/{id}", format!("/v1/customers/{}", id(&customer))),
        ("GET /v1/vehicles/{id}", format!("/v1/vehicles/{}", id(&vehicle))),
        ("GET /v1/bookings/{id}", format!("/v1/bookings/{}", id(&booking))),
        ("GET /v1/jobs/{id}", format!("/v1/jobs/{job}")),
        ("GET /v1/visits/{id}", format!("/v1/visits/{quote}")),
        ("GET /v1/me", "/v1/me".to_owned()),
        ("GET /v1/shop", "/v1/shop".to_owned()),
        ("GET /v1/menu", "/v1/menu".to_owned()),
    ] {
        found.of(name, || owner.get(&path).expect(200));
    }
    lists(studio, &mut found, "");
    for (name, registration) in [("Nora Byrne", "231-D-20202"), ("Ciara Byrne", "231-D-30303")] {
        let vehicle = owner.add_vehicle(&id(&owner.add_customer(name)), registration);
        let quote = owner.signed_quotes(&id(&vehicle), &[&["wash"]], None).remove(0);
        owner.book_first(&quote);
    }
    // A list that asks once for each of its records shows it here.
    lists(studio, &mut found, ", three of them");
    found
}

/// Reads every list, and the day.
fn lists(studio: &Studio, found: &mut Found, how_many: &str) {
    let owner = studio.owner();
    let lists = ["quotes", "customers", "vehicles", "bookings", "jobs", "visits", "invoices", "enquiries", "messages"];
    for list in lists.into_iter().chain(["payments", "people", "bays", "today"]) {
        let path = format!("/v1/{list}");
        found.of(&format!("GET {path}{how_many}"), || owner.get(&path).expect(200));
    }
}

/// Name of an operation, and its numbers for SQLite and PostgreSQL; `None` for an engine that was not measured.
type Table = BTreeMap<String, [Option<usize>; 2]>;

/// The text before the table, and the table.
fn written() -> (String, Table) {
    let text = std::fs::read_to_string(FILE).unwrap();
    let (head, rows) = text.split_once("\n\n").unwrap();
    let row = |line: &str| {
        let parts: [&str; 3] = line.split(" | ").collect::<Vec<_>>().try_into().ok()?;
        let [name, sqlite, postgres] = parts;
        Some((name.to_owned(), [sqlite, postgres].map(|number| number.parse::<usize>().ok())))
    };
    (head.to_owned(), rows.lines().filter_map(row).collect())
}

fn write(head: &str, table: &Table) {
    let number = |number: Option<usize>| number.map_or_else(|| "?".to_owned(), |number| number.to_string());
    let row = |(name, [sqlite, postgres]): (&String, &[Option<usize>; 2])| {
        format!("{name} | {} | {}", number(*sqlite), number(*postgres))
    };
    let rows: Vec<String> = table.iter().map(row).collect();
    std::fs::write(FILE, format!("{head}\n\n{}\n", rows.join("\n"))).unwrap();
}

#[test]
fn an_operation_sends_as_many_statements_as_the_table_says() {
    set_default_instrumentation(counter).unwrap();
    let anew = std::env::var("BAYWRIGHT_TEST_WRITE_STATEMENTS").is_ok();
    on_each_engine(|studio| {
        let (head, mut table) = written();
        let column = usize::from(studio.engine == Engine::Postgres);
        let found = measured(studio);
        if anew {
            table.retain(|name, _| found.0.iter().any(|(known, _)| known == name));
        }
        let mut faults = Vec::new();
        for (name, sent) in &found.0 {
            assert!(!sent.is_empty(), "{name}: no statement was seen");
            let numbers = table.entry(name.clone()).or_default();
            if anew {
                numbers[column] = Some(sent.len());
            } else if numbers[column] != Some(sent.len()) {
                let says = numbers[column].map_or_else(|| "nothing".to_owned(), |number| number.to_string());
                faults.push(format!("{name}: {}, the table says {says}:\n  {}", sent.len(), sent.join("\n  ")));
            }
            let limit = LIMITS.iter().find(|(limited, _)| limited == name);
            assert!(limit.is_none_or(|(_, most)| sent.len() <= *most), "{name}: {sent:?}");
        }
        let gone = |name: &&String| !found.0.iter().any(|(known, _)| known == *name);
        faults
            .extend(table.keys().filter(gone).map(|name| format!("{name}: the table has it, and nothing measures it")));
        if anew {
            write(&head, &table);
        }
        assert!(faults.is_empty(), "{:?}\n{}", studio.engine, faults.join("\n"));
    });
}
