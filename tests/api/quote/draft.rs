//! What a draft may say, and how it is told what it may not.

use baywright_tests::make::inspection;
use baywright_tests::make::menu::with;
use baywright_tests::make::quote::{draft, id, tag};
use baywright_tests::on_each_engine;
use serde_json::{Value, json};

#[test]
fn a_draft_is_replaced_and_stale_changes_are_refused() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        owner.publish_small_menu();
        let (_, vehicle, inspection) = owner.add_inspected_car("Aoife Byrne", "aoife@example.com");
        let written = owner.write_quote(&id(&vehicle), &draft(&id(&inspection), &["interior"], &[])).expect(201);
        let path = format!("/v1/quotes/{}/draft", id(&written));
        let other = draft(&id(&inspection), &["decontamination"], &["coating"]);
        let changed = owner.put(&path, &tag(&written), &other);
        assert_eq!(changed.etag(), "\"2\"");
        let changed = changed.expect(200);
        let lines = changed["latest"]["document"]["lines"].as_array().unwrap();
        let codes: Vec<&Value> = lines.iter().map(|line| &line["code"]).collect();
        assert_eq!(codes, [&json!("decontamination"), &json!("coating")]);
        owner.put(&path, &tag(&written), &other).problem(412, "changed-meanwhile");
        owner.json("PUT", &path, &[], &other).problem(428, "if-match-required");
        owner.move_quote(&written, "send", &json!({})).problem(412, "changed-meanwhile");
    });
}

#[test]
fn faults_of_a_draft_are_pointed_at() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        owner.publish_small_menu();
        let (_, vehicle, inspected) = owner.add_inspected_car("Aoife Byrne", "aoife@example.com");
        let (_, _, others) = owner.add_inspected_car("Niamh Daly", "niamh@example.com");
        let open = owner.post("/v1/inspections", &inspection::body(&id(&vehicle))).expect(201);
        let good = draft(&id(&inspected), &["decontamination"], &[]);
        let refused = |changes: Value, status: u16, slug: &str| {
            let problem = owner.write_quote(&id(&vehicle), &with(good.clone(), changes)).problem(status, slug);
            problem["errors"][0]["pointer"].as_str().unwrap_or_default().to_owned()
        };
        let value = |changes: Value| refused(changes, 422, "invalid-value");
        let line = |line: Value| json!({ "lines": [line] });
        let wash = json!({ "item": { "service": "decontamination" } });
        assert_eq!(value(json!({ "inspection_id": others["id"] })), "/draft/inspection_id");
        assert_eq!(value(json!({ "inspection_id": open["id"] })), "/draft/inspection_id");
        assert_eq!(value(json!({ "inspection_id": vehicle["id"] })), "/draft/inspection_id");
        assert_eq!(value(json!({ "condition": "FAIR" })), "/draft/condition");
        assert_eq!(value(line(with(wash.clone(), json!({ "tax": "reduced" })))), "/draft/lines/0/tax");
        let dollars = json!({ "custom": { "name": "Odd job", "price": { "amount": "5.00", "currency": "USD" } } });
        assert_eq!(value(line(json!({ "item": dollars }))), "/draft/lines/0/item/custom/price/currency");
        assert_eq!(value(json!({ "deposit": { "percent": "101" } })), "/draft/deposit/percent");
        let off = json!([{ "off": { "percent": "-1" }, "reason": "odd" }]);
        assert_eq!(value(json!({ "discounts": off })), "/draft/discounts/0/off/percent");

        let price = |changes: Value| refused(changes, 422, "quote-not-priceable");
        assert_eq!(price(line(json!({ "item": { "service": "levitation" } }))), "/draft/lines/0/item");
        assert_eq!(price(line(with(wash.clone(), json!({ "quantity": "0" })))), "/draft/lines/0/quantity");

        let body = |changes: Value| refused(changes, 400, "invalid-body");
        assert_eq!(body(json!({ "colour": "red" })), "/draft/colour");
        assert_eq!(body(json!({ "valid_days": 366 })), "/draft/valid_days");
        assert_eq!(body(json!({ "lines": vec![wash.clone(); 61] })), "/draft/lines");
        assert_eq!(body(line(with(wash, json!({ "quantity": "many" })))), "/draft/lines/0/quantity");

        assert_eq!(price(json!({ "lines": [] })), "/draft/lines");
        let written = owner.write_quote(&id(&vehicle), &good).expect(201);
        let none = with(good, json!({ "lines": [] }));
        let path = format!("/v1/quotes/{}/draft", id(&written));
        let problem = owner.put(&path, &tag(&written), &none).problem(422, "quote-not-priceable");
        assert_eq!(problem["errors"][0]["pointer"], "/lines");
    });
}

#[test]
fn a_quote_needs_a_menu_in_force() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let (_, vehicle, inspected) = owner.add_inspected_car("Aoife Byrne", "aoife@example.com");
        let asked = draft(&id(&inspected), &["decontamination"], &[]);
        owner.write_quote(&id(&vehicle), &asked).problem(409, "no-menu");
    });
}

#[test]
fn a_discount_without_its_size_is_refused_at_its_place() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        owner.publish_small_menu();
        let (_, vehicle, inspection) = owner.add_inspected_car("Aoife Byrne", "aoife.byrne@example.com");
        for off in [json!({}), json!(5), json!({ "percent": "5", "amount": { "amount": "5.00", "currency": "EUR" } })] {
            let mut asked = draft(&id(&inspection), &["decontamination"], &[]);
            asked["discounts"] = json!([{ "off": off, "reason": "Gift" }]);
            let refused = owner.write_quote(&id(&vehicle), &asked).problem(400, "invalid-body");
            assert!(
                refused["errors"][0]["pointer"].as_str().unwrap().starts_with("/draft/discounts/0/off"),
                "{refused}"
            );
            assert!(refused["detail"].as_str().unwrap().contains("exactly one of the fields"), "{refused}");
        }
    });
}
