//! `baywright move`: everything into another database, there and back, or nothing at all.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use baywright_core::platform::db::{Db, Scope, snapshot, transfer};
use baywright_core::platform::fail::Fail;
use baywright_tests::Studio;
use baywright_tests::document::{Operation, operations};
use baywright_tests::engine::{Engine, Fresh, engines, run_sql, server};
use baywright_tests::program::{Program, Ran};
use diesel::connection::SimpleConnection;
use rusqlite::Connection;

use crate::{on_each_engine, shop_on};

/// The program on a database.
fn on(fresh: &Fresh) -> Program {
    Program::new(env!("CARGO_BIN_EXE_program"), fresh)
}

fn move_to(program: &Program, address: &str) -> Ran {
    program.run(&["move", "--to", address])
}

fn file(fresh: &Fresh) -> PathBuf {
    PathBuf::from(fresh.address.strip_prefix("sqlite:").unwrap())
}

/// A copy of a studio's embedded database that no program has open.
fn at_rest(studio: &Studio) -> Fresh {
    Fresh::in_file(|file| snapshot::copy(studio.db.file().unwrap(), file).unwrap())
}

/// Rows of a database, in all tables.
fn rows(address: &str) -> usize {
    let db = Db::open(address).unwrap();
    db.read(|conn| Ok(transfer::rows(conn)?)).unwrap_or_else(|fail| panic!("{fail:?}"))
}

/// Whether the database takes a statement.
fn takes(address: &str, statement: &str) -> bool {
    let db = Db::open(address).unwrap();
    db.write(Scope::Program, |conn| conn.batch_execute(statement).map_err(Fail::unexpected)).is_ok()
}

/// The digest that a move ends with.
fn digest(said: &str) -> String {
    let (_, rest) = said.split_once("both databases have the digest ").unwrap_or_else(|| panic!("{said}"));
    rest.split('.').next().unwrap().to_owned()
}

/// What the API answers to everything that can be read: the lists and what stands alone, and each record that a list names.
/// Addresses of the programs in `bases` are left out, since each copy has its own.
fn answers(studio: &Studio, token: &str, bases: &[&str]) -> BTreeMap<String, (u16, String)> {
    let reads: Vec<Operation> = operations()
        .into_iter()
        .filter(|operation| operation.method == "GET" && operation.path.starts_with("/v1/"))
        .collect();
    let owner = studio.with_token(token);
    let ask = |path: &str| {
        let answer = owner.get(path);
        let text = bases.iter().fold(answer.text.clone(), |text, base| text.replace(base, ""));
        (answer.json(), (answer.status, if answer.status == 200 { text } else { String::new() }))
    };
    let mut all = BTreeMap::new();
    for list in reads.iter().filter(|read| !read.path.contains('{')) {
        let path = list.at("");
        let long = list.parameters().any(|parameter| parameter["name"] == "limit") && !path.contains('?');
        let path = if long { format!("{path}?limit=200") } else { path };
        let (body, answer) = ask(&path);
        all.insert(path, answer);
        let items = body["items"].as_array().into_iter().flatten();
        let ids: BTreeSet<&str> = items.filter_map(|item| item["id"].as_str()).collect();
        let below = format!("{}/{{", list.path);
        for read in reads.iter().filter(|read| read.path.starts_with(&below)) {
            for id in &ids {
                let path = read.at(id);
                let (_, answer) = ask(&path);
                all.insert(path, answer);
            }
        }
    }
    all
}

#[test]
fn a_studio_moves_there_and_back_with_every_row_and_answers_as_before() {
    let studio = Studio::start(Engine::Sqlite);
    studio.every_mail();
    studio.owner().add_photo();
    // A second shop, and somebody who is signed in and stays so.
    studio.stranger();
    let owner = studio.owner();
    let token = owner.token().unwrap();
    let before = answers(&studio, token, &[&studio.base]);
    let good = before.values().filter(|(status, _)| *status == 200).count();
    assert!(good > 100, "{good} answers of {}", before.len());
    let first = at_rest(&studio);
    let all = rows(&first.address);
    assert!(all > 300, "{all} rows");
    // There and back again where there is a server, else into another file.
    let ways = if server().is_some() { vec![Engine::Postgres, Engine::Sqlite] } else { vec![Engine::Sqlite] };
    let (mut from, mut digests, mut copies) = (first.address.clone(), Vec::new(), Vec::new());
    for engine in ways {
        let fresh = Fresh::bare(engine);
        let to = fresh.address.clone();
        let said = on(&first).on(&from, studio.folder()).run(&["move", "--from", &from, "--to", &to]).good();
        assert!(said.contains(&format!("Moved {all} rows of ")) && said.contains("every seal holds"), "{said}");
        assert!(said.contains("photographs stay where they are"), "{said}");
        digests.push(digest(&said));
        let copy = studio.elsewhere(fresh, engine);
        for (path, answer) in answers(&copy, token, &[&studio.base, &copy.base]) {
            assert_eq!(before.get(&path), Some(&answer), "{engine:?} {path}");
        }
        assert!(!takes(&to, "UPDATE record SET action = 'other'"), "the walls stand again on {engine:?}");
        copies.push(copy);
        from = to;
    }
    assert!(digests.iter().all(|digest| *digest == digests[0]), "{digests:?}");
}

#[test]
fn rows_that_an_older_program_left_are_moved_as_they_are() {
    let studio = Studio::start(Engine::Sqlite);
    let floor = studio.floor();
    let quote = studio.signed_work(&["wash"]);
    studio.owner().place(&quote, &floor.best, "2026-03-04T12:00:00Z", false).expect(201);
    for engine in engines() {
        let (first, fresh) = (at_rest(&studio), Fresh::bare(engine));
        // As a migration left it where one car had two places at once; no trigger would let it in today.
        let changed = without_triggers(&file(&first), "UPDATE placement SET vehicle_id = NULL");
        assert_eq!(changed, 1);
        move_to(&on(&first), &fresh.address).good();
        assert!(!takes(&fresh.address, "UPDATE record SET action = 'other'"), "{engine:?}");
    }
}

/// Changes rows of an embedded database that its triggers and references would keep as they are; gives how many.
fn without_triggers(file: &Path, statement: &str) -> usize {
    let conn = Connection::open(file).unwrap();
    conn.execute_batch("PRAGMA foreign_keys = OFF").unwrap();
    let triggers: Vec<(String, String)> = conn
        .prepare("SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'")
        .unwrap()
        .query_map([], |row| Ok((row.get(0)?, row.get(1)?)))
        .unwrap()
        .map(Result::unwrap)
        .collect();
    for (name, _) in &triggers {
        conn.execute_batch(&format!("DROP TRIGGER {name}")).unwrap();
    }
    let changed = conn.execute(statement, []).unwrap();
    for (_, made_by) in &triggers {
        conn.execute_batch(made_by).unwrap();
    }
    changed
}

#[test]
fn a_database_in_which_something_is_written_is_refused_and_stays_as_it_is() {
    let (_first, program) = shop_on(Engine::Sqlite);
    on_each_engine(|target, there| {
        let before = rows(&target.address);
        let told = move_to(&program, &target.address).bad();
        assert!(told.contains("is not empty") && told.contains("Nothing was moved"), "{told}");
        assert_eq!(rows(&target.address), before);
        there.run(&["verify"]).good();
    });
    let others = Fresh::in_file(|file| Connection::open(file).unwrap().execute_batch("CREATE TABLE own (x)").unwrap());
    let told = move_to(&program, &others.address).bad();
    assert!(told.contains("tables of another program"), "{told}");
    let told = move_to(&program, &program.database).bad();
    assert!(told.contains("is the one to move from"), "{told}");
}

#[test]
fn what_can_not_be_moved_yet_is_told_before_anything_is_made() {
    on_each_engine(|fresh, program| {
        let target = Fresh::bare(Engine::Sqlite);
        let refused = |words: &str| {
            let told = move_to(program, &target.address).bad();
            assert!(told.contains(words), "{told}");
            assert!(!file(&target).exists());
        };
        let last = "SELECT max(version) FROM __diesel_schema_migrations";
        run_sql(&fresh.address, "INSERT INTO __diesel_schema_migrations (version) VALUES ('29991231')");
        refused("made by a newer program");
        run_sql(&fresh.address, &format!("DELETE FROM __diesel_schema_migrations WHERE version = ({last})"));
        run_sql(&fresh.address, &format!("DELETE FROM __diesel_schema_migrations WHERE version = ({last})"));
        refused("run `baywright migrate` first");
    });
    let (fresh, program) = shop_on(Engine::Sqlite);
    let target = Fresh::bare(Engine::Sqlite);
    {
        let _serving = program.serve(&[]);
        let told = move_to(&program, &target.address).bad();
        assert!(told.contains("stop the service first"), "{told}");
    }
    let nowhere = format!("sqlite:{}", fresh.folder().join("none.db").display());
    let told = program.run(&["move", "--from", &nowhere, "--to", &target.address]).bad();
    assert!(told.contains("there is no database at"), "{told}");
    assert!(!file(&target).exists());
    assert_eq!(program.run(&["move"]).code, Some(2));
}

#[test]
fn a_move_that_fails_leaves_nothing_and_can_be_done_again() {
    for engine in engines() {
        let (first, program) = shop_on(Engine::Sqlite);
        let target = Fresh::bare(engine);
        let refused = |statement: &str, words: &str| {
            let damaged = Fresh::in_file(|copy| snapshot::copy(&file(&first), copy).unwrap());
            assert_eq!(without_triggers(&file(&damaged), statement), 1);
            let told = move_to(&on(&damaged), &target.address).bad();
            assert!(told.contains(words) && told.contains("Nothing was moved"), "{told}");
            assert_eq!(rows(&target.address), 0, "{engine:?}");
        };
        // One is found while rows come, the other once all of them are there.
        let nowhere = "INSERT INTO bay_feature (bay_id, shop_id, feature) SELECT 'none', id, 'lift' FROM shop";
        refused(nowhere, "the table bay_feature");
        refused("UPDATE record SET action = 'other' WHERE seq = 1", "record 1 was altered");
        move_to(&program, &target.address).good();
        assert_eq!(rows(&target.address), rows(&first.address));
    }
}
