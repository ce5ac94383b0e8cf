//! Which layer may name which library, so that rules stay out of handlers, queries out of rules, and HTTP out of both.

use crate::features::named;
use crate::sources::{Source, none, shipped, under};

/// A word, and the places that may say it: a file or folder of that name anywhere in the path under `api/src`.
const MAY_SAY: &[(&str, &[&str])] = &[
    ("actix_web", &["routes", "pages", "http", "server", "serve", "demo"]),
    ("diesel", &["store", "schema", "platform"]),
    // What is sent is held to the rules of today; what is kept and what rules work with is not.
    ("http::wire", &["routes", "pages", "http", "cli"]),
    ("utoipa", &["routes", "http", "server"]),
    ("askama", &["pages", "mail", "documents"]),
    ("lettre", &["mail"]),
    ("web::block", &["http/call"]),
    ("Utc::now", &["platform/clock"]),
    ("SystemTime::now", &["platform/clock"]),
    ("std::process::Command", &[]),
    ("batch_execute", &["platform/db"]),
    // These decompress what arrives, before any limit on its length: `http/arriving.rs` reads bodies.
    ("web::Json", &[]),
    ("web::Form", &[]),
    ("Bytes::from_request", &[]),
    ("String::from_request", &[]),
];

fn may_say(source: &Source, places: &[&str]) -> bool {
    let inside = source.path.trim_start_matches("api/src/").trim_end_matches(".rs");
    places.iter().any(|place| match place.split_once('/') {
        Some(_) => inside == *place || inside.starts_with(&format!("{place}/")),
        None => inside.split('/').any(|part| part == *place),
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
    for source in under("api/src", &[".rs"]) {
        for (word, places) in MAY_SAY.iter().filter(|(_, places)| !may_say(&source, places)) {
            let found = source.code().find(|(_, line)| says(line, word));
            if let Some((number, _)) = found {
                faults.push(format!("{}:{number} says {word}, which only {places:?} may", source.path));
            }
        }
    }
    none(faults, "a layer names what it may not");
}

/// The part of the program that a file belongs to, lowest first: none names one above it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Layer {
    /// Database, stores, use cases, kept documents, mail and jobs.
    Core,
    /// Routes, and what they stand on.
    Http,
    /// Pages for people.
    Pages,
    /// The server, which puts all of them together, and the commands.
    Program,
}

impl Layer {
    /// The layer of a file; none for `lib.rs`, which only declares what there is.
    fn of(source: &Source) -> Option<Self> {
        let inside = source.path.strip_prefix("api/src/")?.trim_end_matches(".rs");
        let parts: Vec<&str> = inside.split('/').collect();
        Some(match parts[0] {
            "lib" => return None,
            "cli" | "main" | "server" => Self::Program,
            "http" => Self::Http,
            "pages" => Self::Pages,
            _ if parts.contains(&"routes") => Self::Http,
            _ if parts.contains(&"pages") => Self::Pages,
            _ => Self::Core,
        })
    }

    /// The layer of a module at the top of the crate, unless it is a feature's, which has several.
    fn of_module(name: &str) -> Option<Self> {
        match name {
            "http" => Some(Self::Http),
            "pages" => Some(Self::Pages),
            "cli" | "server" => Some(Self::Program),
            _ => None,
        }
    }

    /// What no file of this layer may say, beside the modules at the top.
    fn forbidden(self) -> &'static [&'static str] {
        match self {
            Self::Core => &["actix_web", "utoipa", "::routes", "routes::", "::pages", "pages::"],
            Self::Http => &["diesel", "askama", "::pages", "pages::"],
            Self::Pages => &["diesel", "utoipa"],
            Self::Program => &[],
        }
    }
}

/// What a file says that only a layer above its own may, with the line where it is one.
fn upwards(source: &Source) -> Vec<String> {
    let Some(layer) = Layer::of(source) else { return Vec::new() };
    let above = |name: &String| Layer::of_module(name).is_some_and(|other| other > layer);
    let mut found: Vec<String> =
        named(source).into_iter().filter(above).map(|name| format!("{} imports crate::{name}", source.path)).collect();
    for (number, line) in source.code() {
        for word in layer.forbidden().iter().filter(|word| line.contains(**word)) {
            if word.contains("::") || says(line, word) {
                found.push(format!("{}:{number} says {word}", source.path));
            }
        }
    }
    found
}

#[test]
fn nothing_points_upwards() {
    let faults = under("api/src", &[".rs"]).iter().flat_map(upwards).collect();
    none(faults, "core names no HTTP, HTTP names no page, and none of them the server or a command");
}

#[test]
fn the_reader_of_layers_finds_what_points_upwards() {
    let found = |path: &str, text: &str| upwards(&Source { path: format!("api/src/{path}"), text: text.to_owned() });
    for (path, text, points_up) in [
        ("quote/usecase/send.rs", "use crate::http::problem::Problem;", true),
        ("quote/usecase/send.rs", "use crate::{booking, http, shop};", true),
        ("quote/usecase/send.rs", "use crate::booking::routes::BookingView;", true),
        ("quote/store.rs", "use utoipa::ToSchema;", true),
        ("quote/kept.rs", "use utoipa_actix_web::AppExt;", true),
        ("quote/mod.rs", "pub mod pages;\npub mod routes;", false),
        ("quote/routes/send.rs", "use crate::http::problem::Problem;\nuse utoipa::ToSchema;", false),
        ("quote/routes/send.rs", "use crate::pages::html;", true),
        ("http/app.rs", "use crate::server::start;", true),
        ("signoff/pages/offer.rs", "use crate::http::call::Call;\nuse crate::media::routes::served;", false),
        ("signoff/pages/offer.rs", "use utoipa::ToSchema;", true),
        ("platform/db.rs", "// crate::http is only spoken of.", false),
        ("server/routes.rs", "use crate::pages;", false),
        ("cli/demo.rs", "use crate::server;", false),
    ] {
        assert_eq!(!found(path, text).is_empty(), points_up, "{path}: {text}");
    }
}

#[test]
fn the_domain_names_no_io_and_no_clock() {
    let mut faults = Vec::new();
    let lib = std::fs::read_to_string(crate::sources::top().join("domain/src/lib.rs")).unwrap();
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
    for source in under("api/src", &[".rs"]) {
        if !source.parts().iter().any(|part| part.trim_end_matches(".rs") == "kept") {
            continue;
        }
        for (number, line) in source.code() {
            for word in ["wire", "ToSchema", "deny_unknown_fields"] {
                if says(line, word) {
                    faults.push(format!("{}:{number} says {word}", source.path));
                }
            }
        }
    }
    none(faults, "a document that was kept once is read for ever, whatever a request must be like today");
}

#[test]
fn no_feature_reaches_into_another_ones_rows() {
    let mut faults = Vec::new();
    for source in under("api/src", &[".rs"]) {
        let own = source.parts().get(2).copied().unwrap_or_default().trim_end_matches(".rs").to_owned();
        for (number, line) in source.code() {
            for (at, _) in line.match_indices("::store") {
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
    for source in under("api/src", &[".rs"]).iter().filter(|source| !source.path.ends_with("/db/shop_filter.rs")) {
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
    for source in under("api/src", &[".rs"]).iter().filter(|source| source.path.contains("/store")) {
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
    for source in under("api/src", &[".rs"]).iter().filter(|source| source.path.contains("/routes")) {
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
