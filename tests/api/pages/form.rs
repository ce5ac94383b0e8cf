//! Forms of the studio's pages: faults, keys and versions.

use baywright_core::platform::identity::Role;
use baywright_tests::browser::{Browser, main_form};
use baywright_tests::on_each_engine;
use baywright_tests::visitor::{changed, fields_of};
use serde_json::json;

/// The form of the studio's details as it is shown, with a name.
fn details(browser: &Browser, name: &str) -> Vec<(String, String)> {
    let mut fields = main_form(&browser.get("/shop").text);
    fields.extend(fields_of(&[("name", name), ("zone", "Europe/Dublin")]));
    fields
}

#[test]
fn a_form_says_all_its_faults_at_once_and_keeps_what_was_typed() {
    on_each_engine(|studio| {
        let browser = studio.browser_of(Role::Owner);
        let mut fields = details(&browser, "");
        fields.extend(fields_of(&[("email", "nobody"), ("iban", "IE00"), ("address.city", "Cork <b>")]));
        let page = browser.post("/shop", &fields);
        assert_eq!(page.status, 422);
        for said in [
            "<title>Error: Shop</title>",
            "3 things to correct",
            "href=\"#name\"",
            "href=\"#email\"",
            "href=\"#iban\"",
            "id=\"iban-fault\"",
            "value=\"nobody\"",
            "value=\"Cork &#60;b&#62;\"",
        ] {
            assert!(page.text.contains(said), "{said}: {}", page.text);
        }
        assert_eq!(studio.owner().get("/v1/shop").expect(200)["name"], "Test Studio");
        // Corrected, it is saved.
        let mut corrected = main_form(&page.text);
        corrected.extend(fields_of(&[("name", "Harbour"), ("zone", "Europe/Dublin"), ("address.city", "Cork")]));
        assert_eq!(browser.post("/shop", &corrected).header("location"), "/shop?saved=yes");
        assert!(browser.get("/shop?saved=yes").text.contains("Saved."));
    });
}

#[test]
fn a_form_that_is_sent_twice_takes_effect_once_and_leads_to_the_same_page() {
    on_each_engine(|studio| {
        let browser = studio.browser_of(Role::Owner);
        let fields = details(&browser, "Harbour");
        for _ in 0..2 {
            let answer = browser.post("/shop", &fields);
            assert_eq!((answer.status, answer.header("location")), (303, "/shop?saved=yes"), "{}", answer.text);
        }
        let shop = studio.owner().get("/v1/shop").expect(200);
        assert_eq!((&shop["name"], &shop["version"]), (&json!("Harbour"), &json!(2)));
        // With other words under the same key nothing is saved, and what was typed stays.
        let other = browser.post("/shop", &changed(&fields, "name", "Quay"));
        assert_eq!(other.status, 422);
        assert!(other.text.contains("was sent before") && other.text.contains("value=\"Quay\""), "{}", other.text);
        for missing in ["key", "version"] {
            assert_eq!(browser.post("/shop", &changed(&fields, missing, "")).status, 400, "{missing}");
        }
    });
}

#[test]
fn two_people_on_one_record_see_what_both_have_written() {
    on_each_engine(|studio| {
        let (first, second) = (studio.browser_of(Role::Owner), studio.browser_of(Role::Desk));
        let (mine, theirs) = (details(&first, "Harbour"), details(&second, "Quay"));
        assert_eq!(second.post("/shop", &theirs).status, 303);
        let page = first.post("/shop", &mine);
        assert_eq!(page.status, 412);
        assert!(page.text.contains("<td>Quay</td><td>Harbour</td>"), "{}", page.text);
        assert!(page.text.contains("value=\"Harbour\""), "{}", page.text);
        let mut fields = main_form(&page.text);
        fields.extend(fields_of(&[("name", "Harbour"), ("zone", "Europe/Dublin")]));
        assert_eq!(first.post("/shop", &fields).status, 303);
        assert_eq!(studio.owner().get("/v1/shop").expect(200)["name"], "Harbour");
    });
}
