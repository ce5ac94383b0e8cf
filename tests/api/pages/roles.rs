//! Who may see what: every page with every role and with nobody, and every form from elsewhere.
//!
//! A new page needs its line in `may.rs`.

use std::collections::BTreeSet;

use baywright_core::message::usecase::{Outcome, settle, take};
use baywright_core::platform::identity::Role;
use baywright_http::routes::addresses;
use baywright_pages::routes::PAGES;
use baywright_tests::answer::Answer;
use baywright_tests::browser::{Browser, main_form, unescaped};
use baywright_tests::visitor::fields_of;
use baywright_tests::{Studio, on_each_engine};
use serde_json::json;

use super::may::MAY;
use crate::matrix::ROLES;

/// Method, path and roles of the pages that need a sign-in.
fn inside() -> impl Iterator<Item = (&'static str, &'static str, &'static str)> {
    let inside = MAY.iter().filter(|(_, may)| *may != "open");
    inside.map(|(address, may)| {
        let (method, path) = address.split_once(' ').unwrap();
        (method, path, *may)
    })
}

/// The address of a page: its path, with the id of a record that is there.
fn at(studio: &Studio, path: &str) -> String {
    if !path.contains("{id}") {
        return path.to_owned();
    }
    if path.starts_with("/bay/") {
        let job = job(studio);
        let photo = if path.contains("{photo}") { noted_photo(studio, &job) } else { String::new() };
        return path.replace("{id}", &job).replace("{photo}", &photo).replace("{act}", "note");
    }
    let id = if path.starts_with("/shop/tablets/") {
        let tablet = studio.owner().post("/v1/tablets", &json!({ "name": "By the sink" })).expect(200);
        tablet["id"].as_str().unwrap().to_owned()
    } else if path.starts_with("/diary/") {
        super::diary::id_for(studio, path)
    } else if path.starts_with("/new-car/photos/") {
        studio.new_car().photo
    } else if path.starts_with("/new-car/") {
        studio.new_car().enquiry
    } else if path.starts_with("/cars/") {
        sent_quote(studio)
    } else if path.starts_with("/mails/") {
        failed_mail(studio)
    } else if path.starts_with("/bays/") {
        let name: String = baywright_core::platform::ids::new();
        studio.owner().post("/v1/bays", &json!({ "name": name })).expect(201)["id"].as_str().unwrap().to_owned()
    } else {
        studio.hire(Role::Desk).to_string()
    };
    path.replace("{id}", &id).replace("{act}", ACT)
}

/// An id that no record has.
const NOBODY: &str = "0198c0de-0000-7000-8000-000000000001";

/// What is done on a visit, as an address of its own: of all that can be, the one whose form needs something typed first.
const ACT: &str = "send-again";

/// The id of a job whose car is here; made once.
fn job(studio: &Studio) -> String {
    super::diary::id_for(studio, "/diary/{id}");
    studio.owner().get("/v1/jobs").expect(200)["items"][0]["id"].as_str().unwrap().to_owned()
}

/// The id of a photograph in a new note about a job.
pub(super) fn noted_photo(studio: &Studio, job: &str) -> String {
    let owner = studio.owner();
    let photo = owner.add_photo()["id"].as_str().unwrap().to_owned();
    let note = json!({ "step": null, "text": "A chip in the screen", "photo_ids": [photo] });
    owner.post(&format!("/v1/jobs/{job}/notes"), &note).expect(201);
    photo
}

/// The id of a quote that is with its customer; made once.
fn sent_quote(studio: &Studio) -> String {
    let known = studio.owner().get("/v1/quotes").expect(200)["items"][0]["id"].as_str().map(str::to_owned);
    known.unwrap_or_else(|| studio.sent_quote("aoife@example.com", &["decontamination"], &[]).id)
}

/// The id of an email that could not be sent.
pub(super) fn failed_mail(studio: &Studio) -> String {
    studio.tick();
    let id = crate::message::write(studio, "nobody@example.com", "Your booking");
    let parcel = studio.in_shop(studio.shop(), take).unwrap();
    let refused = Outcome::Refused("550 no such mailbox".into());
    studio.in_shop(studio.shop(), |tx| settle(tx, &parcel, &refused));
    id
}

/// Asks for a page; a form is empty but for what every form carries.
fn ask(browser: &Browser, method: &str, path: &str, code: &str, site: &str) -> Answer {
    let fields = fields_of(&[("code", code), ("key", "once"), ("version", "1")]);
    let site = [("sec-fetch-site", site)];
    if method == "GET" { browser.get(path) } else { browser.send(method, path, &site, Some(&fields)) }
}

#[test]
fn the_table_and_the_service_name_the_same_pages() {
    let there: BTreeSet<String> =
        addresses(&PAGES).into_iter().map(|(method, path)| format!("{method} {path}")).collect();
    let listed: BTreeSet<String> = MAY.iter().map(|(address, _)| (*address).to_owned()).collect();
    let missing: Vec<&String> = there.difference(&listed).collect();
    assert!(missing.is_empty(), "give these their lines in tests/api/pages/may.rs: {missing:#?}");
    let gone: Vec<&String> = listed.difference(&there).collect();
    assert!(gone.is_empty(), "tests/api/pages/may.rs names pages that are not there: {gone:#?}");
    assert!(MAY.is_sorted_by(|a, b| a.0 < b.0), "tests/api/pages/may.rs is in alphabetical order, each line once");
}

#[test]
fn each_role_sees_the_pages_that_the_table_says() {
    on_each_engine(|studio| {
        let mut faults = Vec::new();
        for (letter, role) in ROLES {
            for (method, path, may) in inside() {
                // Someone new each time: one of the forms signs out.
                let browser = studio.browser_of(role);
                let answer = ask(&browser, method, &at(studio, path), &browser.code(), "same-origin");
                let fits = match answer.status {
                    // A technician opens their own jobs alone, which `job.rs` tests.
                    403 => !may.contains(letter) || letter == 'T' && path.starts_with("/bay/{id}"),
                    // A move of a booking may be refused as things are, after the role was checked.
                    200 | 303 | 409 | 410 | 412 | 422 => may.contains(letter),
                    _ => false,
                };
                if !fits {
                    faults.push(format!("{method} {path} as {letter}: {} {}", answer.status, answer.text));
                }
            }
        }
        assert!(faults.is_empty(), "{}", faults.join("\n"));
    });
}

#[test]
fn whoever_is_not_signed_in_is_asked_to_sign_in_and_comes_back() {
    on_each_engine(|studio| {
        for (method, path, _) in inside() {
            let path = &path.replace("{id}", NOBODY).replace("{photo}", NOBODY).replace("{act}", ACT);
            let answer = ask(&studio.browser(), method, path, "", "same-origin");
            if method == "GET" {
                let back = format!("/sign-in?back={}", path.replace('/', "%2F"));
                assert_eq!((answer.status, answer.header("location")), (303, back.as_str()), "{path}");
            } else {
                assert_eq!(answer.status, 401, "{path}");
                assert!(answer.text.contains("<h1>Sign in</h1>"), "{path}: {}", answer.text);
            }
            // A program hears it as it does from the API.
            let kind = [("content-type", "application/x-www-form-urlencoded")];
            let body = (method == "POST").then(Vec::new);
            studio.nobody().send(method, path, &kind, body).problem(401, "not-signed-in");
        }
    });
}

#[test]
fn a_form_is_taken_from_our_own_pages_alone() {
    on_each_engine(|studio| {
        for (_, path, _) in inside().filter(|(method, _, _)| *method == "POST") {
            let path = &at(studio, path);
            let browser = studio.browser_of(Role::Owner);
            let (code, others) = (browser.code(), studio.browser_of(Role::Owner).code());
            let (code, others) = (code.as_str(), others.as_str());
            for (code, site) in
                [("", "same-origin"), (others, "same-origin"), (code, "cross-site"), (code, "same-site")]
            {
                let answer = ask(&browser, "POST", path, code, site);
                assert_eq!(answer.status, 403, "{path} with {code:?} from {site}: {}", answer.text);
                // Only a form of our own pages may be sent again.
                assert_eq!(answer.text.contains("Send it now"), site == "same-origin", "{path} from {site}");
            }
            // An old browser says nothing of the site.
            let fields = fields_of(&[("code", code), ("key", "once"), ("version", "1")]);
            let answer = browser.send("POST", path, &[], Some(&fields));
            assert!([200, 303, 409, 410, 412, 422].contains(&answer.status), "{path}: {}", answer.status);
        }
    });
}

/// What somebody types into each form that is not taken yet, since something else in it is missing or wrong.
const TYPED: [(&str, &[(&str, &str)]); 22] = [
    ("/bays", &[("name", "A bay with a name that is longer than sixty characters may be, <b>")]),
    ("/bays/{id}", &[("name", "A bay with a name that is longer than sixty characters may be, <b>")]),
    ("/cars/{id}/{act}", &[("email", "<nobody>"), ("message", "Here <b>")]),
    ("/diary/absences", &[("first_day", "<b>soon</b>"), ("note", "At the dentist")]),
    ("/diary/closures", &[("first_day", "<b>soon</b>"), ("reason", "Holidays")]),
    ("/diary/week-plan", &[("days", "many <b>")]),
    ("/hours", &[("hours.0.from", "<b>late</b>"), ("hours.0.until", "17:30")]),
    ("/mails/{id}", &[("email", "<nobody>")]),
    ("/menu", &[("labour_rate", "65,<b>")]),
    ("/new-car", &[("caller.name", "Niamh <b>"), ("caller.email", "nobody")]),
    ("/new-car/{id}", &[("caller.name", "Niamh <b>"), ("caller.email", "nobody")]),
    ("/new-car/{id}/car", &[("make", "Corrigan <b>"), ("year", "soon")]),
    ("/new-car/{id}/send", &[("email", "<nobody>")]),
    ("/new-car/{id}/walk-round", &[("odometer", "much <b>")]),
    ("/new-car/{id}/work", &[("own.0.name", "Collect <b>"), ("own.0.price", "much")]),
    ("/people", &[("name", "Niamh <b>"), ("email", "nobody")]),
    ("/people/{id}", &[("name", "Niamh <b>"), ("email", "nobody")]),
    ("/self-booking", &[("notice_hours", "a day <b>")]),
    ("/set-up/mail", &[("email", "<nobody>")]),
    ("/shop", &[("name", "Harbour <b>"), ("email", "nobody"), ("iban", "IE00")]),
    ("/shop/tablets", &[("name", "By the sink <b>"), ("idle_minutes", "long <b>")]),
    ("/tax", &[("name", "Reduced <b>"), ("rates.0.percent", "much")]),
];

#[test]
fn a_form_that_is_not_taken_says_why_and_keeps_what_was_typed() {
    on_each_engine(|studio| {
        let browser = studio.browser_of(Role::Owner);
        let forms = inside().filter(|(method, _, _)| *method == "POST").map(|(_, path, _)| path);
        // `bay.rs` sends those of tablets and digits.
        let untyped = [
            "/bay/sign-out",
            "/digits",
            "/menu/publish",
            "/new-car/{id}/paint",
            "/people/{id}/digits",
            "/people/{id}/invite",
            "/shop/tablets/{id}/end",
            "/sign-out",
        ];
        // `diary.rs` sends the forms about one booking, and `job.rs` those about one job.
        let of_record = |path: &str| ["/diary/", "/bay/"].iter().any(|p| path.starts_with(p)) && path.contains("{id}");
        assert!(
            forms.filter(|path| !untyped.contains(path) && !of_record(path)).eq(TYPED.iter().map(|(path, _)| *path)),
            "each has a line"
        );
        for (path, typed) in TYPED {
            let path = at(studio, path);
            let fields = main_form(&browser.get(&path).text);
            // A week without hours is one: the studio is closed.
            if path != "/hours" {
                let empty = browser.post(&path, &fields);
                assert_eq!(empty.status, 422, "{path}: {}", empty.text);
                assert!(empty.text.contains("<title>Error: "), "{path}: {}", empty.text);
            }
            let typed = fields_of(typed);
            let page = browser.post(&path, &[fields, typed.clone()].concat());
            assert_eq!(page.status, 422, "{path}: {}", page.text);
            let shown = unescaped(&page.text);
            for (name, value) in typed {
                assert!(shown.contains(&format!("value=\"{value}\"")), "{path}: {name}: {}", page.text);
            }
            assert!(!page.text.contains("<b>late") && page.text.contains("aria-invalid=\"true\""), "{}", page.text);
        }
    });
}

#[test]
fn pages_read_no_token_and_the_api_reads_no_cookie() {
    on_each_engine(|studio| {
        let browser = studio.browser_of(Role::Owner);
        assert_eq!(browser.get("/shop").status, 200);
        browser.get("/v1/me").problem(401, "not-signed-in");
        let owner = studio.owner();
        assert_eq!(owner.get("/v1/me").status, 200);
        owner.get("/shop").problem(401, "not-signed-in");
    });
}

#[test]
fn pages_load_our_own_files_alone_and_tell_no_one() {
    on_each_engine(|studio| {
        let browser = studio.browser_of(Role::Owner);
        for path in
            ["/today", "/cars", "/shop", "/hours", "/people", "/menu/trial", "/set-up/steps", "/sign-in", "/nothing"]
        {
            let page = browser.get(path);
            let policy = page.header("content-security-policy");
            assert!(policy.starts_with("default-src 'none'") && !policy.contains("unsafe"), "{path}: {policy}");
            assert_eq!((page.header("cache-control"), page.header("referrer-policy")), ("no-store", "no-referrer"));
        }
    });
}
