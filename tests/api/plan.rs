//! Work plans over HTTP.

use baywright_core::platform::identity::Role;
use baywright_tests::make::booking::drying_menu;
use baywright_tests::on_each_engine;
use serde_json::json;

#[test]
fn a_plan_names_each_step_once_in_order_with_budget_mix_and_cautions() {
    on_each_engine(|studio| {
        let quote = studio.signed_work(&["coating", "wash"]);
        let path = format!("/v1/quotes/{quote}/plan");
        let answer = studio.owner().get(&path);
        assert_eq!(answer.etag(), "\"1\"");
        let plan = answer.expect(200);
        let steps = plan["work"]["steps"].as_array().unwrap().clone();
        let codes: Vec<&str> = steps.iter().map(|step| step["code"].as_str().unwrap()).collect();
        assert_eq!(codes, ["wash", "machine", "coat", "final"]);
        assert_eq!(steps[0]["services"], json!(["coating", "wash"]));
        assert_eq!(steps[3]["after"].as_array().map(Vec::len), Some(3));
        assert_eq!(steps[2]["wait"]["minutes"], 720);
        // 50 ml in 10 l, by hand.
        let mix = &steps[0]["products"][0]["mix"];
        assert_eq!((&mix["product_ml"], &mix["water_ml"]), (&json!("50"), &json!("9950")));
        assert_eq!(plan["work"]["cautions"][0]["hazard"], "SKIN_AND_EYES");
        assert_eq!(plan["work"]["attended_minutes"], 60 + 120 + 60 + 15);
        assert!(!plan.to_string().contains("EUR"));
    });
}

#[test]
fn a_plan_says_what_each_order_of_its_steps_costs_and_gains() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        owner.publish_menu_with(&drying_menu("AFTER"), &json!({ "outside_inside_minutes": 10 }));
        let quote = studio.signed_work(&["valet"]);
        let plan = owner.get(&format!("/v1/quotes/{quote}/plan")).expect(200);
        let work = &plan["work"];
        assert_eq!(work["steps"][0]["wait"]["holds"], "AFTER");
        // 60 minutes, 240 of drying, 20, a changeover and 180; or the polishing while the seats dry, and back inside.
        let orders = json!([
            {
                "steps": ["extract", "trim", "polish"], "changeover_minutes": 10, "elapsed_minutes": 510,
                "words": "Least changeover: 10 minutes, finished after 510 minutes"
            },
            {
                "steps": ["extract", "polish", "trim"], "changeover_minutes": 20, "elapsed_minutes": 330,
                "words": "10 minutes more changeover, finished 180 minutes sooner"
            },
        ]);
        assert_eq!(work["front"]["orders"], orders);
        assert_eq!(work["front"]["proven"], true);
        assert_eq!(work["front"]["elapsed_bound_minutes"], 330);
        assert_eq!((&work["changeover_minutes"], &work["elapsed_minutes"]), (&json!(10), &json!(510)));
    });
}

#[test]
fn a_wait_that_holds_the_car_leaves_one_order() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        owner.publish_menu_with(&drying_menu("CAR"), &json!({ "outside_inside_minutes": 10 }));
        let quote = studio.signed_work(&["valet"]);
        let plan = owner.get(&format!("/v1/quotes/{quote}/plan")).expect(200);
        let front = &plan["work"]["front"];
        assert_eq!(front["orders"].as_array().map(Vec::len), Some(1));
        assert_eq!(front["orders"][0]["elapsed_minutes"], 510);
        assert_eq!((&front["proven"], &front["elapsed_bound_minutes"]), (&json!(true), &json!(510)));
    });
}

#[test]
fn what_has_no_step_is_signed_all_the_same_and_has_no_plan() {
    on_each_engine(|studio| {
        studio.signed_work(&["wash"]);
        let owner = studio.owner();
        let (_, vehicle) = owner.add_customer_with_car();
        let price = json!({ "amount": "25.00", "currency": "EUR" });
        let line = json!({ "item": { "custom": { "name": "Air freshener", "price": price } } });
        let draft = json!({ "condition": "FAIR", "lines": [line] });
        let written = owner.write_quote(vehicle["id"].as_str().unwrap(), &draft).expect(201);
        let sent = owner.move_quote(&written, "send", &json!({ "by_mail": false })).expect(200);
        let path = format!("/v1/quotes/{}", sent["id"].as_str().unwrap());
        owner.get(&format!("{path}/plan")).problem(409, "quote-not-signed");
        owner.get(&format!("{path}/availability")).problem(409, "quote-not-signed");
        let signed = owner.note_yes(&sent, &[]).expect(200);
        assert_eq!(signed["latest"]["state"], "SIGNED");
        owner.get(&format!("{path}/plan")).problem(409, "nothing-to-plan");
        owner.get(&format!("{path}/availability")).problem(409, "nothing-to-plan");
    });
}

#[test]
fn the_crew_sees_a_plan_and_nobody_else() {
    on_each_engine(|studio| {
        let quote = studio.signed_work(&["wash"]);
        let path = format!("/v1/quotes/{quote}/plan");
        studio.colleague(Role::Technician).get(&path).expect(200);
        studio.colleague(Role::Accountant).get(&path).problem(403, "not-allowed");
        studio.stranger().get(&path).problem(404, "not-found");
        studio.nobody().get(&path).problem(401, "not-signed-in");
    });
}
