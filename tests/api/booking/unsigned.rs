//! First times for work that nobody has signed yet.

use baywright_core::platform::identity::Role;
use baywright_tests::make::booking::{drained_menu, floor_menu};
use baywright_tests::make::quote::id;
use baywright_tests::on_each_engine;
use serde_json::{Value, json};

fn choice(services: &[&str]) -> Value {
    let lines: Vec<Value> = services.iter().map(|code| json!({ "kind": "SERVICE", "code": code })).collect();
    json!({
        "choice": {
            "source": "IN_FORCE", "lines": lines, "size": "MEDIUM", "condition": "FAIR", "powertrain": "COMBUSTION"
        },
        "count": 2
    })
}

#[test]
fn the_desk_names_the_first_times_on_the_phone() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let desk = studio.colleague(Role::Desk);
        studio.owner().publish_menu_with(&floor_menu(), &json!({}));
        let rows = || -> Vec<(String, String)> {
            let tables = ["booking", "booking_stay", "placement", "plan", "quote", "record"];
            let all = studio.every_row().into_iter();
            all.filter(|(table, _)| tables.contains(&table.as_str())).collect()
        };
        let before = rows();
        let found = desk.post("/v1/menu/first-times", &choice(&["coating"])).expect(200);
        assert_eq!(found["times"][0]["finish"], "2026-03-03T08:15:00Z");
        assert_eq!(found["times"].as_array().unwrap().len(), 2);
        assert_eq!(found["work"]["budget_minutes"], 255);
        assert_eq!(rows(), before, "nothing is kept");
        // It is the time that is offered once the same work is signed.
        let quote = studio.signed_work(&["coating"]);
        assert_eq!(desk.times(&quote, 2), *found["times"].as_array().unwrap());
        // Once another car has the only bay without dust for the night, it is a day later.
        desk.book_first(&quote);
        let later = desk.post("/v1/menu/first-times", &choice(&["coating"])).expect(200);
        assert_eq!(later["times"][0]["finish"], "2026-03-04T08:15:00Z");
        assert_eq!(later["times"][0]["bay_id"], json!(floor.best));
        // A second person helps with the machine.
        let mut two = choice(&["polish"]);
        two["hands"] = json!("TWO");
        let two = desk.post("/v1/menu/first-times", &two).expect(200);
        assert_eq!((&two["hands"], &two["work"]["budget_minutes"]), (&json!("TWO"), &json!(147)));
        let wrong = desk.post("/v1/menu/first-times", &choice(&["no-such-service"]));
        let problem = wrong.problem(422, "choice-not-priceable");
        assert!(problem["errors"][0]["pointer"].as_str().unwrap().starts_with("/choice/lines/0"), "{problem}");
    });
}

#[test]
fn a_quote_says_what_each_of_its_options_costs_in_time() {
    on_each_engine(|studio| {
        studio.floor();
        let owner = studio.owner();
        owner.publish_menu_with(&floor_menu(), &json!({}));
        let (_, vehicle) = owner.add_customer_with_car();
        let option = |code: &str, required: bool| json!({ "item": { "service": code }, "required": required });
        let draft = json!({ "condition": "FAIR", "lines": [option("wash", true), option("coating", false)] });
        let written = owner.write_quote(&id(&vehicle), &draft).expect(201);
        let path = format!("/v1/quotes/{}/first-times", id(&written));
        let found = owner.get(&path).expect(200);
        let times = |found: &Value| -> Vec<(Value, Value)> {
            let choices = found["choices"].as_array().unwrap().iter();
            choices.map(|one| (one["choices"].clone(), one["first"]["finish"].clone())).collect()
        };
        let expected = [(json!([]), json!("2026-03-02T09:15:00Z")), (json!([1]), json!("2026-03-03T08:15:00Z"))];
        assert_eq!(times(&found), expected);
        // The same once the quote is with the customer, whatever the menu says by then.
        let sent = owner.move_quote(&written, "send", &json!({ "by_mail": false })).expect(200);
        let mut menu = floor_menu();
        menu["steps"][0]["base_minutes"] = json!(120);
        owner.publish_menu_with(&menu, &json!({}));
        assert_eq!(times(&owner.get(&path).expect(200)), expected);
        assert_eq!(owner.get(&format!("/v1/quotes/{}", id(&sent))).expect(200)["version"], sent["version"]);
        owner.get("/v1/quotes/0198c0de-0000-7000-8000-000000000001/first-times").problem(404, "not-found");
    });
}

#[test]
fn a_car_that_would_change_bays_has_its_first_time_too() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        owner.add_bay("Wash bay", &["drain"]);
        owner.add_bay("Clean room", &["cover", "dust-free"]);
        owner.add_technician("Niall Quirke", &["correction"]);
        owner.publish_menu_with(&drained_menu(), &json!({}));
        let found = owner.post("/v1/menu/first-times", &choice(&["coating"])).expect(200);
        assert_eq!(found["times"][0]["stays"].as_array().unwrap().len(), 2);
        assert_eq!(found["times"][0]["finish"], "2026-03-03T08:15:00Z");
    });
}
