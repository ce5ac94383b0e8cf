//! What a person looks at before publishing: warnings, and what would change.

use baywright_tests::make::menu::{service, small_menu, step, with};
use baywright_tests::on_each_engine;
use serde_json::{Value, json};

fn warned(list: &Value) -> Vec<(String, String)> {
    let text = |value: &Value| value.as_str().unwrap().to_owned();
    list.as_array().unwrap().iter().map(|one| (text(&one["pointer"]), text(&one["code"]))).collect()
}

fn at(pointer: &str, code: &str) -> (String, String) {
    (pointer.to_owned(), code.to_owned())
}

#[test]
fn what_looks_wrong_is_warned_of_and_does_not_keep_the_menu_from_being_published() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        studio.floor();
        let mut menu = small_menu();
        menu["steps"][0]["skills"] = json!(["wheel-repair"]);
        menu["steps"][1]["bay_features"] = json!(["turntable"]);
        menu["services"][0]["price"]["amounts"]["small"]["amount"] = json!("0.00");
        menu["services"][1]["price"]["amounts"]["large"]["amount"] = json!("99999999.00");
        menu["packages"][0]["price"]["medium"]["amount"] = json!("300.00");
        let seen = owner.draft_menu(&menu);
        let found = owner.get("/v1/menu/draft/validation").json();
        assert_eq!((&found["publishable"], &found["faults"]), (&json!(true), &json!([])));
        let expected = [
            at("/steps/0/skills", "nobody_has_skill"),
            at("/steps/1/bay_features", "no_bay_has_features"),
            at("/services/0/price/amounts/small", "price_zero"),
            at("/services/1/price/amounts/large", "price_high"),
            // A small car's wash costs nothing now: 205.00 against 0.00 and 150.00; medium 300.00 against 89.00 and 180.00.
            at("/packages/0/price/small", "dearer_than_parts"),
            at("/packages/0/price/medium", "dearer_than_parts"),
        ];
        assert_eq!(warned(&found["warnings"]), expected);
        for (pointer, _) in &expected {
            assert!(menu.pointer(pointer).is_some(), "{pointer} leads to a place in the draft");
        }
        let published = owner.act("/v1/menu/publish", &seen, &json!({}));
        let kebab: Vec<String> = expected.iter().map(|(_, code)| code.replace('_', "-")).collect();
        assert_eq!(published.warnings(), kebab);
        published.expect(201);
    });
}

#[test]
fn a_step_of_weeks_is_warned_of_with_the_price_by_time_that_follows_from_it() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let bare = json!({ "checkpoints": [], "products": [], "packages": [] });
        let services = json!([service("long", 10, &["wash"], None)]);
        let menu = with(bare, json!({ "steps": [step("wash", 1, 20_000, &[])], "services": services }));
        owner.draft_menu(&menu);
        let found = owner.get("/v1/menu/draft/validation").json();
        let expected = [at("/steps/0/base_minutes", "step_long"), at("/services/0/price", "price_high")];
        assert_eq!(warned(&found["warnings"]), expected);
    });
}

#[test]
fn the_differences_to_the_menu_in_force_are_shown_before_publishing() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let changes = || owner.get("/v1/menu/draft/changes").expect(200);
        owner.draft_menu(&small_menu());
        let first = changes();
        assert_eq!((&first["since_number"], &first["identical"]), (&json!(null), &json!(false)));
        assert!(first["changes"].as_array().unwrap().iter().all(|one| one["kind"] == "ADDED"), "{first}");
        owner.publish_small_menu();
        let same = changes();
        assert_eq!(
            (&same["since_number"], &same["identical"], &same["changes"]),
            (&json!(1), &json!(true), &json!([]))
        );
        let mut menu = small_menu();
        menu["services"][0]["price"]["amounts"]["medium"]["amount"] = json!("95.00");
        menu["services"].as_array_mut().unwrap().remove(5);
        menu["packages"] = json!([]);
        let acid = menu["products"][3].clone();
        menu["products"].as_array_mut().unwrap().push(with(acid, json!({ "code": "zinc-cleaner" })));
        owner.draft_menu(&menu);
        let found = changes();
        let named: Vec<[&str; 3]> = found["changes"]
            .as_array()
            .unwrap()
            .iter()
            .map(|one| ["list", "code", "kind"].map(|name| one[name].as_str().unwrap()))
            .collect();
        assert_eq!(
            named,
            [
                ["products", "zinc-cleaner", "ADDED"],
                ["services", "interior", "REMOVED"],
                ["services", "maintenance-wash", "CHANGED"],
                ["packages", "inside-and-out", "REMOVED"],
            ]
        );
        let price = json!([{ "pointer": "/price/amounts/medium/amount", "before": "89.00", "after": "95.00" }]);
        assert_eq!(found["changes"][2]["fields"], price);
        assert_eq!((&found["publishable"], &found["change_count"]), (&json!(true), &json!(4)));
    });
}

#[test]
fn publishing_what_is_in_force_already_makes_nothing() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let first = owner.publish_small_menu();
        let seen = owner.get("/v1/menu/draft").etag();
        let again = owner.act("/v1/menu/publish", &seen, &json!({ "note": "Again" }));
        assert!(again.warnings().contains(&"nothing-changed".to_owned()), "{}", again.text);
        let again = again.expect(201);
        assert_eq!((&again["id"], &again["number"], &again["note"]), (&first["id"], &json!(1), &json!("")));
        assert_eq!(owner.get("/v1/menu/revisions").expect(200)["items"].as_array().unwrap().len(), 1);
        // A price that is written in another way is the same price.
        let mut written = small_menu();
        written["services"][0]["price"]["amounts"]["medium"]["amount"] = json!("89");
        written["packages"][0]["price"]["small"]["amount"] = json!("205.0");
        written["products"][0]["price"]["amount"] = json!("36");
        let seen = owner.draft_menu(&written);
        assert_eq!(owner.get("/v1/menu/draft").expect(200)["menu"], small_menu());
        let again = owner.act("/v1/menu/publish", &seen, &json!({}));
        assert!(again.warnings().contains(&"nothing-changed".to_owned()), "{}", again.text);
        // Another revision comes in between, so that publishing the same for after it makes one.
        let later = |from: &str| json!({ "from": from, "note": "" });
        let mut dearer = small_menu();
        dearer["services"][0]["price"]["amounts"]["medium"]["amount"] = json!("95.00");
        let seen = owner.draft_menu(&dearer);
        owner.act("/v1/menu/publish", &seen, &later("2026-03-09T08:00:00Z")).expect(201);
        let seen = owner.draft_menu(&small_menu());
        let back = owner.act("/v1/menu/publish", &seen, &later("2026-03-16T08:00:00Z")).expect(201);
        assert_eq!(back["number"], 3);
    });
}
