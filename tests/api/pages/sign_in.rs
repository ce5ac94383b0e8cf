//! Signing in and out by cookie.

use baywright_core::platform::identity::Role;
use baywright_tests::browser::{form, main_form};
use baywright_tests::on_each_engine;
use baywright_tests::visitor::fields_of;
use serde_json::json;

use crate::access::{PASSWORD, settled};

#[test]
fn a_sign_in_sets_a_cookie_leads_back_and_ends_when_signed_out() {
    on_each_engine(|studio| {
        let account = settled(studio, "DESK").1;
        let email = account["email"].as_str().unwrap();
        let browser = studio.browser();
        let page = browser.get("/sign-in?back=%2Fshop%3Fnew%3Dyes");
        let mut fields = form(&page.text);
        fields.extend(fields_of(&[("email", email), ("password", PASSWORD)]));
        let answer = browser.post("/sign-in", &fields);
        assert_eq!((answer.status, answer.header("location")), (303, "/shop?new=yes"), "{}", answer.text);
        let cookie = answer.header("set-cookie");
        assert!(cookie.contains("; HttpOnly") && cookie.contains("; SameSite=Lax") && cookie.contains("; Path=/"));
        assert!(!cookie.contains("Max-Age") && !cookie.contains("Domain"), "{cookie}");
        let browser = browser.after(&answer);
        assert_eq!(browser.get("/shop").status, 200);
        // Whoever is signed in is led on, and never to another site.
        assert_eq!(browser.get("/sign-in?back=%2Fshop").header("location"), "/shop");
        assert_eq!(browser.get("/sign-in?back=%2F%2Fexample.com").header("location"), "/");
        // A second tab is the same sign-in, and signing out ends both.
        let out = browser.post("/sign-out", &fields_of(&[("code", &browser.code())]));
        assert_eq!((out.status, out.header("location")), (303, "/sign-in"));
        assert!(out.header("set-cookie").contains("Max-Age=0"), "{}", out.header("set-cookie"));
        assert_eq!(browser.get("/shop").status, 303);
    });
}

#[test]
fn a_wrong_password_keeps_the_address_and_tries_are_limited_as_in_the_api() {
    on_each_engine(|studio| {
        let account = settled(studio, "DESK").1;
        let email = account["email"].as_str().unwrap();
        let browser = studio.browser();
        let wrong = fields_of(&[("email", email), ("password", "four wet sponges")]);
        let page = browser.post("/sign-in", &wrong);
        assert_eq!(page.status, 422);
        assert!(page.text.contains("<title>Error: Sign in</title>"), "{}", page.text);
        assert!(page.text.contains(email) && !page.text.contains("sponges"), "{}", page.text);
        let empty = browser.post("/sign-in", &fields_of(&[("email", "nobody"), ("password", "")]));
        assert_eq!(empty.status, 422);
        for field in ["href=\"#email\"", "href=\"#password\"", "value=\"nobody\""] {
            assert!(empty.text.contains(field), "{field}: {}", empty.text);
        }
        // Tries of pages and of the API count together.
        for _ in 0..4 {
            studio.nobody().post("/v1/sessions", &json!({ "email": email, "password": "wrong" }));
        }
        let page = browser.post("/sign-in", &fields_of(&[("email", email), ("password", PASSWORD)]));
        assert_eq!(page.status, 429, "{}", page.text);
        assert!(page.header("retry-after").parse::<u32>().unwrap() > 0 && page.text.contains("Try again in"));
    });
}

#[test]
fn a_form_of_another_site_signs_nobody_in() {
    on_each_engine(|studio| {
        let account = settled(studio, "DESK").1;
        let fields = fields_of(&[("email", account["email"].as_str().unwrap()), ("password", PASSWORD)]);
        let answer = studio.browser().send("POST", "/sign-in", &[("sec-fetch-site", "cross-site")], Some(&fields));
        assert_eq!((answer.status, answer.header("set-cookie")), (403, ""));
    });
}

#[test]
fn a_sign_in_ends_without_use_and_after_a_working_day() {
    on_each_engine(|studio| {
        let browser = studio.browser_of(Role::Desk);
        for _ in 0..23 {
            studio.pass_minutes(29);
            assert_eq!(browser.get("/shop").status, 200);
        }
        // 29 * 23 minutes are 11 h 7 min.
        studio.pass_minutes(28);
        assert_eq!(browser.get("/shop").status, 200);
        studio.pass_minutes(26);
        assert_eq!(browser.get("/shop").status, 303, "after 12 hours it ends in any case");
        let idle = studio.browser_of(Role::Desk);
        assert_eq!(idle.get("/shop").status, 200);
        studio.pass_minutes(30);
        assert_eq!(idle.get("/shop").status, 303, "after 30 minutes without use it ends");
    });
}

#[test]
fn a_change_of_role_and_an_end_of_all_sign_ins_count_at_once() {
    on_each_engine(|studio| {
        let id = studio.hire(Role::Desk);
        let browser = studio.browser_of_person(&id);
        assert_eq!(browser.get("/shop").status, 200);
        let owner = studio.owner();
        let path = format!("/v1/people/{id}");
        let person = owner.get(&path);
        let etag = person.etag();
        let person = person.expect(200);
        let body = json!({ "name": person["name"], "email": person["email"], "role": "TECHNICIAN",
            "skills": person["skills"], "shifts": person["shifts"] });
        owner.put(&path, &etag, &body).expect(200);
        assert!([303, 403].contains(&browser.get("/shop").status));
        let other = studio.browser_of_person(&id);
        assert_eq!(other.get("/").header("location"), "/today");
        studio.person(id.as_str()).post("/v1/sessions/end-all", &json!(null));
        assert!(other.get("/").text.contains("<h1>Sign in</h1>"));
    });
}

/// Whoever makes a link, or a form on another site, could fill in what somebody else then sends.
#[test]
fn nothing_is_kept_as_typed_that_did_not_come_from_a_page_of_ours() {
    on_each_engine(|studio| {
        let account = settled(studio, "OWNER").1;
        let typed = "name=Mallory&email=mallory%40example.com&role=OWNER&key=k1";
        let query = url::form_urlencoded::Serializer::new(String::new())
            .extend_pairs([("back", "/people"), ("typed", typed)])
            .finish();
        let page = studio.browser().get(&format!("/sign-in?{query}"));
        assert_eq!(page.status, 200);
        assert!(!page.text.contains("Mallory") && !page.text.contains("name=\"typed\""), "{}", page.text);
        let fields = [("email", account["email"].as_str().unwrap()), ("password", PASSWORD), ("back", "/people")];
        let fields = fields_of(&[fields.as_slice(), &[("typed", typed)]].concat());
        // An old browser does not say which page sent the form.
        let answer = studio.browser().send("POST", "/sign-in", &[], Some(&fields));
        assert_eq!((answer.status, answer.header("location")), (303, "/people"), "{}", answer.text);
    });
}

#[test]
fn what_was_typed_into_an_interrupted_form_is_sent_after_the_next_sign_in() {
    on_each_engine(|studio| {
        let account = settled(studio, "DESK").1;
        let email = account["email"].as_str().unwrap();
        let browser = studio.browser_of(Role::Desk);
        let page = browser.get("/shop").text;
        let mut typed = main_form(&page);
        typed.extend(fields_of(&[("name", "Harbour & Sons"), ("zone", "Europe/Dublin"), ("address.city", "Cork")]));
        studio.pass_minutes(31);
        let asked = browser.post("/shop", &typed);
        assert_eq!(asked.status, 401);
        let mut fields = form(&asked.text);
        fields.extend(fields_of(&[("email", email), ("password", PASSWORD)]));
        let again = browser.post("/sign-in", &fields);
        assert_eq!(again.status, 200, "{}", again.text);
        assert!(again.text.contains("Harbour &#38; Sons") && again.text.contains("action=\"/shop\""), "{}", again.text);
        let saved = browser.after(&again).post("/shop", &form(&again.text));
        assert_eq!((saved.status, saved.header("location")), (303, "/shop?saved=yes"), "{}", saved.text);
        assert_eq!(studio.owner().get("/v1/shop").expect(200)["address"]["city"], "Cork");
    });
}
