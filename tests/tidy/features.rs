//! Which feature stands on which: their use cases name each other without circles, in the order that DEVELOPERS.md gives.

use std::collections::BTreeSet;

use crate::sources::{Source, none, program, top, under};

/// What the order stands under in DEVELOPERS.md.
const HEADING: &str = "\n### Which feature stands on which\n";

/// What the crates of the routes and the pages have beside features: the start page, what all of them stand on, what
/// machines ask of the program itself, and the list of all.
const OF_NO_FEATURE: [&str; 5] = ["home", "lib", "platform", "routes", "system"];

/// The features, lowest first: what is in backticks in the rows of the table.
fn order() -> Vec<String> {
    let text = std::fs::read_to_string(top().join("DEVELOPERS.md")).unwrap();
    let section = text.split_once(HEADING).unwrap().1.split("\n#").next().unwrap_or_default();
    let rows = section.lines().filter(|line| line.starts_with("| "));
    rows.flat_map(|row| row.split('`').skip(1).step_by(2)).map(str::to_owned).collect()
}

/// The feature whose use cases, rows and kept documents a file is part of. Routes, pages and commands are in crates above
/// all features and may name every one of them.
fn feature(source: &Source) -> Option<&str> {
    let (layer, inside) = source.place()?;
    let (feature, _) = inside.split_once('/')?;
    (layer == "core").then_some(feature)
}

/// The modules at the top of the crate that a file's code names: `a` and `b` of `crate::a::x` and `crate::{a, b::c}`.
fn named(source: &Source) -> BTreeSet<String> {
    let lines: Vec<&str> = source.code().map(|(_, line)| line).collect();
    lines.join("\n").split("crate::").skip(1).flat_map(heads).filter(|name| !name.is_empty()).collect()
}

/// The name that a path begins with, or those that the parts of a group begin with.
fn heads(path: &str) -> Vec<String> {
    let Some(group) = path.strip_prefix('{') else { return vec![word(path)] };
    let (mut heads, mut part, mut depth) = (Vec::new(), String::new(), 0);
    for c in group.chars() {
        match c {
            '}' if depth == 0 => break,
            ',' if depth == 0 => heads.push(word(&std::mem::take(&mut part))),
            '{' => depth += 1,
            '}' => depth -= 1,
            _ => part.push(c),
        }
    }
    heads.push(word(&part));
    heads
}

fn word(text: &str) -> String {
    text.trim_start().chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect()
}

/// Which of the names are features that don't stand below this one.
fn not_below(order: &[String], feature: &str, names: &BTreeSet<String>) -> Vec<String> {
    let place = |name: &str| order.iter().position(|one| one == name);
    let own = place(feature);
    let above = |name: &str| place(name).is_some_and(|other| own.is_none_or(|own| other > own));
    names.iter().filter(|name| *name != feature && above(name)).cloned().collect()
}

#[test]
fn the_list_of_features_names_each_once() {
    let order = order();
    let listed: BTreeSet<String> = order.iter().cloned().collect();
    assert_eq!(listed.len(), order.len(), "a feature is listed twice: {order:?}");
    let folders = std::fs::read_dir(top().join("api/core/src")).unwrap().map(|entry| entry.unwrap().path());
    let folders = folders.filter(|path| path.is_dir());
    let folders: BTreeSet<String> =
        folders.map(|path| path.file_name().unwrap().to_string_lossy().into_owned()).collect();
    assert_eq!(listed, folders, "DEVELOPERS.md lists the folders of api/core/src");
}

#[test]
fn a_feature_has_the_same_name_in_each_crate() {
    let known = order();
    let all = program();
    let places = all.iter().filter_map(Source::place).filter(|(layer, _)| ["http", "pages"].contains(layer));
    let names: BTreeSet<&str> = places.map(|(_, inside)| inside.split('/').next().unwrap_or_default()).collect();
    let strange = names.iter().filter(|name| !OF_NO_FEATURE.contains(name) && !known.iter().any(|one| one == *name));
    none(strange.map(|name| (*name).to_owned()).collect(), "routes and pages are named after their feature");
}

#[test]
fn use_cases_name_only_features_below_theirs() {
    let order = order();
    let mut faults = Vec::new();
    for source in under("api/core/src", &[".rs"]) {
        let Some(feature) = feature(&source) else { continue };
        for name in not_below(&order, feature, &named(&source)) {
            faults.push(format!("{} imports crate::{name}, which doesn't stand below {feature}", source.path));
        }
    }
    none(
        faults,
        "use cases name only features before theirs in DEVELOPERS.md: let a handler call both, or give the question along",
    );
}

#[test]
fn the_reader_of_imports_finds_one_that_points_up() {
    let text = "\
//! Sending [`crate::invoice`].
use crate::shop;
use crate::{
    job::{self, usecase::{start, stop}},
    menu as card,
};
fn f() {
    // crate::seal is only spoken of.
    crate::booking::usecase::book();
}
";
    let source = Source { path: "api/core/src/quote/usecase/send.rs".to_owned(), text: text.to_owned() };
    let names = named(&source);
    assert_eq!(names.iter().map(String::as_str).collect::<Vec<_>>(), ["booking", "job", "menu", "shop"]);
    let order = ["shop", "menu", "quote", "booking", "job"].map(str::to_owned);
    assert_eq!(feature(&source), Some("quote"));
    assert_eq!(not_below(&order, "quote", &names), ["booking", "job"]);
    assert_eq!(not_below(&order, "job", &names), [""; 0]);
    assert_eq!(not_below(&order, "unlisted", &names), ["booking", "job", "menu", "shop"]);
    for above in [
        "api/http/src/quote/write.rs",
        "api/pages/src/signoff/offer.rs",
        "api/program/src/cli/demo.rs",
        "api/core/src/features.rs",
    ] {
        assert_eq!(feature(&Source { path: above.to_owned(), text: String::new() }), None, "{above}");
    }
}
