//! Prices with tax and without: what the menu says, and what a change converts.

use baywright_core::platform::identity::Role;
use baywright_tests::make::menu::{small_menu, with};
use baywright_tests::make::quote::{draft, id};
use baywright_tests::make::shop::without;
use baywright_tests::on_each_engine;
use baywright_tests::person::Person;
use serde_json::{Value, json};

fn to(prices: &str) -> Value {
    json!({ "prices": prices })
}

fn medium(menu: &Value, service: usize) -> Value {
    menu["menu"]["services"][service]["price"]["amounts"]["medium"]["amount"].clone()
}

fn preview(owner: &Person, prices: &str) -> Value {
    owner.json("POST", "/v1/menu/price-basis/preview", &[], &to(prices)).expect(200)
}

fn change(owner: &Person, prices: &str) -> Value {
    let seen = owner.get("/v1/menu/draft").etag();
    owner.act("/v1/menu/price-basis", &seen, &to(prices)).expect(200)
}

fn row<'a>(view: &'a Value, pointer: &str) -> &'a Value {
    view["prices"].as_array().unwrap().iter().find(|row| row["pointer"] == pointer).unwrap()
}

#[test]
fn the_menu_says_its_basis_and_a_change_of_rates_can_not_read_it_anew() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let rates = owner.get("/v1/rates");
        // Without a menu there is nothing to convert.
        let net = with(without(&rates.expect(200), &["version", "updated_at"]), json!({ "private_prices": "NET" }));
        owner.put("/v1/rates", "\"1\"", &net).expect(200);
        owner.put("/v1/rates", "\"2\"", &with(net.clone(), json!({ "private_prices": "GROSS" }))).expect(200);
        owner.publish_small_menu();
        assert_eq!(owner.get("/v1/menu").expect(200)["revision"]["prices"], "GROSS");
        assert_eq!(owner.get("/v1/menu/draft").expect(200)["prices"], "GROSS");
        let refused = owner.put("/v1/rates", "\"3\"", &net).problem(409, "menu-has-prices");
        assert!(refused["detail"].as_str().unwrap().contains("/v1/menu/price-basis"), "{refused}");
        let dearer = json!({ "private_prices": "GROSS", "labour_rate": { "amount": "66.00", "currency": "EUR" } });
        owner.put("/v1/rates", "\"3\"", &with(net, dearer)).expect(200);
    });
}

#[test]
fn a_change_of_basis_is_shown_first_and_converts_every_price_by_its_tax() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        owner.publish_small_menu();
        let before = owner.get("/v1/menu").expect(200);
        let shown = preview(&owner, "NET");
        assert_eq!(
            (&shown["from"], &shown["to"], &shown["revision_id"]),
            (&json!("GROSS"), &json!("NET"), &json!(null))
        );
        // By hand at 23 %: 89.00 ÷ 1.23 = 72.36, to the nearest whole euro; 60.00 ÷ 1.23 = 48.78; 14.00 ÷ 1.23 = 11.38.
        let wash = row(&shown, "/services/0/price/amounts/medium");
        assert_eq!((&wash["before"]["amount"], &wash["after"]["amount"]), (&json!("89.00"), &json!("72.00")));
        assert_eq!((&wash["menu"], &wash["name"]), (&json!("IN_FORCE"), &json!("maintenance wash")));
        assert_eq!(row(&shown, "/products/1/price")["after"]["amount"], "11.38");
        assert_eq!(shown["labour_rate_after"]["amount"], "48.78");
        assert_eq!(owner.get("/v1/menu").expect(200), before, "a preview changes nothing");
        assert_eq!(owner.get("/v1/rates").expect(200)["private_prices"], "GROSS");

        studio.clock.set(studio.clock.now().plus_minutes(5));
        owner.act("/v1/menu/price-basis", "\"0\"", &to("NET")).problem(412, "changed-meanwhile");
        // The preview answers the version with which the change is asked for.
        let done = owner.act("/v1/menu/price-basis", &format!("\"{}\"", shown["version"]), &to("NET")).expect(200);
        assert_eq!((&done["prices"], &done["labour_rate_after"]), (&shown["prices"], &shown["labour_rate_after"]));
        let now = owner.get("/v1/menu").expect(200);
        assert_eq!((&now["revision"]["id"], &now["revision"]["number"]), (&done["revision_id"], &json!(2)));
        assert_eq!((&now["revision"]["prices"], medium(&now, 0)), (&json!("NET"), json!("72.00")));
        let draft = owner.get("/v1/menu/draft").expect(200);
        assert_eq!((&draft["prices"], &draft["menu"]), (&json!("NET"), &now["menu"]));
        let rates = owner.get("/v1/rates").expect(200);
        assert_eq!((&rates["private_prices"], &rates["labour_rate"]["amount"]), (&json!("NET"), &json!("48.78")));
        let first = before["revision"]["id"].as_str().unwrap();
        // The revision before has prices of the other kind: only a conversion leads back.
        let withdraw = format!("/v1/menu/revisions/{}/withdraw", done["revision_id"].as_str().unwrap());
        owner.post(&withdraw, &json!({})).problem(409, "undo-first");
        // The one before is not in force any more, and what is advised about it can be done: see below.
        let problem =
            owner.post(&format!("/v1/menu/revisions/{first}/withdraw"), &json!({})).problem(409, "undo-first");
        let said = problem["detail"].as_str().unwrap();
        assert!(said.contains("load it with POST /v1/menu/draft/restore and publish it"), "{said}");
        let kept = owner.get(&format!("/v1/menu/revisions/{first}")).expect(200);
        assert_eq!((&kept["revision"]["prices"], medium(&kept, 0)), (&json!("GROSS"), json!("89.00")));

        let seen = owner.get("/v1/menu/draft").etag();
        owner.act("/v1/menu/price-basis", &seen, &to("NET")).problem(409, "prices-already-so");
        // An older revision comes back in the basis of today.
        let restored = owner.act("/v1/menu/draft/restore", &seen, &json!({ "revision_id": first })).expect(200);
        assert_eq!((&restored["prices"], medium(&restored, 0)), (&json!("NET"), json!("72.00")));
        studio.clock.set(studio.clock.now().plus_minutes(5));
        change(&owner, "GROSS");
        // 72.00 × 1.23 = 88.56.
        assert_eq!(medium(&owner.get("/v1/menu").expect(200), 0), "89.00");
        studio.colleague(Role::Desk).act("/v1/menu/price-basis", &seen, &to("NET")).problem(403, "not-allowed");
    });
}

#[test]
fn prices_are_what_they_were_after_a_change_there_and_back() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let mut menu = small_menu();
        // 88.00 ÷ 1.23 = 71.54, to the nearest whole euro 72.00; and 72.00 × 1.23 = 88.56 alone would be 89.00.
        menu["services"][0]["price"]["amounts"]["medium"]["amount"] = json!("88.00");
        menu["products"][0]["price"]["amount"] = json!("65.01");
        owner.publish_menu(&menu);
        let rates = owner.get("/v1/rates");
        let etag = rates.etag();
        let labour = json!({ "labour_rate": { "amount": "65.00", "currency": "EUR" } });
        let rates = with(without(&rates.expect(200), &["version", "updated_at"]), labour);
        owner.put("/v1/rates", &etag, &rates).expect(200);
        studio.pass_minutes(1);
        change(&owner, "NET");
        assert_eq!(medium(&owner.get("/v1/menu").expect(200), 0), "72.00");
        studio.pass_minutes(1);
        let shown = preview(&owner, "GROSS");
        assert_eq!(row(&shown, "/services/0/price/amounts/medium")["after"]["amount"], "88.00");
        change(&owner, "GROSS");
        assert_eq!(owner.get("/v1/menu").expect(200)["menu"], menu);
        assert_eq!(owner.get("/v1/menu/draft").expect(200)["menu"], menu);
        assert_eq!(owner.get("/v1/rates").expect(200)["labour_rate"]["amount"], "65.00");
        // A price that was changed in between is converted.
        studio.pass_minutes(1);
        change(&owner, "NET");
        let mut net = owner.get("/v1/menu/draft").expect(200)["menu"].clone();
        net["services"][0]["price"]["amounts"]["medium"]["amount"] = json!("73.00");
        owner.publish_menu(&net);
        studio.pass_minutes(1);
        change(&owner, "GROSS");
        assert_eq!(medium(&owner.get("/v1/menu").expect(200), 0), "90.00");
    });
}

#[test]
fn what_a_private_customer_pays_stays_about_the_same_when_the_basis_changes() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        owner.publish_small_menu();
        let (_, car, inspection) = owner.add_inspected_car("Aoife Byrne", "aoife@example.com");
        let asked = with(draft(&id(&inspection), &["decontamination"], &[]), json!({ "prices": "GROSS" }));
        let payable = || {
            let body = json!({ "vehicle_id": car["id"], "draft": asked, "choices": [] });
            owner.post("/v1/quote-prices", &body).expect(200)["totals"]["payable"]["amount"].clone()
        };
        assert_eq!(payable(), "175.00");
        change(&owner, "NET");
        // 175.00 ÷ 1.23 = 142.28, nearest 142.00, and × 1.23 = 174.66; it was 215.25 when the numbers were only read anew.
        assert_eq!(payable(), "174.66");
    });
}

#[test]
fn a_menu_to_come_keeps_the_basis_from_changing_and_a_bare_draft_does_not() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let seen = owner.draft_menu(&small_menu());
        let done = change(&owner, "NET");
        assert_eq!((&done["revision_id"], &done["version"]), (&json!(null), &json!(2)));
        assert_eq!(row(&done, "/services/0/price/amounts/medium")["menu"], "DRAFT");
        owner.act("/v1/menu/publish", &seen, &json!({})).problem(412, "changed-meanwhile");
        let later = json!({ "from": "2026-03-09T08:00:00Z", "note": "" });
        let to_come = owner.act("/v1/menu/publish", "\"2\"", &later).expect(201);
        owner.act("/v1/menu/price-basis", "\"2\"", &to("GROSS")).problem(409, "revision-to-come");
        let withdraw = format!("/v1/menu/revisions/{}/withdraw", id(&to_come));
        owner.post(&withdraw, &json!({})).expect(200);
        owner.act("/v1/menu/price-basis", "\"2\"", &to("GROSS")).expect(200);
    });
}

#[test]
fn a_line_under_reverse_charge_starts_from_the_net_price() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        owner.publish_small_menu();
        owner.add_reverse_charge();
        let (_, car, inspection) = owner.add_inspected_car("Aoife Byrne", "aoife@example.com");
        for prices in ["NET", "GROSS"] {
            let mut asked = with(draft(&id(&inspection), &["decontamination"], &[]), json!({ "prices": prices }));
            asked["lines"][0]["tax"] = json!("reverse-charge");
            let body = json!({ "vehicle_id": car["id"], "draft": asked, "choices": [] });
            let totals = owner.post("/v1/quote-prices", &body).expect(200)["totals"].clone();
            // 175.00 holds 23 % of tax: 142.28 without it, and the customer owes the tax elsewhere.
            let of = |name: &str| totals[name]["amount"].as_str().unwrap().to_owned();
            assert_eq!([of("net"), of("tax"), of("payable")], ["142.28", "0.00", "142.28"], "{prices}");
        }
    });
}
