//! What quotes come to, and how that is explained.

use baywright_tests::make::menu::with;
use baywright_tests::make::quote::{draft, id};
use baywright_tests::on_each_engine;
use baywright_tests::person::Person;
use rust_decimal::Decimal;
use serde_json::{Value, json};

fn price_of(owner: &Person, vehicle: &Value, draft: &Value, choices: &[u32]) -> Value {
    let body = json!({ "vehicle_id": vehicle["id"], "draft": draft, "choices": choices });
    owner.post("/v1/quote-prices", &body).expect(200)
}

fn totals(priced: &Value) -> [&str; 4] {
    let of = |name: &str| priced["totals"][name]["amount"].as_str().unwrap();
    [of("net"), of("tax"), of("rounding"), of("payable")]
}

#[test]
fn prices_with_tax_are_kept_to_the_cent() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        owner.publish_small_menu();
        let (_, car, inspection) = owner.add_inspected_car("Aoife Byrne", "aoife@example.com");
        let asked = draft(&id(&inspection), &["decontamination"], &["coating", "interior"]);
        let priced = price_of(&owner, &car, &asked, &[]);
        assert_eq!(priced["document"]["prices"], "GROSS");
        // By hand: 175 ÷ 1.23 = 142.276…, and 23 % of 142.28 is 32.72.
        assert_eq!(totals(&priced), ["142.28", "32.72", "0.00", "175.00"]);
        // 175 + 459 + 180 = 814; ÷ 1.23 = 661.788…; 23 % of 661.79 is 152.21.
        assert_eq!(totals(&price_of(&owner, &car, &asked, &[1, 2])), ["661.79", "152.21", "0.00", "814.00"]);
        // 99.99 ÷ 1.23 = 81.292…; 23 % of 81.29 is 18.70: together 99.99. 100.03 ÷ 1.23 = 81.325…; 23 % of 81.33 is
        // 18.71, one cent too many, which is carried as rounding.
        for (price, expected) in
            [("99.99", ["81.29", "18.70", "0.00", "99.99"]), ("100.03", ["81.33", "18.71", "-0.01", "100.03"])]
        {
            let item = json!({ "custom": { "name": "Odd job", "price": { "amount": price, "currency": "EUR" } } });
            let priced = price_of(&owner, &car, &with(asked.clone(), json!({ "lines": [{ "item": item }] })), &[]);
            assert_eq!(totals(&priced), expected);
        }
    });
}

#[test]
fn prices_without_tax_are_converted_and_taxed_as_a_whole() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        owner.publish_small_menu();
        let dealer = owner.add_trade_customer("Quay Cars");
        let car = owner.add_vehicle(&id(&dealer), "231-G-30303");
        let inspection = owner.inspect(&id(&car));
        let priced = price_of(&owner, &car, &draft(&id(&inspection), &["decontamination", "interior"], &[]), &[]);
        let document = &priced["document"];
        assert_eq!((&document["prices"], &document["early_start"]), (&json!("NET"), &json!(null)));
        // The menu's prices are with 23 %: 175 ÷ 1.23 = 142.28, 180 ÷ 1.23 = 146.34. 23 % of 288.62 is 66.38.
        assert_eq!(document["lines"][0]["amount"]["amount"], "142.28");
        assert_eq!(document["lines"][1]["amount"]["amount"], "146.34");
        assert_eq!(totals(&priced), ["288.62", "66.38", "0.00", "355.00"]);
        let gross = with(draft(&id(&inspection), &["decontamination"], &[]), json!({ "prices": "GROSS" }));
        assert_eq!(totals(&price_of(&owner, &car, &gross, &[])), ["142.28", "32.72", "0.00", "175.00"]);
    });
}

#[test]
fn every_line_is_explained_by_the_numbers_that_made_it() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        owner.publish_small_menu();
        let (_, car, inspection) = owner.add_inspected_car("Aoife Byrne", "aoife@example.com");
        let mut asked = draft(&id(&inspection), &["polish-one-step"], &[]);
        asked["lines"][0]["discount"] = json!({ "off": { "percent": "10" }, "reason": "Regular customer" });
        let priced = price_of(&owner, &car, &asked, &[]);
        let line = &priced["document"]["lines"][0];
        // As in the menu's test: 410 minutes at 60.00 and 5.82 of products, up to whole euros.
        assert_eq!(line["unit_price"]["amount"], "416.00");
        assert_eq!(line["amount"]["amount"], "374.40");
        assert_eq!(line["discount"]["amount"], "41.60");
        let rows = priced["explanation"][0]["rows"].as_array().unwrap();
        let sum = |kind: &str, figure: &str| -> Decimal {
            let figures =
                rows.iter().filter(|row| row["kind"] == kind).flat_map(|row| row["figures"].as_array().unwrap());
            let values = figures.filter(|one| one["kind"] == figure).map(|one| one["value"].as_str().unwrap());
            values.map(|value| value.parse::<Decimal>().unwrap()).sum()
        };
        let number = |text: &str| text.parse::<Decimal>().unwrap();
        assert_eq!(sum("LABOUR", "MINUTES"), number("410"));
        assert_eq!((sum("LABOUR", "AMOUNT"), sum("PRODUCT", "AMOUNT")), (number("410.00"), number("5.82")));
        assert_eq!((sum("ROUNDED_UP", "AMOUNT"), sum("DISCOUNT", "AMOUNT")), (number("416.00"), number("41.60")));
        assert_eq!(rows.last().unwrap()["label"], "Regular customer");
    });
}

#[test]
fn discounts_on_lines_and_on_the_whole_say_why() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        owner.publish_small_menu();
        let (_, car, inspection) = owner.add_inspected_car("Aoife Byrne", "aoife@example.com");
        let mut asked = draft(&id(&inspection), &["decontamination"], &["interior"]);
        asked["lines"][0]["quantity"] = json!("2");
        asked["lines"][0]["discount"] =
            json!({ "off": { "amount": { "amount": "50.00", "currency": "EUR" } }, "reason": "Second car" });
        asked["discounts"] = json!([
            { "off": { "percent": "10" }, "reason": "Opening week" },
            { "off": { "amount": { "amount": "20.00", "currency": "EUR" } }, "reason": "Voucher" },
        ]);
        let priced = price_of(&owner, &car, &asked, &[]);
        // 2 × 175 − 50 = 300; less 10 % = 30, less 20: 250. ÷ 1.23 = 203.25; 23 % of it is 46.75.
        assert_eq!(priced["totals"]["discounts"]["amount"], "50.00");
        assert_eq!(totals(&priced), ["203.25", "46.75", "0.00", "250.00"]);
        assert_eq!(priced["document"]["discounts"][1]["reason"], "Voucher");
        // With the interior: 480 less 48 less 20 = 412.
        assert_eq!(totals(&price_of(&owner, &car, &asked, &[1]))[3], "412.00");
        // More than there is can't be taken off.
        asked["discounts"] =
            json!([{ "off": { "amount": { "amount": "301.00", "currency": "EUR" } }, "reason": "Too kind" }]);
        let body = json!({ "vehicle_id": car["id"], "draft": asked });
        let refused = owner.post("/v1/quote-prices", &body);
        assert_eq!(refused.status, 422);
        let pointer = refused.json()["errors"][0]["pointer"].as_str().unwrap().to_owned();
        assert_eq!(pointer, "/draft/discounts/0/off", "the pointer names a field that the body has");
        assert!(body.pointer(&pointer).is_some());
    });
}

#[test]
fn deposits_are_the_shops_or_the_quotes_own() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        owner.publish_small_menu();
        let (_, car, inspection) = owner.add_inspected_car("Aoife Byrne", "aoife@example.com");
        let asked = draft(&id(&inspection), &["coating"], &[]);
        assert_eq!(price_of(&owner, &car, &asked, &[])["totals"]["deposit"], json!(null));
        owner.change_terms(&json!({ "deposit_percent": "20" }));
        // 20 % of 459.00.
        assert_eq!(price_of(&owner, &car, &asked, &[])["totals"]["deposit"]["amount"], "91.80");
        let fixed = json!({ "deposit": { "amount": { "amount": "100.00", "currency": "EUR" } } });
        let priced = price_of(&owner, &car, &with(asked.clone(), fixed), &[]);
        assert_eq!(priced["totals"]["deposit"]["amount"], "100.00");
        let none = with(asked, json!({ "deposit": { "percent": "0" } }));
        assert_eq!(price_of(&owner, &car, &none, &[])["totals"]["deposit"], json!(null));
    });
}

#[test]
fn optional_lines_that_do_not_go_together_are_not_both_taken() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        owner.publish_small_menu();
        let (_, car, inspection) = owner.add_inspected_car("Aoife Byrne", "aoife@example.com");
        let mut asked = draft(&id(&inspection), &[], &["polish-one-step", "correction-two-step", "interior"]);
        let package = json!({ "item": { "package": "inside-and-out" }, "required": false });
        asked["lines"].as_array_mut().unwrap().push(package);
        let priced = price_of(&owner, &car, &asked, &[]);
        assert_eq!((&priced["totals"], &priced["document"]["required_totals"]), (&json!(null), &json!(null)));
        let pairs: Vec<(u64, u64, &str)> = priced["document"]["conflicts"]
            .as_array()
            .unwrap()
            .iter()
            .map(|c| (c["one"].as_u64().unwrap(), c["other"].as_u64().unwrap(), c["kind"].as_str().unwrap()))
            .collect();
        assert_eq!(pairs, [(0, 1, "EXCLUDED"), (2, 3, "OVERLAP")]);
        let refused = |choices: &[u32]| {
            let body = json!({ "vehicle_id": car["id"], "draft": asked, "choices": choices });
            owner.post("/v1/quote-prices", &body).problem(422, "bad-choice")["errors"][0]["pointer"].clone()
        };
        assert_eq!(refused(&[0, 1]), "/choices");
        assert_eq!(refused(&[2, 3]), "/choices");
        assert_eq!(refused(&[4]), "/choices/0");
        assert_eq!(totals(&price_of(&owner, &car, &asked, &[3]))[3], "245.00");
        // Both required: the draft itself is refused.
        let both = draft(&id(&inspection), &["polish-one-step", "correction-two-step"], &[]);
        let body = json!({ "vehicle_id": car["id"], "draft": both });
        assert_eq!(owner.post("/v1/quote-prices", &body).status, 422);
    });
}

#[test]
fn a_refusal_stays_within_the_bounds_of_the_api_document_however_much_is_wrong() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        owner.publish_small_menu();
        let (_, car, inspection) = owner.add_inspected_car("Aoife Byrne", "aoife@example.com");
        // 60 lines of one service are 1,770 pairs that can't both be taken.
        let asked = draft(&id(&inspection), &["decontamination"; 60], &[]);
        let body = json!({ "vehicle_id": car["id"], "draft": asked, "choices": [] });
        let problem = owner.post("/v1/quote-prices", &body).problem(422, "quote-not-priceable");
        assert_eq!(problem["errors"].as_array().map(Vec::len), Some(200));
        assert_eq!(problem["detail"].as_str().unwrap().matches("would charge a service twice").count(), 1, "{problem}");
    });
}
