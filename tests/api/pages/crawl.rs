//! A walk from the start page over every link, as each role: each leads somewhere, every page is reached, and nothing is
//! written by looking.

use std::collections::{BTreeMap, BTreeSet};

use baywright_core::platform::identity::Role;
use baywright_domain::id::PersonId;
use baywright_tests::browser::{Browser, unescaped};
use baywright_tests::{Studio, on_each_engine};
use serde_json::json;

use super::may::MAY;
use super::roles::{failed_mail, noted_photo};
use crate::matrix::ROLES;

/// Maximum number of addresses of one page, which differ in what they ask of it, that are followed.
const MOST_OF_ONE_PAGE: usize = 8;

/// What a page leads to.
struct Ways {
    /// Addresses of its links.
    links: BTreeSet<String>,
    /// Addresses that take its forms.
    forms: BTreeSet<String>,
}

/// The values of an attribute behind each beginning of a tag, as far as they are addresses of ours.
fn addresses(page: &str, tag: &str, attribute: &str) -> BTreeSet<String> {
    let tags = page.split(tag).skip(1).filter_map(|rest| rest.split('>').next());
    let values = tags.filter_map(|tag| tag.split(&format!("{attribute}=\"")).nth(1)?.split('"').next());
    let ours = values.filter(|value| value.starts_with('/'));
    ours.map(|value| unescaped(value.split('#').next().unwrap_or_default())).collect()
}

fn ways(page: &str) -> Ways {
    Ways { links: addresses(page, "<a ", "href"), forms: addresses(page, "<form ", "action") }
}

/// The line of the table that an address belongs to, without what follows its path.
fn line(method: &str, address: &str) -> Option<&'static (&'static str, &'static str)> {
    let path = address.split(['?', '#']).next().unwrap_or_default();
    let fits = |pattern: &str| {
        let (pattern, path): (Vec<&str>, Vec<&str>) = (pattern.split('/').collect(), path.split('/').collect());
        pattern.len() == path.len()
            && pattern.iter().zip(&path).all(|(part, real)| part == real || part.starts_with('{'))
    };
    // A path that is written out comes before one with a placeholder.
    let exact = MAY.iter().find(|(address, _)| address.split_once(' ') == Some((method, path)));
    exact.or_else(|| {
        MAY.iter().find(|(address, _)| address.split_once(' ').is_some_and(|(m, p)| m == method && fits(p)))
    })
}

/// Follows every link from the start page; gives the lines of the table that were reached.
fn crawled(browser: &Browser, letter: char) -> BTreeSet<&'static str> {
    let (mut open, mut seen) = (vec!["/".to_owned()], BTreeSet::new());
    let mut reached = BTreeSet::new();
    let mut times = BTreeMap::<String, usize>::new();
    while let Some(address) = open.pop() {
        if !seen.insert(address.clone()) {
            continue;
        }
        // Each day leads to the next one, without an end.
        let often = times.entry(address.split('?').next().unwrap_or_default().to_owned()).or_default();
        *often += 1;
        if *often > MOST_OF_ONE_PAGE {
            continue;
        }
        let answer = browser.get(&address);
        assert!([200, 303].contains(&answer.status), "{letter}: {address}: {}", answer.status);
        let Some((known, _)) = line("GET", &address) else { continue };
        reached.insert(*known);
        if answer.status == 303 {
            open.push(answer.header("location").to_owned());
        }
        let ways = ways(&answer.text);
        for form in ways.forms {
            let (_, may) = line("POST", &form).or_else(|| line("GET", &form)).unwrap_or_else(|| {
                panic!("{letter}: {address} has a form for {form}, which takes none");
            });
            assert!(*may == "open" || may.contains(letter), "{letter}: {address} has a form for {form}, for {may}");
        }
        // A diary has no end: of other weeks and later times, only those beside the first are opened.
        let on = |link: &String| !(address.contains("?from=") && link.contains("?from="));
        open.extend(ways.links.into_iter().filter(on));
    }
    reached
}

/// A studio with a bay, a menu, a quote with its customer, a new car, something in
/// the diary and an email that failed, so that there is something to look at.
fn furnished(studio: &Studio) {
    let owner = studio.owner();
    owner.post("/v1/bays", &json!({ "name": "Bay 1" })).expect(201);
    studio.sent_quote("aoife@example.com", &["decontamination"], &[]);
    studio.new_car();
    failed_mail(studio);
    super::diary::filled(studio);
}

/// Lets a person work on a car that is here, so that its page is theirs to open.
fn at_work(studio: &Studio, who: &PersonId) {
    let owner = studio.owner();
    let job = owner.get("/v1/jobs?open=true").expect(200)["items"][0]["id"].as_str().unwrap().to_owned();
    noted_photo(studio, &job);
    let path = format!("/v1/jobs/{job}");
    let steps = owner.get(&path).expect(200)["steps"].clone();
    let open = steps.as_array().unwrap().iter().find(|step| step["can_start"] == true).unwrap();
    let (step, version) = (open["code"].as_str().unwrap(), open["version"].as_i64().unwrap());
    let body = json!({ "person_id": who.as_str() });
    let act = |verb: &str, version: i64| {
        owner.act(&format!("{path}/steps/{step}/{verb}"), &format!("\"{version}\""), &body).expect(200)
    };
    let started = act("start", version);
    act("stop", started["version"].as_i64().unwrap());
}

#[test]
fn every_link_leads_somewhere_and_every_page_of_a_role_is_reached() {
    on_each_engine(|studio| {
        furnished(studio);
        for (letter, role) in ROLES {
            let who = studio.hire(role);
            at_work(studio, &who);
            let reached = crawled(&studio.browser_of_person(&who), letter);
            let inside = MAY.iter().filter(|(address, may)| address.starts_with("GET ") && may.contains(letter));
            let orphans: Vec<&str> = inside.map(|(address, _)| *address).filter(|a| !reached.contains(a)).collect();
            assert!(orphans.is_empty(), "{letter}: no link leads to {orphans:?}");
        }
    });
}

#[test]
fn nothing_is_written_by_looking() {
    on_each_engine(|studio| {
        furnished(studio);
        let browser = studio.browser_of(Role::Owner);
        // When a sign-in was used is noted on its own row.
        let rows = || -> Vec<_> { studio.every_row().into_iter().filter(|(table, _)| table != "session").collect() };
        let before = rows();
        assert!(crawled(&browser, 'O').len() > 10);
        assert_eq!(rows(), before);
    });
}
