//! The shop and its settings over HTTP.

use baywright_core::booking::usecase::timetable;
use baywright_core::platform::identity::Role;
use baywright_core::shop::usecase::settings;
use baywright_domain::calendar::{Zone, ZoneRules};
use baywright_domain::money::Percent;
use baywright_domain::time::Minute;
use baywright_tests::make::shop::without;
use baywright_tests::{Studio, on_each_engine};
use serde_json::{Value, json};

/// A local day and time in Dublin as a minute of the rules.
fn dublin(text: &str) -> Minute {
    Zone::named("Europe/Dublin").unwrap().to_utc(text.parse().unwrap())
}

/// Open time of the bays and working time of the people between two local times, in whole minutes.
fn minutes(studio: &Studio, from: &str, until: &str) -> (Vec<u64>, Vec<u64>) {
    let table = studio.in_shop(studio.shop(), |tx| timetable(tx, dublin(from), dublin(until)));
    let bays = table.bays.iter().map(|bay| bay.open.total()).collect();
    (bays, table.technicians.iter().map(|person| person.working.total()).collect())
}

#[test]
fn a_new_shop_works_at_once() {
    on_each_engine(|studio| {
        let shop = studio.owner().get("/v1/shop").expect(200);
        assert_eq!(shop["currency"], "EUR");
        assert_eq!(shop["zone"], "Europe/Dublin");
        assert_eq!(shop["terms"]["slot_minutes"], 15);
        assert_eq!(shop["terms"]["deposit_percent"], Value::Null);
        assert_eq!((&shop["terms"]["learning_jobs"], &shop["terms"]["promise_percent"]), (&json!(5), &json!(80)));
        let settings = studio.in_shop(studio.shop(), settings);
        let tax = settings.usual_tax().unwrap();
        let today = "2026-03-02".parse().unwrap();
        assert_eq!(tax.table.on(today).unwrap().rate(), Percent::whole(23));
        assert_eq!(settings.tax(&tax.code), Some(tax));
        assert_eq!(settings.rates.factors.price_step.to_major(settings.currency), "1.00");
        let week = studio.owner().get("/v1/opening-hours").expect(200);
        assert_eq!(week["hours"].as_array().map(Vec::len), Some(5));
        assert_eq!(week["hours"][0], json!({ "weekday": "MONDAY", "from": "08:00", "until": "17:30" }));
    });
}

#[test]
fn profile_and_terms_are_replaced_on_what_was_seen() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let body = |name: &str| {
            let shop = owner.get("/v1/shop").expect(200);
            let mut body = without(&shop, &["id", "version", "currency", "created_at", "updated_at"]);
            body["name"] = json!(name);
            body
        };
        let mut harbour = body("Harbour Detailing");
        harbour["iban"] = json!("IE29 AIBK 9311 5212 3456 78");
        harbour["vat_id"] = json!("ie 1234567 fa");
        harbour["address"] = json!({ "street": "4 Harbour Row", "city": "Cork", "country": "IE" });
        harbour["zone"] = json!("europe/lisbon");
        harbour["terms"]["deposit_percent"] = json!("20");
        harbour["terms"]["call_tolerance"] = json!({ "amount": "50.00", "currency": "EUR" });
        let changed = owner.put("/v1/shop", "\"1\"", &harbour).expect(200);
        assert_eq!(changed["version"], 2);
        assert_eq!((&changed["zone"], &changed["iban"]), (&json!("Europe/Lisbon"), &json!("IE29AIBK93115212345678")));
        assert_eq!(changed["vat_id"], "IE1234567FA");
        assert_eq!(changed["address"]["postcode"], Value::Null);
        assert_eq!(changed["terms"]["deposit_percent"], "20");
        assert_eq!(owner.get("/v1/shop").expect(200), changed);
        owner.put("/v1/shop", "\"1\"", &harbour).problem(412, "changed-meanwhile");
        owner.json("PUT", "/v1/shop", &[], &harbour).problem(428, "if-match-required");
        assert_eq!(studio.stranger().get("/v1/shop").expect(200)["name"], "Test Studio");
        studio.colleague(Role::Desk).put("/v1/shop", "\"2\"", &body("Quay Detailing")).expect(200);
        studio.colleague(Role::Technician).put("/v1/shop", "\"3\"", &body("No")).problem(403, "not-allowed");
    });
}

#[test]
fn faulty_terms_are_pointed_at() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let good = owner.get("/v1/shop").expect(200);
        let good = without(&good, &["id", "version", "currency", "created_at", "updated_at"]);
        let money = |amount: &str, currency: &str| json!({ "amount": amount, "currency": currency });
        let cases: Vec<(&str, Value, u16, &str)> = vec![
            ("/zone", json!("Dublin"), 422, "/zone"),
            ("/iban", json!("IE29AIBK93115212345679"), 422, "/iban"),
            ("/vat_id", json!("12345"), 422, "/vat_id"),
            ("/name", json!(""), 400, "/name"),
            ("/terms/slot_minutes", json!(0), 400, "/terms/slot_minutes"),
            ("/terms/quote_days", json!(100_000), 400, "/terms/quote_days"),
            ("/terms/second_letter_days", json!(3), 422, "/terms/second_letter_days"),
            ("/terms/deposit_percent", json!("101"), 422, "/terms/deposit_percent"),
            ("/terms/invoice_prefix", json!("inv-"), 400, "/terms/invoice_prefix"),
            ("/terms/quote_prefix", json!("LONGPREFIX"), 400, "/terms/quote_prefix"),
            ("/terms/quote_prefix", json!("INV"), 422, "/terms/invoice_prefix"),
            ("/terms/deposit_percent", json!("0"), 422, "/terms/deposit_percent"),
            ("/terms/deposit_amount", money("5.00", "USD"), 422, "/terms/deposit_amount/currency"),
            ("/terms/deposit_amount", money("-5.00", "EUR"), 422, "/terms/deposit_amount/amount"),
            ("/terms/call_tolerance", money("0.00", "EUR"), 422, "/terms/call_tolerance/amount"),
            ("/terms/consent_text", json!(""), 422, "/terms/consent_text"),
            ("/terms/learning_jobs", json!(0), 400, "/terms/learning_jobs"),
            ("/terms/usual_spread_percent", json!(101), 400, "/terms/usual_spread_percent"),
            ("/terms/promise_percent", json!(49), 400, "/terms/promise_percent"),
        ];
        for (place, value, status, pointer) in cases {
            let mut body = good.clone();
            *body.pointer_mut(place).unwrap() = value;
            let problem = owner.put("/v1/shop", "\"1\"", &body).expect(status);
            if !pointer.is_empty() {
                assert_eq!(problem["errors"][0]["pointer"], pointer, "{problem}");
            }
        }
        assert_eq!(owner.get("/v1/shop").expect(200)["version"], 1);
    });
}

#[test]
fn rates_are_the_owners_and_no_business_of_technicians() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let rates = owner.change_rates(&json!({
            "labour_rate": { "amount": "72.50", "currency": "EUR" }, "private_prices": "NET",
            "size_factors": { "small": "0.8", "medium": "1", "large": "1.3", "extra_large": "1.6" }
        }));
        assert_eq!((&rates["version"], &rates["labour_rate"]["amount"]), (&json!(2), &json!("72.50")));
        assert_eq!(rates["size_factors"]["large"], "1.3");
        let body = without(&rates, &["version", "updated_at"]);
        let mut zero = body.clone();
        zero["condition_factors"]["heavy"] = json!("0");
        let problem = owner.put("/v1/rates", "\"2\"", &zero).problem(422, "invalid-value");
        assert_eq!(problem["errors"][0]["pointer"], "/condition_factors/heavy");
        studio.colleague(Role::Desk).put("/v1/rates", "\"2\"", &body).problem(403, "not-allowed");
        studio.colleague(Role::Accountant).get("/v1/rates").expect(200);
        studio.colleague(Role::Technician).get("/v1/rates").problem(403, "not-allowed");
        owner.put("/v1/rates", "\"1\"", &body).problem(412, "changed-meanwhile");
        let mut odd = body.clone();
        odd["labour_rate"] = json!({ "amount": "0.00", "currency": "EUR" });
        odd["price_step"] = json!({ "amount": "5000.00", "currency": "EUR" });
        let etag = owner.get("/v1/rates").etag();
        assert_eq!(owner.put("/v1/rates", &etag, &odd).warnings(), ["labour-rate-zero", "price-step-large"]);
        let etag = owner.get("/v1/rates").etag();
        assert!(owner.put("/v1/rates", &etag, &body).warnings().is_empty());
    });
}

#[test]
fn taxes_have_rates_that_hold_from_a_date() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let reduced = json!({
            "code": "reduced", "name": "Reduced rate", "category": "S", "usual": true,
            "rates": [{ "from": "2026-01-01", "percent": "9" }, { "from": "2020-11-01", "percent": "13.5" }]
        });
        let made = owner.post("/v1/tax-categories", &reduced);
        let location = made.header("location").to_owned();
        let tax = made.expect(201);
        assert_eq!(tax["rates"][0], json!({ "from": "2020-11-01", "percent": "13.5" }));
        let list = owner.get("/v1/tax-categories").expect(200);
        let usual: Vec<&Value> = list["items"].as_array().unwrap().iter().filter(|t| t["usual"] == true).collect();
        assert_eq!(usual, [&tax]);
        let settings = studio.in_shop(studio.shop(), settings);
        let rate = |day: &str| settings.usual_tax().unwrap().table.on(day.parse().unwrap()).unwrap().rate().to_string();
        assert_eq!((rate("2025-12-31"), rate("2026-01-01")), ("13.5".into(), "9".into()));
        let with = |name: &str, value: Value| {
            let mut body = reduced.clone();
            body[name] = value;
            body
        };
        owner.post("/v1/tax-categories", &reduced).problem(422, "invalid-value");
        owner.put(&location, "\"1\"", &with("usual", json!(false))).problem(422, "invalid-value");
        owner.put(&location, "\"1\"", &with("rates", json!([]))).problem(422, "invalid-value");
        owner.put(&location, "\"1\"", &with("category", json!("AE"))).problem(422, "invalid-value");
        owner.put(&location, "\"1\"", &with("category", json!("Z"))).problem(422, "tax-treatment");
        owner.put(&location, "\"1\"", &with("category", json!("X"))).problem(400, "invalid-body");
        let twice = json!([{ "from": "2026-01-01", "percent": "9" }, { "from": "2026-01-01", "percent": "8" }]);
        owner.put(&location, "\"1\"", &with("rates", twice)).problem(422, "tax-rate-twice");
        let many: Vec<Value> = (0..51).map(|_| json!({ "from": "2026-01-01", "percent": "9" })).collect();
        owner.put(&location, "\"1\"", &with("rates", json!(many))).problem(422, "invalid-value");
        let changed = owner.put(&location, "\"1\"", &with("name", json!("Services"))).expect(200);
        assert_eq!(owner.get(&location).expect(200), changed);
        studio.colleague(Role::Desk).put(&location, "\"2\"", &reduced).problem(403, "not-allowed");
        studio.stranger().get(&location).problem(404, "not-found");
    });
}

#[test]
fn hours_closures_and_bays_make_the_timetable() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let one = owner.add_bay("Bay 1", &["cover", "drain"]);
        let two = owner.add_bay("Bay 2", &["dust-free"]);
        let niamh = owner.add_technician("Niamh", &["machine-polishing", "sanding"]);
        let monday = ("2026-03-09T00:00:00", "2026-03-10T00:00:00");
        assert_eq!(minutes(studio, monday.0, monday.1), (vec![570, 570], vec![570]));
        let table = studio.in_shop(studio.shop(), |tx| timetable(tx, dublin(monday.0), dublin(monday.1)));
        assert_eq!(table.bays[0].code, one["id"]);
        assert_eq!(table.technicians[0].code, niamh["id"]);
        assert!(table.technicians[0].skills.contains("sanding") && table.bays[1].features.contains("dust-free"));

        owner.open_on(&["MONDAY"], "22:00", "02:00");
        assert_eq!(minutes(studio, monday.0, monday.1).0, [120, 120]);
        assert_eq!(minutes(studio, "2026-03-09T00:00:00", "2026-03-11T00:00:00").0, [240, 240]);
        owner.close(two["id"].as_str(), "2026-03-09", "2026-03-10");
        assert_eq!(minutes(studio, "2026-03-09T00:00:00", "2026-03-11T00:00:00").0, [240, 0]);
        let all = owner.close(None, "2026-03-08", "2026-03-10");
        assert_eq!(minutes(studio, "2026-03-10T00:00:00", "2026-03-11T00:00:00").0, [0, 0]);
        let path = format!("/v1/closures/{}", all["id"].as_str().unwrap());
        owner.send("DELETE", &path, &[("if-match", "\"7\"")], None).problem(412, "changed-meanwhile");
        owner.send("DELETE", &path, &[("if-match", "\"1\"")], None).expect(204);
        assert_eq!(minutes(studio, "2026-03-10T00:00:00", "2026-03-11T00:00:00").0, [120, 0]);

        owner.away(niamh["id"].as_str().unwrap(), "2026-03-09", "2026-03-10");
        assert_eq!(minutes(studio, "2026-03-09T00:00:00", "2026-03-11T00:00:00").1, [570]);
        let retired = json!({ "name": "Bay 1", "features": [], "in_use": false });
        owner.put(&format!("/v1/bays/{}", one["id"].as_str().unwrap()), "\"1\"", &retired).expect(200);
        assert_eq!(minutes(studio, "2026-03-10T00:00:00", "2026-03-11T00:00:00").0, [0]);
    });
}

#[test]
fn bays_are_the_shops_own() {
    on_each_engine(|studio| {
        let desk = studio.colleague(Role::Desk);
        let bay = desk.add_bay("Bay 1", &["power", "cover", "cover"]);
        assert_eq!(bay["features"], json!(["cover", "power"]));
        let path = format!("/v1/bays/{}", bay["id"].as_str().unwrap());
        let body = json!({ "name": "Bay 1" });
        desk.post("/v1/bays", &body).problem(422, "invalid-value");
        desk.post("/v1/bays", &json!({ "name": "Bay 2", "features": ["Cover"] })).problem(400, "invalid-body");
        studio.stranger().get(&path).problem(404, "not-found");
        studio.stranger().put(&path, "\"1\"", &body).problem(404, "not-found");
        studio.stranger().post("/v1/bays", &body).expect(201);
        studio.colleague(Role::Technician).get(&path).expect(200);
        studio.colleague(Role::Technician).put(&path, "\"1\"", &body).problem(403, "not-allowed");
        studio.colleague(Role::Accountant).get(&path).problem(403, "not-allowed");
        let theirs = json!({ "bay_id": bay["id"], "first_day": "2026-03-09", "last_day": "2026-03-09", "reason": "x" });
        studio.stranger().post("/v1/closures", &theirs).problem(422, "invalid-value");
        let backwards = json!({ "first_day": "2026-03-10", "last_day": "2026-03-09", "reason": "x" });
        desk.post("/v1/closures", &backwards).problem(422, "invalid-value");
        for number in 2..=4 {
            desk.add_bay(&format!("Bay {number}"), &[]);
        }
        let first = desk.get("/v1/bays?limit=3").expect(200);
        let second = desk.get(first["next"].as_str().unwrap()).expect(200);
        assert_eq!((&second["items"][0]["name"], &second["next"]), (&json!("Bay 4"), &Value::Null));
        let back = desk.get(second["prev"].as_str().unwrap()).expect(200);
        assert_eq!(back["items"], first["items"]);
    });
}

#[test]
fn hours_that_overlap_or_are_none_are_refused() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let stretch = |from: &str, until: &str| json!({ "weekday": "MONDAY", "from": from, "until": until });
        let put = |hours: Value| owner.put("/v1/opening-hours", "\"1\"", &json!({ "hours": hours }));
        put(json!([stretch("08:00", "12:00"), stretch("11:00", "13:00")])).problem(422, "invalid-value");
        let problem = put(json!([stretch("08:00", "12:00"), stretch("14:00", "14:00")])).problem(422, "invalid-value");
        assert_eq!(problem["errors"][0]["pointer"], "/hours/1");
        put(json!([stretch("24:00", "12:00")])).problem(422, "invalid-value");
        put(json!([stretch("08:60", "12:00")])).problem(400, "invalid-body");
        put(json!(vec![stretch("08:00", "12:00"); 43])).problem(422, "invalid-value");
        put(json!([stretch("13:00", "24:00"), stretch("08:00", "12:00")])).expect(200);
        put(json!([])).problem(412, "changed-meanwhile");
    });
}

#[test]
fn a_closure_of_one_day_names_one_day_and_the_same_closure_twice_is_refused() {
    on_each_engine(|studio| {
        let desk = studio.colleague(Role::Desk);
        let bay = desk.add_bay("Bay 1", &[]);
        let day = json!({ "first_day": "2026-03-09", "last_day": "2026-03-09", "reason": "Stocktaking" });
        let made = desk.post("/v1/closures", &day).expect(201);
        assert_eq!((&made["first_day"], &made["last_day"]), (&json!("2026-03-09"), &json!("2026-03-09")));
        assert_eq!(minutes(studio, "2026-03-09T00:00:00", "2026-03-11T00:00:00").0, [570]);
        desk.post("/v1/closures", &day).problem(409, "closure-twice");
        let longer = json!({ "first_day": "2026-03-09", "last_day": "2026-03-10", "reason": "Works" });
        assert_eq!(desk.post("/v1/closures", &longer).warnings(), ["closure-overlaps"]);
        // A bay may be out of use while the shop is closed.
        let alone =
            json!({ "bay_id": bay["id"], "first_day": "2026-03-09", "last_day": "2026-03-09", "reason": "Paint" });
        desk.post("/v1/closures", &alone).expect(201);
    });
}
