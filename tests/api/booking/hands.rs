//! Two people: less time for the car, two people for the time.

use baywright_core::platform::identity::Role;
use baywright_tests::make::booking::{Floor, floor_menu};
use baywright_tests::make::quote::id;
use baywright_tests::on_each_engine;
use baywright_tests::person::Person;
use serde_json::{Value, json};

use crate::job::act;

const MONDAY: &str = "2026-03-02T08:00:00Z";

/// The first time at which two people can do the work.
fn first_for_two(person: &Person, quote: &str) -> Value {
    person.get(&format!("/v1/quotes/{quote}/availability?count=1&hands=TWO")).expect(200)["times"][0].clone()
}

/// Step, who, whether they help, from when and until when, of each piece.
fn pieces<'a>(booking: &'a Value, floor: &Floor) -> Vec<(&'a str, &'static str, bool, &'a str, &'a str)> {
    let name = |person: &Value| if *person == json!(floor.polisher) { "polisher" } else { "helper" };
    let pieces = booking["pieces"].as_array().unwrap().iter();
    let clock = |at: &'a Value| &at.as_str().unwrap()[11..16];
    pieces
        .map(|piece| {
            let step = piece["step"].as_str().unwrap();
            let helps = piece["helps"].as_bool().unwrap();
            (step, name(&piece["person_id"]), helps, clock(&piece["start"]), clock(&piece["finish"]))
        })
        .collect()
}

#[test]
fn the_plan_is_shorter_where_a_step_allows_two() {
    on_each_engine(|studio| {
        studio.floor();
        let desk = studio.colleague(Role::Desk);
        let quote = studio.signed_work(&["polish"]);
        let plan = |query: &str| desk.get(&format!("/v1/quotes/{quote}/plan{query}")).expect(200);
        let (one, two) = (plan(""), plan("?hands=TWO"));
        assert_eq!(plan("?hands=ONE"), one);
        assert_eq!((&one["hands"], &two["hands"]), (&json!("ONE"), &json!("TWO")));
        let step = |plan: &Value, field: &str| plan["work"]["steps"][1][field].clone();
        assert_eq!((step(&one, "attended_minutes"), step(&one, "hands")), (json!(120), json!("ONE")));
        assert_eq!((step(&two, "attended_minutes"), step(&two, "hands")), (json!(72), json!("TWO")));
        assert_eq!(step(&one, "two_hands"), "0.6");
        assert_eq!((&one["work"]["attended_minutes"], &two["work"]["attended_minutes"]), (&json!(195), &json!(147)));
        assert_eq!((&one["work"]["elapsed_minutes"], &two["work"]["elapsed_minutes"]), (&json!(195), &json!(147)));
        // What is promised is less by as much as the work is.
        let promised = |plan: &Value| plan["work"]["outlook"]["promised_minutes"].as_u64().unwrap();
        assert!(promised(&two) < promised(&one) && promised(&two) > 147, "{two}");
        assert_eq!(one["work"]["outlook_of_two"], two["work"]["outlook"]);
        // Where no step allows two there is nothing to share.
        let wash = studio.signed_work(&["wash"]);
        let alone = desk.get(&format!("/v1/quotes/{wash}/plan?hands=TWO")).expect(200);
        assert_eq!((&alone["hands"], &alone["work"]["outlook_of_two"]), (&json!("ONE"), &json!(null)));
        assert_eq!(alone, desk.get(&format!("/v1/quotes/{wash}/plan")).expect(200));
        desk.get(&format!("/v1/quotes/{wash}/plan?hands=2")).problem(400, "invalid-query");
    });
}

#[test]
fn a_booking_for_two_keeps_two_people_from_other_work() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let owner = studio.owner();
        let quote = studio.signed_work(&["polish"]);
        let offered = first_for_two(&owner, &quote);
        assert_eq!((&offered["start"], &offered["finish"]), (&json!(MONDAY), &json!("2026-03-02T10:27:00Z")));
        let who = |step: usize| (&offered["steps"][step]["person_id"], &offered["steps"][step]["helper_id"]);
        assert_eq!(who(0), (&json!(floor.polisher), &json!(null)));
        assert_eq!(who(1), (&json!(floor.polisher), &json!(floor.helper)));
        let booked = owner.place_for_two(&quote, &floor.best, MONDAY, false).expect(201);
        assert_eq!((&booked["hands"], &booked["finish"]), (&json!("TWO"), &offered["finish"]));
        assert_eq!(booked["promised"], offered["promised"]);
        let machine = [("machine", "polisher", false, "09:00", "10:12"), ("machine", "helper", true, "09:00", "10:12")];
        assert_eq!(pieces(&booked, &floor)[1..3], machine);
        assert_eq!(owner.get(&format!("/v1/bookings/{}", id(&booked))).expect(200), booked);
        let day = owner.get("/v1/days/2026-03-02").expect(200);
        assert_eq!(day["bays"][0]["bookings"][0]["hands"], "TWO");
        // A wash in the other bay waits until one of the two is free; neither can begin it sooner.
        let wash = studio.signed_work(&["wash"]);
        let other = owner.place(&wash, &floor.plain, "2026-03-02T09:00:00Z", true).expect(201);
        assert_eq!(pieces(&other, &floor)[0], ("wash", "helper", false, "10:12", "11:12"));
        owner.move_booking(&other, "cancel", &json!({ "reason": "Only tried" })).expect(200);
        // Called off, both are free again.
        owner.move_booking(&booked, "cancel", &json!({ "reason": "Ill" })).expect(200);
        let other = owner.place(&wash, &floor.plain, "2026-03-02T09:00:00Z", false).expect(201);
        assert_eq!(pieces(&other, &floor)[0], ("wash", "polisher", false, "09:00", "10:00"));
        // And two are found only when nobody of them has other work: not while one of them washes and inspects.
        let again = owner.place_for_two(&quote, &floor.best, MONDAY, false).expect(201);
        assert_eq!(pieces(&again, &floor)[1], ("machine", "polisher", false, "10:15", "11:27"));
        assert_eq!(pieces(&again, &floor)[2], ("machine", "helper", true, "10:15", "11:27"));
    });
}

#[test]
fn a_hold_for_two_is_agreed_and_moved_with_as_many_hands_or_as_it_says() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let desk = studio.colleague(Role::Desk);
        let quote = studio.signed_work(&["polish"]);
        let held = desk.place_for_two(&quote, &floor.best, MONDAY, true).expect(201);
        assert_eq!((&held["state"], &held["hands"]), (&json!("HELD"), &json!("TWO")));
        let booked = desk.move_booking(&held, "book", &json!({})).expect(200);
        assert_eq!((&booked["hands"], &booked["pieces"]), (&json!("TWO"), &held["pieces"]));
        let place = json!({ "bay_id": floor.plain, "start": "2026-03-03T08:00:00Z" });
        let moved = desk.move_booking(&booked, "move", &place).expect(200);
        assert_eq!((&moved["hands"], &moved["finish"]), (&json!("TWO"), &json!("2026-03-03T10:27:00Z")));
        let place = json!({ "bay_id": floor.plain, "start": "2026-03-03T08:00:00Z", "hands": "ONE" });
        let alone = desk.move_booking(&moved, "move", &place).expect(200);
        assert_eq!((&alone["hands"], &alone["finish"]), (&json!("ONE"), &json!("2026-03-03T11:15:00Z")));
        assert!(alone["pieces"].as_array().unwrap().iter().all(|piece| piece["helps"] == false));
        // Work without a step for two is for one, whatever was asked.
        let wash = studio.signed_work(&["wash"]);
        let wash = desk.place_for_two(&wash, &floor.best, "2026-03-04T08:00:00Z", false).expect(201);
        assert_eq!(wash["hands"], "ONE");
    });
}

#[test]
fn one_person_alone_is_no_pair() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let bay = id(&owner.add_bay("Bay 1", &[]));
        let polisher = id(&owner.add_technician("Niall Quirke", &["correction"]));
        let quote = studio.signed_work(&["polish"]);
        let asked = || owner.get(&format!("/v1/quotes/{quote}/availability?hands=TWO")).expect(200);
        let found = asked();
        assert_eq!((&found["times"], &found["hands"]), (&json!([]), &json!("TWO")));
        let reason = "There are no two people of whom one has all the skills for machine: correction.";
        assert_eq!(
            (&found["reasons"][0]["kind"], &found["reasons"][0]["text"]),
            (&json!("NOBODY_ABLE"), &json!(reason))
        );
        let problem = owner.place_for_two(&quote, &bay, MONDAY, false).problem(409, "nobody-able");
        assert_eq!(problem["detail"], reason);
        // A second one without the skill is enough, on the days on which both are there.
        let helper = id(&owner.add_technician("Orla Shea", &[]));
        owner.away(&helper, "2026-03-02", "2026-03-03");
        let found = asked();
        assert_eq!(found["times"][0]["start"], "2026-03-02T16:30:00Z", "{found}");
        assert_eq!(found["times"][0]["steps"][1]["pieces"][0]["start"], "2026-03-03T08:00:00Z");
        let path = format!("/v1/quotes/{quote}/availability?hands=TWO&by=2026-03-02T17:30:00Z");
        let text = "No two people who can do machine (correction) together are at work before Tue 3 March 2026, 08:00.";
        assert_eq!(owner.get(&path).expect(200)["reasons"][0]["text"], text);
        // Of two who could lead, the first one does.
        assert_eq!(found["times"][0]["steps"][1]["person_id"], json!(polisher));
        assert_eq!(found["times"][0]["steps"][1]["helper_id"], json!(helper));
    });
}

#[test]
fn the_job_has_the_shorter_budget_and_its_helper_sees_it() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let owner = studio.owner();
        let quote = studio.signed_work(&["polish"]);
        let booked = owner.place_for_two(&quote, &floor.best, MONDAY, false).expect(201);
        let feed = owner.post("/v1/calendar-feeds", &json!({ "person_id": floor.helper })).expect(200);
        let url = feed["url"].as_str().unwrap();
        let file = studio.nobody().get(&url[url.find("/feeds/").unwrap()..]).text;
        assert!(file.contains("SUMMARY:machine\\, helping: ") && file.contains("DTSTART:20260302T090000Z"), "{file}");
        let arrived = owner.move_booking(&booked, "arrive", &json!({})).expect(200);
        let path =
            owner.get("/v1/jobs").expect(200)["items"][0]["id"].as_str().map(|id| format!("/v1/jobs/{id}")).unwrap();
        let job = owner.get(&path).expect(200);
        assert_eq!((&job["hands"], &job["steps"][1]["hands"]), (&json!("TWO"), &json!("TWO")));
        assert_eq!((&job["steps"][1]["budget_minutes"], &job["steps"][0]["hands"]), (&json!(72), &json!("ONE")));
        let forecast = owner.get(&format!("{path}/forecast")).expect(200);
        assert_eq!((&forecast["expected"], &forecast["left_minutes"]), (&booked["finish"], &json!(147)));
        // One of the two runs the clock: as long as two were booked for, which says that the budget is right.
        for (code, minutes) in [("wash", 60), ("machine", 72), ("final", 15)] {
            act(&studio.owner(), &job, code, "start", &json!({ "person_id": floor.polisher })).expect(200);
            studio.pass_minutes(minutes);
            act(&studio.owner(), &job, code, "finish", &json!({ "used": [] })).expect(200);
        }
        studio.owner().move_booking(&arrived, "ready", &json!({})).expect(200);
        let learned = studio.owner().get("/v1/learning/steps").expect(200);
        let machine = learned["steps"].as_array().unwrap().iter().find(|step| step["code"] == "machine").unwrap();
        assert_eq!((&machine["jobs"], &machine["median_factor"]), (&json!(1), &json!("1")));
    });
}

#[test]
fn a_rescheduling_gives_nobody_of_two_other_work_meanwhile_and_moves_them_together() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let owner = studio.owner();
        let two = studio.signed_work(&["polish"]);
        let two = owner.place_for_two(&two, &floor.best, MONDAY, false).expect(201);
        owner.place(&studio.signed_work(&["polish"]), &floor.plain, "2026-03-02T10:30:00Z", false).expect(201);
        let another = studio.signed_work(&["wash"]);
        let ask = json!({ "quotes": [{ "quote_id": another, "latest": "2026-03-02T12:00:00Z" }] });
        let made = owner.post("/v1/reschedulings", &ask).expect(201);
        let week = &made["week"];
        assert_eq!((&week["unmoved"], week["jobs"].as_array().unwrap().len()), (&json!([]), 3), "{week}");
        let of_two = |week: &Value| {
            week["jobs"].as_array().unwrap().iter().find(|job| job["booking_id"] == two["id"]).unwrap().clone()
        };
        let job = of_two(week);
        assert_eq!((&job["promise_moves"], &job["after"]["start"]), (&json!(false), &two["start"]), "{week}");
        let machine = job["steps"].as_array().unwrap().iter().find(|step| step["code"] == "machine").unwrap();
        assert!(machine["person_id"].is_string() && machine["helper_id"].is_string(), "{machine}");
        // Nobody of the two is proposed for other work while they are together.
        let (from, until) = (machine["pieces"][0]["start"].as_str(), machine["pieces"][0]["finish"].as_str());
        let others = week["jobs"].as_array().unwrap().iter().filter(|job| job["booking_id"] != two["id"]);
        let steps = others.flat_map(|job| job["steps"].as_array().unwrap());
        for piece in steps.flat_map(|step| step["pieces"].as_array().unwrap()) {
            assert!(piece["finish"].as_str() <= from || piece["start"].as_str() >= until, "{piece}");
        }
        owner.act(&format!("/v1/reschedulings/{}/accept", id(&made)), "\"1\"", &json!({})).expect(200);
        let kept = owner.get(&format!("/v1/bookings/{}", id(&two))).expect(200);
        assert_eq!((&kept["start"], &kept["finish"]), (&two["start"], &two["finish"]));
        // Where the one who helps is away, both come together on another day.
        owner.away(&floor.helper, "2026-03-02", "2026-03-03");
        let made = owner.post("/v1/reschedulings", &json!({})).expect(201);
        let job = of_two(&made["week"]);
        assert_eq!(job["promise_moves"], true, "{made}");
        assert!(job["after"]["start"].as_str() >= Some("2026-03-03T08:00:00Z"), "{made}");
        owner.act(&format!("/v1/reschedulings/{}/accept", id(&made)), "\"1\"", &json!({})).expect(200);
        let moved = owner.get(&format!("/v1/bookings/{}", id(&two))).expect(200);
        assert_eq!((&moved["hands"], &moved["start"]), (&json!("TWO"), &job["after"]["start"]));
        let helping = moved["pieces"].as_array().unwrap().iter().filter(|piece| piece["helps"] == true);
        assert_eq!(helping.map(|piece| piece["person_id"].clone()).collect::<Vec<_>>(), [json!(floor.helper)]);
    });
}

#[test]
fn an_overrun_keeps_both_people_at_the_last_step() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let owner = studio.owner();
        let mut menu = floor_menu();
        menu["services"][1]["steps"].as_array_mut().unwrap().pop();
        studio.signed_work(&["wash"]);
        owner.publish_menu(&menu);
        let quote = studio.signed_work(&["polish"]);
        let booked = owner.place_for_two(&quote, &floor.best, MONDAY, false).expect(201);
        assert_eq!(booked["finish"], "2026-03-02T10:12:00Z");
        owner.move_booking(&booked, "arrive", &json!({})).expect(200);
        let overrun = json!({ "overruns": [{ "booking_id": booked["id"], "finish": "2026-03-02T11:00:00Z" }] });
        let made = owner.post("/v1/reschedulings", &overrun).expect(201);
        owner.act(&format!("/v1/reschedulings/{}/accept", id(&made)), "\"1\"", &json!({})).expect(200);
        let now = owner.get(&format!("/v1/bookings/{}", id(&booked))).expect(200);
        assert_eq!(now["finish"], "2026-03-02T11:00:00Z");
        let last = |helps: bool| {
            let pieces = now["pieces"].as_array().unwrap().iter().filter(|piece| piece["helps"] == helps);
            pieces.map(|piece| piece["finish"].as_str().unwrap().to_owned()).max().unwrap()
        };
        assert_eq!((last(false), last(true)), ("2026-03-02T11:00:00Z".into(), "2026-03-02T11:00:00Z".into()));
        let wash = studio.signed_work(&["wash"]);
        let other = owner.place(&wash, &floor.plain, "2026-03-02T10:15:00Z", true).expect(201);
        assert_eq!(other["pieces"][0]["start"], "2026-03-02T11:00:00Z");
    });
}
