//! Quantities: what a quote of three of something costs, takes and plans.

use baywright_tests::make::booking::floor_menu;
use baywright_tests::make::menu::with;
use baywright_tests::on_each_engine;
use serde_json::{Value, json};

fn line(service: &str, quantity: &str, required: bool) -> Value {
    json!({ "item": { "service": service }, "quantity": quantity, "required": required })
}

#[test]
fn a_quantity_counts_in_price_times_and_plan_alike() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        studio.floor();
        owner.publish_menu(&floor_menu());
        let (_, vehicle) = owner.add_customer_with_car();
        let vehicle = vehicle["id"].as_str().unwrap();
        let draft = json!({ "condition": "FAIR", "lines": [line("wash", "3", true), line("polish", "1", false)] });
        let written = owner.write_quote(vehicle, &draft).expect(201);
        let document = &written["latest"]["document"];
        assert_eq!(document["lines"][0]["amount"]["amount"], "270.00");
        // Three times 60 and 15 minutes; half of all jobs take a little longer than the sum of their budgets.
        let minutes = |value: &Value| value["minutes"].as_u64().unwrap();
        assert!((225..235).contains(&minutes(&document["lines"][0])), "{}", document["lines"][0]["minutes"]);
        assert_eq!(minutes(&document["required_totals"]), minutes(&document["lines"][0]));
        // The polish shares wash and inspection, so that each is done once.
        let both = json!({ "vehicle_id": vehicle, "draft": draft, "choices": [1] });
        let both = owner.post("/v1/quote-prices", &both).expect(200);
        assert!((195..205).contains(&minutes(&both["totals"])), "{}", both["totals"]["minutes"]);

        let sent = owner.move_quote(&written, "send", &json!({ "by_mail": false })).expect(200);
        let signed = owner.note_yes(&sent, &[]).expect(200);
        let plan = owner.get(&format!("/v1/quotes/{}/plan", signed["id"].as_str().unwrap())).expect(200);
        let plan = &plan["work"];
        assert_eq!(plan["attended_minutes"], 225);
        assert_eq!(
            (&plan["steps"][0]["attended_minutes"], &plan["steps"][0]["budget"]["quantity"]),
            (&json!(180), &json!("3"))
        );
        assert_eq!(plan["products"][0]["amount"], "30000", "three washes take three buckets");
        let asked = json!({
            "source": "IN_FORCE", "lines": [{ "kind": "SERVICE", "code": "wash", "quantity": "3" }],
            "size": "MEDIUM", "condition": "FAIR", "powertrain": "COMBUSTION"
        });
        let priced = owner.post("/v1/menu/price", &asked).expect(200);
        assert_eq!(
            (&priced["lines"][0]["budget_minutes"], &priced["work"]["attended_minutes"]),
            (&json!(225), &json!(225))
        );
        assert_eq!(priced["total"]["amount"], "270.00");
    });
}

#[test]
fn a_quantity_beyond_what_the_menu_finds_sensible_is_refused() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let mut menu = floor_menu();
        menu["services"][2] = with(menu["services"][2].clone(), json!({ "largest_quantity": 1 }));
        // A menu that says nothing of it allows ten.
        menu["services"][0].as_object_mut().unwrap().remove("largest_quantity");
        owner.publish_menu(&menu);
        assert_eq!(owner.get("/v1/menu").expect(200)["menu"]["services"][0]["largest_quantity"], 10);
        let (_, vehicle) = owner.add_customer_with_car();
        let ask = |service: &str, quantity: &str| {
            let draft = json!({ "condition": "FAIR", "lines": [line(service, quantity, true)] });
            owner.write_quote(vehicle["id"].as_str().unwrap(), &draft)
        };
        for (service, quantity) in [("coating", "1000"), ("coating", "2"), ("wash", "11")] {
            let refused = ask(service, quantity).problem(422, "quote-not-priceable");
            assert_eq!(refused["errors"][0]["pointer"], "/draft/lines/0/quantity", "{service} {quantity}");
            assert_eq!(refused["errors"][0]["code"], "too_many");
        }
        ask("wash", "10").expect(201);
        ask("coating", "1").expect(201);
    });
}
