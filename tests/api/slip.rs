//! A likely slip of the finger is asked about or pointed out, and what is right can still be done.

use baywright_tests::make::enquiry;
use baywright_tests::make::menu::{small_menu, with};
use baywright_tests::on_each_engine;
use serde_json::{Value, json};

fn detail(problem: &Value) -> &str {
    problem["detail"].as_str().unwrap()
}

#[test]
fn a_closure_with_a_slip_of_the_year_is_asked_about() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let days = |first: &str, last: &str| json!({ "first_day": first, "last_day": last, "reason": "Holidays" });
        let far = days("2062-12-24", "2062-12-26");
        let problem = owner.post("/v1/closures", &far).problem(409, "far-ahead");
        assert!(detail(&problem).starts_with("Tue 26 December 2062 is more than a year ahead."), "{problem}");
        assert!(detail(&problem).contains("?confirm=far-ahead"), "{problem}");
        // The beginning with the last year, and the end with the next one, would close the shop for a year.
        owner.post("/v1/closures", &days("2025-12-24", "2026-12-26")).problem(409, "long-past");
        owner.post("/v1/closures", &days("2026-12-24", "2027-12-26")).problem(409, "far-ahead");
        let made = owner.post("/v1/closures?confirm=far-ahead", &far).expect(201);
        let path = format!("/v1/closures/{}", made["id"].as_str().unwrap());
        // Days that were confirmed once are not asked about again.
        let renamed = with(far, json!({ "reason": "Works" }));
        owner.put(&path, "\"1\"", &renamed).expect(200);
        owner.put(&path, "\"2\"", &days("2062-12-24", "2062-12-27")).problem(409, "far-ahead");
        // Neither what happened lately nor what people usually plan is asked about.
        owner.post("/v1/closures", &days("2026-02-27", "2026-02-27")).expect(201);
        owner.post("/v1/closures", &days("2027-03-01", "2027-03-02")).expect(201);
    });
}

#[test]
fn an_absence_with_a_slip_of_the_year_is_asked_about() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let person = owner.add_technician("Sean Walsh", &[]);
        let path = format!("/v1/people/{}/absences", person["id"].as_str().unwrap());
        let days = |first: &str, last: &str| json!({ "first_day": first, "last_day": last });
        owner.post(&path, &days("2062-07-06", "2062-07-17")).problem(409, "far-ahead");
        owner.post(&path, &days("2025-07-06", "2025-07-17")).problem(409, "long-past");
        let hours = json!({ "from_at": "2062-07-06T08:00:00Z", "until_at": "2062-07-06T10:00:00Z" });
        owner.post(&path, &hours).problem(409, "far-ahead");
        owner.post(&format!("{path}?confirm=long-past"), &days("2025-07-06", "2025-07-17")).expect(201);
        owner.post(&path, &days("2026-02-23", "2026-02-24")).expect(201);
    });
}

#[test]
fn a_wished_date_far_ahead_is_asked_about_once() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let far = with(enquiry::body("Niamh Keane"), json!({ "wanted_by": "2062-03-20" }));
        owner.post("/v1/enquiries", &far).problem(409, "far-ahead");
        let made = owner.post("/v1/enquiries?confirm=far-ahead", &far).expect(201);
        let path = format!("/v1/enquiries/{}", made["id"].as_str().unwrap());
        owner.put(&path, "\"1\"", &with(far, json!({ "notes": "Rang back." }))).expect(200);
    });
}

#[test]
fn a_menu_that_is_to_begin_far_ahead_is_asked_about() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let seen = owner.draft_menu(&small_menu());
        let from = json!({ "from": "2062-04-01T08:00:00Z", "note": "" });
        owner.act("/v1/menu/publish", &seen, &from).problem(409, "far-ahead");
        owner.act("/v1/menu/publish?confirm=far-ahead", &seen, &from).expect(201);
    });
}

#[test]
fn an_unlikely_year_of_make_is_pointed_out() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let customer = owner.add_customer("Aoife Byrne");
        let car = |year: i32| {
            json!({ "customer_id": customer["id"], "make": "Corrigan", "model": "Estate 2.0", "year": year,
                "size_class": "MEDIUM" })
        };
        for year in [1889, 2099] {
            let made = owner.post("/v1/vehicles", &car(year));
            assert_eq!(made.warnings(), ["unlikely-year"], "{year}");
            let path = made.header("location").to_owned();
            assert_eq!(owner.put(&path, "\"1\"", &car(year)).warnings(), [] as [&str; 0], "{year} again");
        }
        for year in [1990, 2026, 2027] {
            assert_eq!(owner.post("/v1/vehicles", &car(year)).warnings(), [] as [&str; 0], "{year}");
        }
    });
}
