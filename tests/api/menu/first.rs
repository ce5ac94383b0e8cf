//! The menu to begin from.

use baywright_core::setup::usecase::setup_code;
use baywright_tests::make::menu::{small_menu, with};
use baywright_tests::{on_each_engine, on_each_engine_without_a_shop};
use serde_json::{Value, json};

fn euros(amount: &str) -> Value {
    json!({ "amount": amount, "currency": "EUR" })
}

fn load(labour: &str, step: &str) -> Value {
    json!({ "labour_rate": euros(labour), "price_step": euros(step) })
}

#[test]
fn a_new_studio_begins_with_a_menu_that_can_be_published_and_quoted_at_once() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let shown = owner.get("/v1/menu/first-menu").expect(200);
        assert!(shown["about"].as_str().unwrap().contains("common practice"), "{}", shown["about"]);
        let draft = owner.act("/v1/menu/draft/first-menu", "\"0\"", &load("70.00", "5.00")).expect(200);
        let menu = &draft["menu"];
        let count = |list: &str| menu[list].as_array().unwrap().len();
        assert_eq!(count("services"), shown["usual_services"].as_array().unwrap().len());
        assert!(count("services") >= 25 && count("steps") >= 50 && count("packages") >= 4, "{}", count("steps"));
        for list in ["services", "steps", "products"] {
            assert!(
                menu[list].as_array().unwrap().iter().all(|one| one["common_practice"] == true),
                "{list} are marked"
            );
        }
        assert!(menu["products"].as_array().unwrap().iter().all(|one| one["price"].is_null()));
        assert!(menu["services"].as_array().unwrap().iter().all(|one| one["tax"] == "standard"));
        let rates = owner.get("/v1/rates").expect(200);
        assert_eq!((&rates["labour_rate"], &rates["price_step"]), (&euros("70.00"), &euros("5.00")));

        let found = owner.get("/v1/menu/draft/validation").json();
        assert_eq!((&found["publishable"], &found["faults"]), (&json!(true), &json!([])));
        let codes: Vec<&str> =
            found["warnings"].as_array().unwrap().iter().map(|one| one["code"].as_str().unwrap()).collect();
        assert!(codes.contains(&"common_practice") && codes.contains(&"nobody_has_skill"), "{codes:?}");
        assert!(!codes.contains(&"dearer_than_parts") && !codes.contains(&"price_zero"), "{codes:?}");
        owner.act("/v1/menu/publish", "\"1\"", &json!({})).expect(201);
        for service in menu["services"].as_array().unwrap() {
            let asked = json!({
                "source": "IN_FORCE", "lines": [{ "kind": "SERVICE", "code": service["code"] }],
                "size": "MEDIUM", "condition": "FAIR", "powertrain": "ELECTRIC"
            });
            let priced = owner.post("/v1/menu/price", &asked).expect(200);
            let minutes: f64 = priced["work"]["attended_minutes"].as_f64().unwrap();
            let price: f64 = priced["total"]["amount"].as_str().unwrap().parse().unwrap();
            assert!(minutes > 0.0 && price >= minutes * 70.0 / 60.0, "{}: {price} for {minutes}", service["code"]);
            assert!(price % 5.0 == 0.0, "{}: {price} is a whole number of steps", service["code"]);
        }
        // A checked item loses its mark.
        let mut wash = menu["services"][0].clone();
        wash.as_object_mut().unwrap().remove("common_practice");
        let path = format!("/v1/menu/draft/services/{}", wash["code"].as_str().unwrap());
        let written = owner.put(&path, "\"1\"", &wash).expect(200);
        assert_eq!(written["item"]["common_practice"], false);
    });
}

#[test]
fn work_on_a_whole_car_is_on_the_menu_to_begin_from_once_and_work_by_the_piece_more_often() {
    on_each_engine(|studio| {
        let shown = studio.owner().get("/v1/menu/first-menu").expect(200);
        let pieces = ["decal-removal", "scratch-sanding", "stone-chip-touch-up"];
        for service in shown["menu"]["services"].as_array().unwrap() {
            let code = service["code"].as_str().unwrap();
            let most = if pieces.contains(&code) { 10 } else { 1 };
            assert_eq!(service["largest_quantity"], most, "{code}");
        }
    });
}

#[test]
fn a_draft_that_holds_something_is_replaced_only_where_that_is_confirmed() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let seen = owner.draft_menu(&small_menu());
        let path = "/v1/menu/draft/first-menu";
        owner.act(path, &seen, &load("70.00", "1.00")).problem(409, "draft-not-empty");
        assert_eq!(owner.get("/v1/menu/draft").expect(200)["menu"], small_menu());
        owner.act(path, &seen, &load("70.00", "0.00")).problem(409, "draft-not-empty");
        let confirmed = format!("{path}?confirm=draft-not-empty");
        let refused = owner.act(&confirmed, &seen, &load("70.00", "0.00")).problem(422, "invalid-value");
        assert_eq!(refused["errors"][0]["pointer"], "/price_step/amount");
        let mut some = load("70.00", "1.00");
        some["services"] = json!(["interior-refresh", "nowhere"]);
        let refused = owner.act(&confirmed, &seen, &some).problem(422, "invalid-value");
        assert_eq!(refused["errors"][0]["pointer"], "/services/1");
        // All faults are told at once, whichever check finds them.
        let pointers = |labour: &str, step: &str| -> Vec<String> {
            let body = with(load(labour, step), json!({ "services": ["nowhere", "interior-refresh", "nobody"] }));
            let refused = owner.act(&confirmed, &seen, &body).problem(422, "invalid-value");
            let errors = refused["errors"].as_array().unwrap();
            errors.iter().map(|one| one["pointer"].as_str().unwrap().to_owned()).collect()
        };
        assert_eq!(
            pointers("-5.00", "-1.00"),
            ["/labour_rate/amount", "/price_step/amount", "/services/0", "/services/2"]
        );
        assert_eq!(pointers("70.00", "0.00"), ["/price_step/amount", "/services/0", "/services/2"]);
        some["services"] = json!(["interior-refresh", "mould-treatment"]);
        let draft = owner.act(&confirmed, &seen, &some).expect(200);
        let codes = |list: &str| -> Vec<String> {
            let items = draft["menu"][list].as_array().unwrap();
            items.iter().map(|one| one["code"].as_str().unwrap().to_owned()).collect()
        };
        assert_eq!(codes("services"), ["interior-refresh", "mould-treatment"]);
        assert!(codes("steps").contains(&"vacuum".to_owned()) && !codes("steps").contains(&"polish".to_owned()));
        assert_eq!(
            owner.get("/v1/menu/draft/validation").expect(200)["faults"],
            json!([]),
            "nothing is named that left"
        );
    });
}

#[test]
fn the_first_setup_can_bring_the_menu_with_it() {
    on_each_engine_without_a_shop(|studio| {
        let code = setup_code(&studio.db, studio.clock.now()).unwrap().unwrap();
        let setup = json!({
            "code": code, "name": "Harbour Detailing", "currency": "EUR", "zone": "Europe/Dublin", "tax_percent": "0",
            "owner": { "name": "Orla", "email": "orla@example.com", "password": "seven soft mitts drying" },
            "first_menu": load("55.00", "1.00"),
        });
        let session = studio.nobody().post("/v1/setup", &setup).expect(201);
        let owner = studio.with_token(session["access_token"].as_str().unwrap());
        let draft = owner.get("/v1/menu/draft").expect(200);
        // A shop that charges no tax has another usual tax.
        assert!(draft["menu"]["services"].as_array().unwrap().iter().all(|one| one["tax"] == "untaxed"));
        assert_eq!(owner.get("/v1/rates").expect(200)["labour_rate"], euros("55.00"));
        assert_eq!(owner.get("/v1/menu/draft/validation").expect(200)["publishable"], true);
    });
}
