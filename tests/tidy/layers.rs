//! Which crate stands on which, and which part of a crate may name which library, so that rules stay out of handlers,
//! queries out of rules, and HTTP out of both.

use crate::sources::{Source, none, program, shipped, top, under};

/// The crates under `api`, lowest first, and what none of them depends on; so the compiler refuses what reaches upwards.
const NO_DEPENDENCY: [(&str, &[&str]); 4] = [
    (
        "core",
        &[
            "actix-web",
            "utoipa",
            "utoipa-actix-web",
            "utoipa-swagger-ui",
            "baywright-http",
            "baywright-pages",
            "baywright",
        ],
    ),
    ("http", &["diesel", "diesel_migrations", "askama", "lettre", "baywright-pages", "baywright"]),
    (
        "pages",
        &["diesel", "diesel_migrations", "lettre", "utoipa", "utoipa-actix-web", "utoipa-swagger-ui", "baywright"],
    ),
    ("program", &["diesel", "diesel_migrations", "lettre", "askama"]),
];

/// A word, and the places that may say it: a crate, a file or folder of it, or, as in `core/*/store`, the files and folders
/// of that name anywhere in it.
const MAY_SAY: &[(&str, &[&str])] = &[
    ("actix_web", &["http", "pages", "program/server", "program/cli/serve", "program/cli/demo"]),
    ("diesel", &["core/*/store", "core/schema", "core/platform"]),
    ("utoipa", &["http", "program/server"]),
    ("askama", &["pages", "core/mail"]),
    ("lettre", &["core/mail"]),
    ("web::block", &["http/platform/call"]),
    ("Utc::now", &["core/platform/clock"]),
    ("SystemTime::now", &["core/platform/clock"]),
    ("std::process::Command", &[]),
    ("batch_execute", &["core/platform/db"]),
    // These decompress what arrives, before any limit on its length: `api/http/src/platform/arriving.rs` reads bodies.
    ("web::Json", &[]),
    ("web::Form", &[]),
    ("Bytes::from_request", &[]),
    ("String::from_request", &[]),
];

fn may_say(source: &Source, places: &[&str]) -> bool {
    let Some((layer, inside)) = source.place() else { return false };
    let own = format!("{layer}/{inside}");
    places.iter().any(|place| match place.split_once("/*/") {
        Some((of, name)) => layer == of && inside.split('/').any(|part| part == name),
        None => own == *place || own.starts_with(&format!("{place}/")),
    })
}

fn says(line: &str, word: &str) -> bool {
    line.match_indices(word).any(|(at, _)| {
        let before = line[..at].chars().next_back();
        let after = line[at + word.len()..].chars().next();
        let joins = |c: Option<char>| c.is_some_and(|c| c.is_alphanumeric() || c == '_');
        // `diesel_migrations` is diesel too, `my_diesel` is not.
        !joins(before) && (word.contains("::") || after.is_none_or(|c| !c.is_alphanumeric()))
    })
}

#[test]
fn each_layer_names_only_what_it_may() {
    let mut faults = Vec::new();
    for source in program() {
        for (word, places) in MAY_SAY.iter().filter(|(_, places)| !may_say(&source, places)) {
            let found = source.code().find(|(_, line)| says(line, word));
            if let Some((number, _)) = found {
                faults.push(format!("{}:{number} says {word}, which only {places:?} may", source.path));
            }
        }
    }
    none(faults, "a layer names what it may not");
}

/// The names of the libraries and crates that a crate's file of settings lists, for the program or for its tests.
fn dependencies(manifest: &str) -> Vec<&str> {
    let parts =
        manifest.split("\n[").filter(|part| part.split(']').next().is_some_and(|of| of.ends_with("dependencies")));
    let lines = parts.flat_map(|part| part.lines().skip(1));
    lines.filter_map(|line| line.split(['.', ' ', '=']).next()).filter(|name| !name.is_empty()).collect()
}

#[test]
fn no_crate_depends_on_what_stands_above_it() {
    let mut faults = Vec::new();
    for (layer, refused) in NO_DEPENDENCY {
        let path = format!("api/{layer}/Cargo.toml");
        let manifest = std::fs::read_to_string(top().join(&path)).unwrap();
        let found = dependencies(&manifest);
        assert!(found.contains(&"tracing"), "the dependencies in {path} are found: {found:?}");
        faults.extend(found.iter().filter(|name| refused.contains(name)).map(|name| format!("{path} names {name}")));
    }
    none(
        faults,
        "core names no HTTP, HTTP names no page and no table, pages describe no API, and only core has queries",
    );
}

#[test]
fn the_reader_of_dependencies_finds_those_of_each_kind() {
    let text = "\
[package]
name = \"x\"

[dependencies]
actix-web.workspace = true

chrono = { workspace = true, features = [\"std\"] }

[dev-dependencies]
tempfile.workspace = true

[target.'cfg(unix)'.dependencies]
rustix.workspace = true

[lints]
workspace = true
";
    assert_eq!(dependencies(text), ["actix-web", "chrono", "tempfile", "rustix"]);
}

#[test]
fn a_place_is_a_crate_or_a_part_of_one() {
    let may = |path: &str, place: &str| may_say(&Source { path: path.to_owned(), text: String::new() }, &[place]);
    for (path, place, may_it) in [
        ("api/http/src/quote/write.rs", "http", true),
        ("api/http/src/quote/write.rs", "pages", false),
        ("api/program/src/server.rs", "program/server", true),
        ("api/core/src/platform/clock.rs", "core/platform/clock", true),
        ("api/core/src/platform/clock_run.rs", "core/platform/clock", false),
        ("api/core/src/platform/db/open.rs", "core/platform/db", true),
        ("api/core/src/quote/store/list.rs", "core/*/store", true),
        ("api/core/src/plan/store.rs", "core/*/store", true),
        ("api/core/src/plan/usecase.rs", "core/*/store", false),
        ("api/core/build.rs", "core", false),
    ] {
        assert_eq!(may(path, place), may_it, "{path}: {place}");
    }
}

#[test]
fn the_domain_names_no_io_and_no_clock() {
    let mut faults = Vec::new();
    let lib = std::fs::read_to_string(top().join("domain/src/lib.rs")).unwrap();
    assert!(lib.contains("#![no_std]") || lib.contains("no_std)"), "domain/src/lib.rs must say no_std");
    for source in under("domain/src", &[".rs"]).iter().filter(|s| !s.path.ends_with("tests.rs")) {
        for (number, line) in source.code() {
            for word in ["std::", "actix_web", "diesel", "serde::", "serde_json", "tokio", "async fn", "f64", "f32"] {
                let statistics = source.path.contains("/learning") && word.starts_with('f');
                if says(line, word.trim_end_matches("::")) && line.contains(word) && !statistics {
                    faults.push(format!("{}:{number} says {word}", source.path));
                }
            }
        }
    }
    none(faults, "the domain knows no clock, no files, no wire and no floating point");
}

#[test]
fn kept_documents_are_held_to_no_rule_of_today() {
    let mut faults = Vec::new();
    // Types of what is sent, which refuse, are in a crate above and so can't be named here.
    for source in under("api/core/src", &[".rs"]) {
        if !source.parts().iter().any(|part| part.trim_end_matches(".rs") == "kept") {
            continue;
        }
        for (number, _) in source.code().filter(|(_, line)| says(line, "deny_unknown_fields")) {
            faults.push(format!("{}:{number} says deny_unknown_fields", source.path));
        }
    }
    none(faults, "a document that was kept once is read for ever, whatever a request must be like today");
}

#[test]
fn no_feature_reaches_into_another_ones_rows() {
    let mut faults = Vec::new();
    for source in under("api/core/src", &[".rs"]) {
        let own = source.parts().get(3).copied().unwrap_or_default().trim_end_matches(".rs").to_owned();
        for (number, line) in source.code() {
            for (at, name) in line.match_indices("::store") {
                let is_module = !line[at + name.len()..].starts_with(|c: char| c.is_alphanumeric() || c == '_');
                if !is_module {
                    continue;
                }
                let feature: String =
                    line[..at].chars().rev().take_while(|c| c.is_alphanumeric() || *c == '_').collect();
                let feature: String = feature.chars().rev().collect();
                if !["super", "self", "crate", own.as_str()].contains(&feature.as_str()) {
                    faults.push(format!("{}:{number} uses the rows of {feature}: call its usecase", source.path));
                }
            }
        }
    }
    none(faults, "another feature's store is never named");
}

#[test]
fn queries_are_limited_to_their_shop_in_one_place() {
    let mut faults = Vec::new();
    for source in under("api/core/src", &[".rs"]).iter().filter(|source| !source.path.ends_with("/db/shop_filter.rs")) {
        for (number, line) in source.code().filter(|(_, line)| line.contains("filter(")) {
            if line.contains("::shop_id.eq(") {
                faults.push(format!("{}:{number} says the shop's filter by hand: use rows_of_shop!", source.path));
            }
        }
    }
    none(faults, "the shop's filter is written by rows_of_shop! and of_shop!");
}

/// What a store writes instead of reading a column by its type, so that a bad cell has no name or becomes a default.
const UNTYPED: [&str; 2] = ["DbError::Corrupt(", "UtcTime::from_ms("];

#[test]
fn stores_read_columns_by_type() {
    let mut faults = Vec::new();
    for source in under("api/core/src", &[".rs"]).iter().filter(|source| source.path.contains("/store")) {
        for (number, line) in source.code() {
            for word in UNTYPED.into_iter().filter(|word| line.contains(word)) {
                faults.push(format!("{}:{number} says {word}: use RowId or columns!", source.path));
            }
        }
    }
    none(faults, "a column is read by its type, and a bad one is an error that names the row");
}

#[test]
fn handlers_hold_no_queries_and_queries_no_http() {
    let mut faults = Vec::new();
    for source in shipped() {
        for (number, line) in source.code() {
            if line.contains(".route(") {
                faults.push(format!("{}:{number} .route( is left out of the API document: use .service(", source.path));
            }
            let dynamic = ["sql_query(format!", "sql_query(&format!", "sql::<Text>(&format!"];
            if !source.path.contains("/platform/db/") && dynamic.iter().any(|word| line.contains(word)) {
                faults.push(format!("{}:{number} makes SQL out of text", source.path));
            }
        }
    }
    none(faults, "routes are services, and SQL is never put together from text");
}

#[test]
fn an_operation_that_needs_a_key_asks_for_it() {
    let mut faults = Vec::new();
    for source in under("api/http/src", &[".rs"]).iter().filter(|source| !source.path.contains("/platform/")) {
        let said = source.text.matches("\"x-idempotency-key\"").count();
        let asked = source.text.matches(": IdempotencyKey").count();
        if said != asked {
            faults.push(format!("{}: {said} operations say that they need a key, {asked} ask for it", source.path));
        }
    }
    none(faults, "the API document says that a key is needed where the handler's signature asks for one");
}

#[test]
fn the_reader_of_words_knows_where_a_word_ends() {
    assert!(says("use diesel::prelude::*;", "diesel"));
    assert!(says("diesel_migrations::embed", "diesel"));
    assert!(!says("let biodiesel = 1;", "diesel"));
    assert!(!says("let dieselgate = 1;", "diesel"));
    assert!(says("chrono::Utc::now()", "Utc::now"));
}
