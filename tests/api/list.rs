//! What every list has in common: pages that follow each other whatever happens between them, and a count of the whole.

use std::collections::{BTreeMap, BTreeSet};

use baywright_core::platform::db::{Conn, Scope};
use baywright_core::platform::fail::{DbError, Fail};
use baywright_tests::document::{Operation, operations};
use baywright_tests::engine::Engine;
use baywright_tests::person::Person;
use baywright_tests::{Studio, on_each_engine};
use diesel::sql_types::Text;
use diesel::{RunQueryDsl, sql_query};
use proptest::collection::{btree_set, vec};
use proptest::prelude::*;
use proptest::test_runner::{Config, TestRunner};
use serde_json::Value;

use crate::matrix::work_in;

const COUNTED: (&str, &str) = ("prefer", "return=total-count");

/// The operations that answer with a page.
fn lists() -> Vec<Operation> {
    let paged = |operation: &Operation| operation.parameters().any(|parameter| parameter["name"] == "cursor");
    operations().into_iter().filter(paged).collect()
}

/// The addresses of a list: as it is, and under each word of each filter that takes words.
fn addresses(operation: &Operation, id: &str) -> Vec<String> {
    let path = operation.at(id);
    let mut all = vec![path.clone()];
    for parameter in operation.parameters().filter(|parameter| parameter["in"] == "query") {
        let name = parameter["name"].as_str().unwrap();
        let words = words(&parameter["schema"]);
        all.extend(words.iter().map(|word| format!("{path}?{name}={word}")));
        if parameter["schema"]["type"] == "boolean" {
            all.push(format!("{path}?{name}=true"));
        }
    }
    all
}

/// The words that a parameter takes, one or several of them.
pub(crate) fn words(schema: &Value) -> Vec<&str> {
    let one_of = if schema["type"] == "array" { &schema["items"] } else { schema };
    one_of["enum"].as_array().into_iter().flatten().filter_map(Value::as_str).collect()
}

/// Somebody who is a technician, since some lists are of one person.
pub(crate) fn technician(owner: &Person) -> String {
    let people = owner.get("/v1/people").expect(200);
    let found = people["items"].as_array().unwrap().iter().find(|one| one["role"] == "TECHNICIAN").unwrap();
    found["id"].as_str().unwrap().to_owned()
}

/// How many records a list has, page by page, and what each page says of the whole.
fn walked(who: &Person, address: &str) -> (usize, BTreeSet<Option<i64>>) {
    let joint = if address.contains('?') { '&' } else { '?' };
    let (mut records, mut said) = (0, BTreeSet::new());
    let mut next = Some(format!("{address}{joint}limit=2"));
    while let Some(page) = next {
        let answer = who.send("GET", &page, &[COUNTED], None);
        assert_eq!(answer.header("preference-applied"), COUNTED.1, "{}", answer.asked);
        let page = answer.expect(200);
        records += page["items"].as_array().unwrap().len();
        said.insert(page["total"].as_i64());
        next = page["next"].as_str().map(str::to_owned);
    }
    (records, said)
}

#[test]
fn every_list_says_how_many_records_it_has_under_its_filters_where_it_is_asked() {
    on_each_engine(|studio| {
        work_in(studio);
        let owner = studio.owner();
        let technician = technician(&owner);
        let mut most = BTreeMap::new();
        for operation in lists() {
            for address in addresses(&operation, &technician) {
                let (records, said) = walked(&owner, &address);
                assert_eq!(said, BTreeSet::from([Some(i64::try_from(records).unwrap())]), "{address}");
                let all = most.entry(operation.id()).or_insert(records);
                assert!(records <= *all, "{address} has more than the list without a filter");
            }
            let plain = owner.get(&operation.at(&technician));
            assert_eq!(plain.header("preference-applied"), "", "{}", plain.asked);
            assert_eq!(plain.expect(200)["total"], Value::Null);
        }
        assert!(most.values().all(|records| *records > 0), "a list without a record proves nothing: {most:?}");
        assert!(most.len() >= 20, "{most:?}");
        // Another shop counts its own: what it can't see is not in its totals either.
        let stranger = studio.stranger();
        assert_eq!(walked(&stranger, "/v1/customers"), (0, BTreeSet::from([Some(0)])));
        assert_eq!(walked(&stranger, "/v1/people"), (1, BTreeSet::from([Some(1)])));
    });
}

#[test]
fn preferences_that_are_not_known_are_not_minded() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        for unknown in ["return=minimal", "respond-async, wait=10", "=,;\"", "return=minimal, return=total-count"] {
            let answer = owner.send("GET", "/v1/customers", &[("prefer", unknown)], None);
            assert_eq!(answer.header("preference-applied"), "", "{unknown}");
            assert_eq!(answer.expect(200)["total"], Value::Null, "{unknown}");
        }
        let lines = [("prefer", "handling=lenient"), ("prefer", "Return=\"total-count\"")];
        assert_eq!(owner.send("GET", "/v1/customers", &lines, None).expect(200)["total"], 0);
        let endless = "a".repeat(201);
        owner.send("GET", "/v1/customers", &[("prefer", &endless)], None).problem(400, "malformed-request");
    });
}

/// What happens to the list between two pages: records of these numbers go, and records of those come.
type Change = (BTreeSet<u16>, BTreeSet<u16>);

/// One walk over a list that changes meanwhile.
#[derive(Debug, Clone)]
struct Walk {
    first: BTreeSet<u16>,
    limit: usize,
    changes: Vec<Change>,
}

/// Few enough numbers that the same ones go and come.
const NUMBERS: u16 = 20;

fn walks() -> impl Strategy<Value = Walk> {
    let numbers = |most: usize| btree_set(0..NUMBERS, 0..=most);
    (numbers(12), 2..=6_usize, vec((numbers(4), numbers(4)), 0..=4)).prop_map(|(first, limit, changes)| Walk {
        first,
        limit,
        changes,
    })
}

/// The list as it is in the database, and all that stood in it from `mark` on.
struct Shown<'s> {
    studio: &'s Studio,
    there: BTreeSet<u16>,
    throughout: BTreeSet<u16>,
}

fn id(number: u16) -> String {
    format!("0198c0de-0000-7000-8000-{number:012x}")
}

impl Shown<'_> {
    /// Days without work, put in and taken out beside the program: by any id, so also between those that were seen.
    fn change(&mut self, (go, come): &Change) {
        let postgres = self.studio.engine == Engine::Postgres;
        let shop = self.studio.shop().to_string();
        self.there.retain(|number| !go.contains(number));
        let new: Vec<u16> = come.difference(&self.there).copied().collect();
        let run = |conn: &mut Conn, sql: &str, id: String| {
            sql_query(sql).bind::<Text, _>(id).bind::<Text, _>(&shop).execute(conn).map_err(DbError::from)
        };
        let [delete, insert] =
            [DELETE, INSERT].map(|sql| if postgres { sql.to_owned() } else { sql.replace('$', "?") });
        let done = self.studio.db.write(Scope::Program, |conn| -> Result<(), Fail> {
            for number in go {
                run(conn, &delete, id(*number))?;
            }
            for number in &new {
                run(conn, &insert, id(*number))?;
            }
            Ok(())
        });
        done.unwrap_or_else(|fail| panic!("{fail:?}"));
        self.there.extend(new);
        self.throughout.retain(|number| !go.contains(number));
    }

    /// From now on it counts what stays.
    fn mark(&mut self) {
        self.throughout.clone_from(&self.there);
    }
}

const DELETE: &str = "DELETE FROM closure WHERE id = $1 AND shop_id = $2";
const INSERT: &str = "INSERT INTO closure (id, shop_id, from_day, until_day, reason, version, created_at, updated_at) \
    VALUES ($1, $2, '2026-12-24', '2026-12-27', '', 1, 0, 0)";

/// Follows `link` from a page to the last one, and lets the list change between them; gives the numbers seen, in order,
/// and the last page.
fn follow(
    owner: &Person,
    list: &mut Shown<'_>,
    mut page: Value,
    link: &str,
    changes: &mut impl Iterator<Item = Change>,
) -> (Vec<u16>, Value) {
    let mut seen = Vec::new();
    loop {
        let items = page["items"].as_array().unwrap().iter();
        let mut numbers: Vec<u16> =
            items.map(|item| u16::from_str_radix(&item["id"].as_str().unwrap()[24..], 16).unwrap()).collect();
        if link == "prev" {
            numbers.reverse();
        }
        seen.extend(numbers);
        let Some(next) = page[link].as_str() else { return (seen, page) };
        if let Some(change) = changes.next() {
            list.change(&change);
        }
        page = owner.get(next).expect(200);
    }
}

/// Each number once, in the list's order, and all that stood in it the whole time.
fn nothing_is_missed(list: &Shown<'_>, seen: &[u16], newest_first: bool) -> Result<(), TestCaseError> {
    let in_order = seen.is_sorted_by(|a, b| if newest_first { a > b } else { a < b });
    prop_assert!(in_order, "not each once and in order: {:?}", seen);
    let missed: Vec<&u16> = list.throughout.iter().filter(|number| !seen.contains(number)).collect();
    prop_assert!(missed.is_empty(), "{:?} were there all the time and not in {:?}", missed, seen);
    Ok(())
}

#[test]
fn whatever_comes_and_goes_meanwhile_a_walk_sees_what_stays_exactly_once() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let mut runner = TestRunner::new(Config { cases: 1_000, failure_persistence: None, ..Config::default() });
        let outcome = runner.run(&walks(), |walk| {
            let mut list = Shown { studio, there: BTreeSet::new(), throughout: BTreeSet::new() };
            list.change(&((0..NUMBERS).collect(), walk.first.clone()));
            list.mark();
            let mut changes = walk.changes.clone().into_iter();
            let first = owner.get(&format!("/v1/closures?limit={}", walk.limit)).expect(200);
            let (seen, last) = follow(&owner, &mut list, first, "next", &mut changes);
            nothing_is_missed(&list, &seen, true)?;
            // And back: what was there when the last page was read, and still is. A page that came out empty, because all
            // that would have stood on it went, knows no record to go back from.
            if last["items"] == serde_json::json!([]) {
                return Ok(());
            }
            list.mark();
            let (seen, first) = follow(&owner, &mut list, last, "prev", &mut changes);
            nothing_is_missed(&list, &seen, false)?;
            prop_assert!(first["prev"].is_null());
            Ok(())
        });
        outcome.unwrap_or_else(|fault| panic!("{:?}: {fault}", studio.engine));
    });
}
