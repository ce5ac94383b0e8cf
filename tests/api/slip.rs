//! A likely slip of the finger is asked about or pointed out, and what is right can still be done.

use baywright_tests::answer::Answer;
use baywright_tests::make::invoice::payment;
use baywright_tests::make::menu::{small_menu, with};
use baywright_tests::make::quote::{draft, id};
use baywright_tests::make::shop::without;
use baywright_tests::make::{enquiry, inspection, people};
use baywright_tests::on_each_engine;
use baywright_tests::person::Person;
use serde_json::{Value, json};

fn detail(problem: &Value) -> &str {
    problem["detail"].as_str().unwrap()
}

fn stretch(day: &str, from: &str, until: &str) -> Value {
    json!({ "weekday": day, "from": from, "until": until })
}

fn put_hours(owner: &Person, hours: &Value) -> Answer {
    let etag = owner.get("/v1/opening-hours").etag();
    owner.put("/v1/opening-hours", &etag, &json!({ "hours": hours }))
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
fn a_closure_that_is_asked_about_twice_is_made_by_following_the_answers() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let long = json!({ "first_day": "2025-12-24", "last_day": "2027-12-26", "reason": "Rebuilding" });
        let next = |problem: &Value| {
            let query = detail(problem).split_once('?').unwrap().1.trim_end_matches('.');
            format!("/v1/closures?{query}")
        };
        let first = owner.post("/v1/closures", &long).problem(409, "long-past");
        let second = owner.post(&next(&first), &long).problem(409, "far-ahead");
        assert!(detail(&second).ends_with("?confirm=long-past,far-ahead."), "{second}");
        owner.post(&next(&second), &long).expect(201);
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

#[test]
fn an_odometer_with_a_digit_too_many_is_pointed_out() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let (_, vehicle) = owner.add_customer_with_car();
        let car = inspection::body(&id(&vehicle));
        let shown = |odometer: u32| owner.post("/v1/inspections", &with(car.clone(), json!({ "odometer": odometer })));
        assert_eq!(shown(61_234).warnings(), [] as [&str; 0]);
        let odd = shown(612_340);
        assert_eq!(odd.warnings(), ["odometer-far-higher"]);
        let said = odd.json()["warnings"][0]["detail"].clone();
        assert_eq!(
            said,
            "Check the odometer: it showed 61234 km before, and now 612340 km. Is there a digit too many?"
        );
        owner.put(odd.header("location"), "\"1\"", &with(car, json!({ "odometer": 61_240 }))).expect(200);
    });
}

#[test]
fn a_deposit_above_the_total_is_pointed_out_when_the_quote_is_written_and_sent() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        owner.publish_small_menu();
        let (_, vehicle, seen) = owner.add_inspected_car("Aoife Byrne", "aoife@example.com");
        let asked = |amount: &str| {
            let deposit = json!({ "deposit": { "amount": { "amount": amount, "currency": "EUR" } } });
            with(draft(&id(&seen), &["maintenance-wash"], &[]), deposit)
        };
        let written = owner.write_quote(&id(&vehicle), &asked("500.00"));
        assert_eq!(written.warnings(), ["deposit-above-total"]);
        let warning = written.json()["warnings"][0].clone();
        assert_eq!(warning["pointer"], "/draft/deposit/amount");
        assert!(warning["detail"].as_str().unwrap().starts_with("The deposit of EUR 500.00 is more than"), "{warning}");
        let written = written.expect(201);
        let path = format!("/v1/quotes/{}/draft", id(&written));
        let changed = owner.put(&path, "\"1\"", &asked("501.00"));
        assert_eq!(changed.json()["warnings"][0]["pointer"], "/deposit/amount");
        let sent = owner.move_quote(&changed.expect(200), "send", &json!({}));
        assert_eq!(sent.warnings(), ["deposit-above-total"]);
        assert_eq!(owner.write_quote(&id(&vehicle), &asked("20.00")).warnings(), [] as [&str; 0]);
    });
}

#[test]
fn a_price_that_is_only_asked_for_says_what_writing_the_quote_would_warn_of() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        owner.publish_small_menu();
        owner.add_reverse_charge();
        let (_, vehicle, seen) = owner.add_inspected_car("Aoife Byrne", "aoife@example.com");
        let mut asked = draft(&id(&seen), &["maintenance-wash"], &[]);
        let price =
            |asked: &Value| owner.post("/v1/quote-prices", &json!({ "vehicle_id": vehicle["id"], "draft": asked }));
        assert_eq!(price(&asked).warnings(), [] as [&str; 0]);
        asked["deposit"] = json!({ "amount": { "amount": "500.00", "currency": "EUR" } });
        asked["lines"][0]["tax"] = json!("reverse-charge");
        let expected = ["deposit-above-total", "reverse-charge-parties"];
        let priced = price(&asked);
        assert_eq!(priced.warnings(), expected);
        assert_eq!(priced.json()["warnings"][0]["pointer"], "/draft/deposit/amount");
        assert_eq!(owner.write_quote(&id(&vehicle), &asked).warnings(), expected);
    });
}

#[test]
fn work_that_takes_paint_away_without_readings_is_pointed_out_when_it_is_quoted() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        owner.publish_small_menu();
        let (_, vehicle) = owner.add_customer_with_car();
        let seen = owner.inspect_with(&with(inspection::body(&id(&vehicle)), json!({ "readings": [] })));
        let asked = draft(&id(&seen), &["correction-two-step"], &[]);
        let written = owner.write_quote(&id(&vehicle), &asked);
        assert_eq!(written.warnings(), ["paint-not-measured"]);
        let sent = owner.move_quote(&written.expect(201), "send", &json!({ "by_mail": false }));
        assert_eq!(sent.warnings(), ["paint-not-measured"]);
        let wash = draft(&id(&seen), &["maintenance-wash"], &[]);
        assert_eq!(owner.write_quote(&id(&vehicle), &wash).warnings(), [] as [&str; 0]);
        // With readings beyond the limits, whoever writes the quote hears what sending it would refuse.
        let thin = json!({ "readings": [{ "panel": "BONNET", "micrometres": [60, 120, 125] }] });
        let thin = owner.inspect_with(&with(inspection::body(&id(&vehicle)), thin));
        let asked = draft(&id(&thin), &["correction-two-step"], &[]);
        assert_eq!(owner.write_quote(&id(&vehicle), &asked).warnings(), ["owner-decision-needed"]);
    });
}

#[test]
fn a_payment_of_many_times_what_is_due_is_asked_about() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let customer = owner.add_customer("Aoife Byrne");
        let invoice = studio.issued_invoice(&customer, &[(10_000, 23)]);
        let typed_cents = payment(&customer, "10000.00", &[&invoice]);
        let problem = owner.post("/v1/payments", &typed_cents).problem(409, "far-above-due");
        assert!(detail(&problem).starts_with("The payment is EUR 10,000.00, but only EUR 100.00 is due."), "{problem}");
        owner.post("/v1/payments", &payment(&customer, "1000.00", &[])).problem(409, "far-above-due");
        owner.post("/v1/payments?confirm=far-above-due", &typed_cents).expect(201);
        // Nothing is due any more, so this is an advance payment.
        owner.post("/v1/payments", &payment(&customer, "1000.00", &[])).expect(201);
    });
}

#[test]
fn a_payment_from_before_its_invoice_is_pointed_out() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let customer = owner.add_customer("Aoife Byrne");
        let invoice = studio.issued_invoice(&customer, &[(10_000, 23)]);
        let on = |day: &str, amount: &str| {
            let body = with(payment(&customer, amount, &[&invoice]), json!({ "received_on": day }));
            owner.post("/v1/payments", &body)
        };
        let slip = on("2016-03-02", "40.00");
        assert_eq!(slip.warnings(), ["payment-before-invoice"]);
        let warning = slip.json()["warnings"][0].clone();
        assert_eq!(warning["pointer"], "/received_on");
        assert!(detail(&warning).contains("was received on Wed 2 March 2016, but invoice"), "{warning}");
        assert_eq!(on("2026-03-02", "60.00").warnings(), [] as [&str; 0]);
    });
}

#[test]
fn an_advance_payment_by_a_customer_who_owes_a_little_is_not_asked_about() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let customer = owner.add_customer("Aoife Byrne");
        let invoice = studio.issued_invoice(&customer, &[(500, 23)]);
        let named = payment(&customer, "60.00", &[&invoice]);
        owner.post("/v1/payments", &named).problem(409, "far-above-due");
        for slip in ["50.00", "500.00"] {
            owner.post("/v1/payments", &payment(&customer, slip, &[])).problem(409, "far-above-due");
        }
        owner.post("/v1/payments", &payment(&customer, "60.00", &[])).expect(201);
    });
}

#[test]
fn hours_the_wrong_way_round_are_pointed_out_and_a_late_evening_is_not() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let odd =
            put_hours(&owner, &json!([stretch("MONDAY", "08:00", "17:30"), stretch("TUESDAY", "18:00", "08:00")]));
        assert_eq!(odd.warnings(), ["hours-through-the-night"]);
        let warning = odd.json()["warnings"][0].clone();
        assert_eq!(warning["pointer"], "/hours/1");
        assert!(
            warning["detail"].as_str().unwrap().contains("Tuesday go on through the night, from 18:00 until 08:00")
        );
        assert_eq!(put_hours(&owner, &json!([stretch("MONDAY", "20:00", "02:00")])).warnings(), [] as [&str; 0]);
        let person = with(
            people::body("Sean Walsh", "TECHNICIAN", &[]),
            json!({ "shifts": [stretch("MONDAY", "17:00", "09:00")] }),
        );
        assert_eq!(owner.post("/v1/people", &person).json()["warnings"][0]["pointer"], "/shifts/0");
    });
}

#[test]
fn hours_that_reach_into_those_of_another_day_are_refused() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let both =
            put_hours(&owner, &json!([stretch("MONDAY", "22:00", "06:00"), stretch("TUESDAY", "05:00", "09:00")]));
        let problem = both.problem(422, "invalid-value");
        assert_eq!(problem["errors"][0]["code"], "overlap");
        assert!(detail(&problem).contains("The hours of Monday overlap those of Tuesday"), "{problem}");
        put_hours(&owner, &json!([stretch("MONDAY", "05:00", "09:00"), stretch("SUNDAY", "22:00", "06:00")]))
            .problem(422, "invalid-value");
        put_hours(&owner, &json!([stretch("MONDAY", "06:00", "09:00"), stretch("SUNDAY", "22:00", "06:00")]))
            .expect(200);
    });
}

#[test]
fn bays_and_people_with_one_name_are_pointed_out() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        owner.add_bay("Bay 1", &[]);
        let bay = owner.post("/v1/bays", &json!({ "name": "bay  1" }));
        assert_eq!(bay.warnings(), ["same-name"]);
        let path = bay.header("location").to_owned();
        assert_eq!(owner.put(&path, "\"1\"", &json!({ "name": "bay  1" })).warnings(), [] as [&str; 0]);
        let first = owner.post("/v1/people", &people::body("Sean Walsh", "TECHNICIAN", &[]));
        assert_eq!(first.warnings(), [] as [&str; 0]);
        let again = owner.post("/v1/people", &people::body("Seán Walsh", "TECHNICIAN", &[]));
        assert_eq!(again.warnings(), ["same-name"]);
        let path = again.header("location").to_owned();
        let other = people::body("Niamh Keane", "TECHNICIAN", &[]);
        assert_eq!(owner.put(&path, "\"1\"", &other).warnings(), [] as [&str; 0]);
    });
}

#[test]
fn every_value_of_the_shop_that_breaks_a_rule_is_told_at_once() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let pointers = |problem: &Value| -> Vec<String> {
            problem["errors"]
                .as_array()
                .unwrap()
                .iter()
                .map(|one| one["pointer"].as_str().unwrap().to_owned())
                .collect()
        };
        let shop = owner.get("/v1/shop").expect(200);
        let mut shop = without(&shop, &["id", "version", "currency", "created_at", "updated_at"]);
        shop["vat_id"] = json!("12345");
        shop["iban"] = json!("IE29AIBK93115212345679");
        shop["zone"] = json!("Dublin");
        shop["terms"]["second_letter_days"] = json!(3);
        shop["terms"]["consent_text"] = json!("");
        shop["terms"]["deposit_percent"] = json!("101");
        let problem = owner.put("/v1/shop", "\"1\"", &shop).problem(422, "invalid-value");
        assert_eq!(
            pointers(&problem),
            ["/vat_id", "/iban", "/zone", "/terms/second_letter_days", "/terms/consent_text", "/terms/deposit_percent"]
        );
        let rates = owner.get("/v1/rates").expect(200);
        let mut rates = without(&rates, &["version", "updated_at"]);
        rates["labour_rate"]["amount"] = json!("-1.00");
        rates["price_step"]["amount"] = json!("0.00");
        rates["size_factors"]["large"] = json!("11");
        let problem = owner.put("/v1/rates", "\"1\"", &rates).problem(422, "invalid-value");
        assert_eq!(pointers(&problem), ["/size_factors/large", "/labour_rate/amount", "/price_step/amount"]);
        let hours = json!({ "hours": [
            { "weekday": "MONDAY", "from": "08:00", "until": "08:00" },
            { "weekday": "FRIDAY", "from": "24:00", "until": "08:00" }
        ] });
        let problem = owner.put("/v1/opening-hours", "\"1\"", &hours).problem(422, "invalid-value");
        assert_eq!(pointers(&problem), ["/hours/0", "/hours/1"]);
    });
}
