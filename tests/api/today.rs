//! The day at the shop over HTTP: bays, people, jobs, and what waits for somebody.

use baywright_core::message::usecase::{Outcome, settle, take};
use baywright_core::platform::identity::Role;
use baywright_tests::on_each_engine;
use baywright_tests::person::Person;
use serde_json::{Value, json};

use crate::job::{act, arrived, handed_over};

fn today(person: &Person) -> Value {
    person.get("/v1/today").expect(200)
}

/// The entries of a list.
fn list(today: &Value, kind: &str) -> Vec<Value> {
    let lists = today["lists"].as_array().unwrap();
    let found = lists.iter().find(|list| list["kind"] == kind).unwrap_or_else(|| panic!("no list {kind}"));
    found["items"].as_array().unwrap().clone()
}

/// Kind of record and next act of each entry of a list.
fn acts(today: &Value, kind: &str) -> Vec<(String, String)> {
    let word = |value: &Value| value.as_str().unwrap().to_owned();
    list(today, kind).iter().map(|entry| (word(&entry["about_kind"]), word(&entry["act"]))).collect()
}

fn pair(kind: &str, act: &str) -> (String, String) {
    (kind.to_owned(), act.to_owned())
}

#[test]
fn a_bay_shows_work_waits_and_closed_time() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let (booking, _) = arrived(studio, &["coating"]);
        let day = today(&studio.owner());
        assert_eq!(day["date"], "2026-03-02");
        let bay = day["bays"].as_array().unwrap().iter().find(|bay| bay["id"] == booking["bay_id"]).unwrap();
        assert_eq!(bay["id"], floor.best.as_str());
        let stretches = bay["stretches"].as_array().unwrap();
        let kinds = |kind: &str| stretches.iter().filter(|one| one["kind"] == kind).count();
        assert!(kinds("WORK") > 0 && kinds("WAIT") > 0 && kinds("CLOSED") > 0, "{stretches:?}");
        assert_eq!(kinds("HOLD"), 0);
        let start = |one: &Value| one["start"].as_str().unwrap().to_owned();
        assert!(stretches.is_sorted_by_key(start));
        let of_car = |one: &Value| one["kind"] == "CLOSED" || one["booking_id"] == booking["id"];
        assert!(stretches.iter().all(of_car), "{stretches:?}");
        let car = &day["cars"][0];
        assert_eq!((&car["booking_id"], &car["stands_in_bay"]), (&booking["id"], &json!(true)));
        assert_eq!((&car["customer_name"], &car["next_act"]), (&json!("Aoife Byrne"), &json!("START_STEP")));
        assert_eq!(car["start"], booking["start"]);
        let technician = today(&studio.colleague(Role::Technician));
        assert!(technician["cars"][0]["next_act"].is_null(), "{technician}");
    });
}

#[test]
fn a_hold_is_one_stretch_and_waits_for_the_desk() {
    on_each_engine(|studio| {
        studio.floor();
        let owner = studio.owner();
        let quote = studio.signed_work(&["wash"]);
        let times = owner.times(&quote, 1);
        let (bay, start) = (times[0]["bay_id"].as_str().unwrap(), times[0]["start"].as_str().unwrap());
        owner.place(&quote, bay, start, true).expect(201);
        let date = &start[..10];
        let day = owner.get(&format!("/v1/today?date={date}")).expect(200);
        let all = day["bays"].as_array().unwrap().iter().flat_map(|bay| bay["stretches"].as_array().unwrap());
        let held: Vec<&Value> = all.filter(|one| one["kind"] != "CLOSED").collect();
        assert_eq!((held.len(), &held[0]["kind"]), (1, &json!("HOLD")));
        assert_eq!(acts(&day, "TO_BOOK"), [pair("quote", "CONFIRM")]);
        assert_eq!(list(&day, "TO_BOOK")[0]["bay_id"], bay);
        studio.pass_minutes(30 * 24 * 60);
        assert_eq!(acts(&today(&studio.owner()), "TO_BOOK"), [pair("quote", "BOOK")], "the hold has run out");
    });
}

#[test]
fn a_job_shows_its_step_at_hand_who_is_at_it_and_its_forecast() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let owner = studio.owner();
        let (booking, job) = arrived(studio, &["coating"]);
        let job_id = job["id"].as_str().unwrap();
        let step = || today(&owner)["jobs"][0]["step"].clone();
        assert_eq!((&step()["code"], &step()["state"]), (&json!("wash"), &json!("OPEN")));
        act(&owner, &job, "wash", "start", &json!({ "person_id": floor.polisher })).expect(200);
        let running = step();
        assert_eq!(
            (&running["state"], &running["people"][0]["person_name"]),
            (&json!("RUNNING"), &json!("Niall Quirke"))
        );
        let seen = today(&owner)["jobs"][0].clone();
        assert_eq!(seen["booking_id"], booking["id"]);
        let alone = owner.get(&format!("/v1/jobs/{job_id}/forecast")).expect(200);
        assert_eq!(seen["forecast"], alone, "as the forecast of the one job");
        studio.pass_minutes(10);
        act(&owner, &job, "wash", "finish", &json!({ "used": [] })).expect(200);
        for code in ["machine", "coat"] {
            act(&owner, &job, code, "start", &json!({ "person_id": floor.polisher })).expect(200);
            act(&owner, &job, code, "finish", &json!({ "used": [] })).expect(200);
        }
        let drying = step();
        assert_eq!(drying["code"], "final");
        assert!(drying["not_before"].is_string(), "{drying}");
        let alone = owner.get(&format!("/v1/jobs/{job_id}/forecast")).expect(200);
        assert_eq!(today(&owner)["jobs"][0]["forecast"], alone);
    });
}

#[test]
fn forecasts_of_several_cars_are_those_of_each() {
    on_each_engine(|studio| {
        studio.floor();
        let owner = studio.owner();
        arrived(studio, &["wash"]);
        arrived(studio, &["polish"]);
        let day = today(&owner);
        let jobs = day["jobs"].as_array().unwrap();
        assert_eq!(jobs.len(), 2);
        for job in jobs {
            let alone = owner.get(&format!("/v1/jobs/{}/forecast", job["id"].as_str().unwrap())).expect(200);
            assert_eq!(job["forecast"], alone);
        }
    });
}

#[test]
fn people_show_their_pieces_and_their_hours() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        arrived(studio, &["coating"]);
        let day = today(&studio.owner());
        let people = day["people"].as_array().unwrap();
        assert_eq!(people.len(), 2, "{people:?}");
        let polisher = people.iter().find(|person| person["id"] == floor.polisher.as_str()).unwrap();
        assert_eq!(polisher["working"][0]["start"], "2026-03-02T08:00:00Z");
        let pieces: Vec<&Value> = people.iter().flat_map(|person| person["pieces"].as_array().unwrap()).collect();
        assert!(pieces.iter().any(|piece| piece["step"] == "machine" && piece["step_name"].is_string()), "{pieces:?}");
    });
}

#[test]
fn each_list_holds_what_waits_with_its_next_act() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        owner.take_enquiry("Maeve Daly");
        handed_over(studio);
        let sent = studio.sent_quote("nora@example.com", &["wash"], &[]);
        let with_deposit = studio.signed_work_with(&["wash"], Some("20.00"));
        studio.signed_work(&["wash"]);
        owner.book_first(&with_deposit);
        let day = today(&owner);
        let kinds: Vec<&Value> = day["lists"].as_array().unwrap().iter().map(|list| &list["kind"]).collect();
        let all = ["TO_ANSWER", "TO_SIGN", "TO_BOOK", "DEPOSIT_DUE", "TO_INVOICE", "OVERDUE", "MAIL_FAILED"];
        assert_eq!(kinds, all);
        assert_eq!(acts(&day, "TO_ANSWER"), [pair("enquiry", "ANSWER")]);
        assert_eq!(list(&day, "TO_ANSWER")[0]["customer_name"], "Maeve Daly");
        assert_eq!(acts(&day, "TO_SIGN"), [pair("quote", "SIGN")]);
        let to_sign = &list(&day, "TO_SIGN")[0];
        assert_eq!((&to_sign["about_id"], &to_sign["turn"]), (&json!(sent.id), &json!("CUSTOMER")));
        assert_eq!(acts(&day, "TO_BOOK"), [pair("quote", "BOOK")]);
        assert_eq!(acts(&day, "DEPOSIT_DUE"), [pair("quote", "PAY_DEPOSIT")]);
        let deposit = &list(&day, "DEPOSIT_DUE")[0];
        assert_eq!((&deposit["about_id"], &deposit["amount"]["amount"]), (&json!(with_deposit), &json!("20.00")));
        assert!(deposit["bay_name"].is_string());
        assert_eq!(acts(&day, "TO_INVOICE"), [pair("quote", "INVOICE")]);
        assert!(list(&day, "OVERDUE").is_empty() && list(&day, "MAIL_FAILED").is_empty());
    });
}

#[test]
fn an_overdue_invoice_and_a_failed_mail_are_listed() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let customer = owner.add_customer("Nora Keane");
        let invoice = studio.issued_invoice(&customer, &[(12_300, 23)]);
        crate::message::write(studio, "aoife@example.com", "Your booking");
        let parcel = studio.in_shop(studio.shop(), take).unwrap();
        let refused = Outcome::Refused("550 no such mailbox".into());
        studio.in_shop(studio.shop(), |tx| settle(tx, &parcel, &refused));
        studio.pass_minutes(60 * 24 * 60);
        let day = today(&studio.owner());
        assert_eq!(acts(&day, "OVERDUE"), [pair("invoice", "CHASE")]);
        let overdue = &list(&day, "OVERDUE")[0];
        assert_eq!((&overdue["about_id"], &overdue["customer_name"]), (&invoice["id"], &json!("Nora Keane")));
        assert_eq!(overdue["amount"]["amount"], invoice["open"]["amount"]);
        assert_eq!(acts(&day, "MAIL_FAILED"), [pair("message", "SEND_MAIL_AGAIN")]);
        assert_eq!(list(&day, "MAIL_FAILED")[0]["title"], "Your booking");
    });
}

#[test]
fn a_technician_sees_no_prices_no_surname_and_no_colleagues_job() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let (_, job) = arrived(studio, &["coating"]);
        studio.sent_quote("nora@example.com", &["wash"], &[]);
        let day = today(&studio.person(&floor.polisher));
        let text = day.to_string();
        for hidden in ["Byrne", "@", "+353", "amount", "EUR"] {
            assert!(!text.contains(hidden), "{hidden}: {text}");
        }
        assert_eq!((&day["lists"], &day["cars"][0]["customer_name"]), (&json!([]), &json!("Aoife")));
        assert_eq!(day["jobs"][0]["id"], job["id"], "the polisher is booked for it");
        let stranger_to_it = today(&studio.colleague(Role::Technician));
        assert_eq!((&stranger_to_it["jobs"], stranger_to_it["cars"].as_array().map(Vec::len)), (&json!([]), Some(1)));
        studio.colleague(Role::Accountant).get("/v1/today").problem(403, "not-allowed");
        let elsewhere = today(&studio.stranger());
        assert_eq!((&elsewhere["cars"], &elsewhere["jobs"]), (&json!([]), &json!([])));
    });
}

#[test]
fn a_day_that_is_none_is_refused() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        for bad in ["date=2026-02-30", "date=today", "date=", "day=2026-03-02"] {
            owner.get(&format!("/v1/today?{bad}")).problem(400, "invalid-query");
        }
        assert_eq!(owner.get("/v1/today?date=2026-12-24").expect(200)["jobs"], json!([]));
    });
}
