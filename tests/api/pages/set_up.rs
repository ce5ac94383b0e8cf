//! The first setup as a page.

use baywright_core::setup::usecase::setup_code;
use baywright_tests::browser::Browser;
use baywright_tests::visitor::{changed, fields_of};
use baywright_tests::{on_each_engine, on_each_engine_without_a_shop};

fn filled(code: &str) -> Vec<(String, String)> {
    fields_of(&[
        ("code", code),
        ("name", "Harbour Detailing"),
        ("currency", "EUR"),
        ("zone", "Europe/Dublin"),
        ("tax_percent", "23,0 %"),
        ("owner.name", "Orla"),
        ("owner.email", "orla@example.com"),
        ("owner.password", "thirteen quiet buckets"),
    ])
}

/// What the page says of a form with one field changed.
#[track_caller]
fn refused(browser: &Browser, fields: &[(String, String)], name: &str, value: &str) {
    let page = browser.post("/set-up", &changed(fields, name, value));
    assert_eq!(page.status, 422, "{}", page.text);
    assert!(page.text.contains(&format!("href=\"#{name}\"")), "{name}: {}", page.text);
    assert!(!page.text.contains("quiet buckets"), "a password is never shown again");
    assert!(name == "name" || page.text.contains("value=\"Harbour Detailing\""), "{}", page.text);
}

#[test]
fn an_empty_database_is_set_up_on_a_page_and_only_once() {
    on_each_engine_without_a_shop(|studio| {
        let code = setup_code(&studio.db, studio.clock.now()).unwrap().unwrap();
        let browser = studio.browser();
        assert_eq!(browser.get("/").header("location"), "/set-up");
        assert_eq!(browser.get("/set-up").status, 200);
        let fields = filled(&code);
        for (name, value) in [
            ("code", "AAAAA-AAAAA-AAAAA-AAAAA"),
            ("name", ""),
            ("currency", ""),
            ("zone", "Moon"),
            ("tax_percent", "much"),
            ("owner.email", "orla"),
            ("owner.password", ""),
        ] {
            refused(&browser, &fields, name, value);
        }
        let done = browser.post("/set-up", &fields);
        assert_eq!((done.status, done.header("location")), (303, "/set-up/steps"), "{}", done.text);
        let owner = browser.after(&done);
        assert!(owner.get("/shop").text.contains("value=\"Harbour Detailing\""));
        let start = owner.get("/").text;
        assert!(start.contains("Hello, Orla") && start.contains("Enter your studio details"), "{start}");
        // Whoever sends it twice founds one shop, and is led to the page to sign in on.
        assert_eq!(browser.post("/set-up", &fields).header("location"), "/");
        assert_eq!(browser.get("/set-up").header("location"), "/");
    });
}

#[test]
fn a_studio_that_is_there_is_not_set_up_again() {
    on_each_engine(|studio| {
        assert_eq!(studio.browser().get("/set-up").header("location"), "/");
    });
}
