//! Every kind of "no" and of warning is explained: the slugs in the sources and those in `meanings.txt` and `warnings.txt` of
//! `api/core/src/problems/` are the same.

use std::collections::BTreeSet;

use baywright_core::problems::{Meaning, meanings, warnings};

use crate::sources::{Source, shipped};

/// What stands before a slug where a problem is made.
const MAKERS: [&str; 8] =
    ["Problem::new(", "Refused::new(", "Self::new(", "conflict(", "gone(", "invalid(", "too_many(", "must_confirm("];

/// The slugs that a file gives: the first words in quotes after a maker, and all words in quotes in a `fn code`.
fn slugs(source: &Source) -> BTreeSet<String> {
    let code = source.code().map(|(_, line)| line).collect::<Vec<_>>().join("\n");
    let mut found = BTreeSet::new();
    for maker in MAKERS {
        for (at, _) in code.match_indices(maker) {
            // The status may come first, and the line may break; a slug made elsewhere brings no quote here.
            let rest: String = code[at + maker.len()..].chars().take(160).collect();
            let before = rest.find('"').unwrap_or(0);
            let plain = rest[..before].chars().all(|c| c.is_whitespace() || c.is_alphanumeric() || "_:,".contains(c));
            let slug = rest[before..].split('"').nth(1).unwrap_or_default();
            if plain && is_slug(slug) {
                found.insert(slug.to_owned());
            }
        }
    }
    for (at, _) in code.match_indices("fn code(&self) -> &'static str {") {
        let body = code[at..].split("\n    }").next().unwrap_or_default();
        found.extend(body.split('"').skip(1).step_by(2).filter(|word| is_slug(word)).map(str::to_owned));
    }
    found
}

/// The codes of warnings that a file gives: the words in quotes right after `tx.warn(`, all codes of a function
/// `warnings` of the domain, and those of a `Fault` that a use case may add to them. Codes that are made elsewhere are those of problems.
fn warning_codes(source: &Source) -> BTreeSet<String> {
    let code = source.code().map(|(_, line)| line).collect::<Vec<_>>().join("\n");
    let first_quoted = |rest: &str| rest.trim_start().strip_prefix('"')?.split('"').next().map(str::to_owned);
    let mut found: BTreeSet<String> = code.split("tx.warn(").skip(1).filter_map(first_quoted).collect();
    if source.path.starts_with("domain/") && code.contains("pub fn warnings(&self") {
        let quoted = code.split('"').skip(1).step_by(2).filter(|word| word.contains('_'));
        found.extend(quoted.map(|word| word.replace('_', "-")).filter(|word| is_slug(word)));
    }
    if source.path.starts_with("api/") && code.contains("-> Option<Fault>") {
        let codes = code.split("code: \"").skip(1).filter_map(|rest| rest.split('"').next());
        found.extend(codes.map(|word| word.replace('_', "-")).filter(|word| is_slug(word)));
    }
    found
}

fn is_slug(word: &str) -> bool {
    !word.is_empty() && word.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-')
}

#[test]
fn every_kind_of_no_is_explained_and_no_other() {
    let said: BTreeSet<String> = shipped().iter().flat_map(slugs).collect();
    all_explained(&said, meanings());
    assert!(said.len() > 150, "the slugs are found: {}", said.len());
}

#[test]
fn every_kind_of_warning_is_explained_and_no_other() {
    let said: BTreeSet<String> = shipped().iter().flat_map(warning_codes).collect();
    all_explained(&said, warnings());
    assert!(said.len() > 30, "the codes are found: {}", said.len());
}

#[track_caller]
fn all_explained(said: &BTreeSet<String>, list: impl Iterator<Item = Meaning>) {
    let explained: Vec<&str> = list.map(|meaning| meaning.slug).collect();
    assert!(explained.is_sorted(), "the meanings are sorted by slug");
    let known: BTreeSet<String> = explained.iter().map(|&slug| slug.to_owned()).collect();
    assert_eq!(known.len(), explained.len(), "each slug is explained once");
    let (untold, unused): (Vec<_>, Vec<_>) = (said.difference(&known).collect(), known.difference(said).collect());
    assert!(untold.is_empty() && unused.is_empty(), "without a meaning: {untold:?}; without a use: {unused:?}");
}

#[test]
fn every_meaning_is_made_of_sentences() {
    for meaning in meanings().chain(warnings()) {
        let text = meaning.text;
        assert!(text.ends_with('.') && text.starts_with(char::is_uppercase), "{}: {text}", meaning.slug);
        assert!(text.len() < 240, "{}", meaning.slug);
    }
}
