//! Reschedulings: what would move, asked without any change, and the diary changed to it in one go.

use baywright_core::platform::identity::Role;
use baywright_tests::make::booking::{Floor, floor_menu};
use baywright_tests::make::quote::id;
use baywright_tests::person::Person;
use baywright_tests::{Studio, on_each_engine};
use serde_json::{Value, json};

/// Every row that says who is where when, to see that nothing changed.
fn diary(desk: &Person) -> Value {
    desk.get("/v1/bookings?limit=200").expect(200)["items"].clone()
}

/// Two cars agreed for the only dust-free bay: today until tomorrow morning, and tomorrow until the day after.
fn two_coatings(studio: &Studio) -> (Floor, Person, [Value; 2]) {
    let floor = studio.floor();
    let desk = studio.colleague(Role::Desk);
    let booked = [(); 2].map(|()| desk.book_first(&studio.signed_work(&["coating"])));
    assert_eq!(
        booked.each_ref().map(|booking| booking["start"].as_str().unwrap().to_owned()),
        ["2026-03-02T13:30:00Z", "2026-03-03T13:30:00Z"]
    );
    studio.tick();
    (floor, desk, booked)
}

fn job<'a>(week: &'a Value, booking: &Value) -> &'a Value {
    let jobs = week["jobs"].as_array().unwrap();
    jobs.iter().find(|job| job["booking_id"] == booking["id"]).unwrap_or_else(|| panic!("{week}"))
}

#[test]
fn room_for_one_more_car_is_found_and_what_moves_is_told_without_any_change() {
    on_each_engine(|studio| {
        let (_, desk, booked) = two_coatings(studio);
        let before = diary(&desk);
        let quote = studio.signed_work(&["coating"]);
        // With nothing said about when, it comes last and nothing moves.
        let one = json!({ "quotes": [{ "quote_id": quote }] });
        let found = desk.post("/v1/rescheduling-previews", &one).expect(200);
        let week = &found["week"];
        assert!(week["jobs"].as_array().unwrap().iter().all(|job| job["promise_moves"] == false), "{week}");
        assert_eq!(week["finish"], "2026-03-05T08:15:00Z");
        // By Wednesday noon another one must give way.
        let one = json!({ "quotes": [{ "quote_id": quote, "latest": "2026-03-04T12:00:00Z" }] });
        let found = desk.post("/v1/rescheduling-previews", &one).expect(200);
        let week = &found["week"];
        let moving: Vec<&Value> =
            week["jobs"].as_array().unwrap().iter().filter(|job| job["promise_moves"] == true).collect();
        assert_eq!(moving.len(), 1, "{week}");
        assert_eq!(moving[0]["before"]["start"], booked[1]["start"]);
        assert_eq!(moving[0]["after"]["finish"], "2026-03-05T08:15:00Z");
        assert_eq!((&week["proven"], &week["possible_gain_minutes"]), (&json!(true), &json!(0)));
        // Nobody can be done before the curing is over.
        let never = json!({ "quotes": [{ "quote_id": quote, "latest": "2026-03-02T17:00:00Z" }] });
        let found = desk.post("/v1/rescheduling-previews", &never).expect(200);
        assert_eq!((&found["week"], &found["unplaced_quote_ids"]), (&json!(null), &json!([quote])));
        desk.post("/v1/reschedulings", &never).problem(409, "does-not-fit");
        assert_eq!(diary(&desk), before);
    });
}

#[test]
fn an_accepted_rescheduling_changes_the_diary_at_once_and_tells_those_whose_times_move() {
    on_each_engine(|studio| {
        let (_, desk, booked) = two_coatings(studio);
        let quote = studio.signed_work(&["coating"]);
        let one = json!({ "quotes": [{ "quote_id": quote, "latest": "2026-03-04T12:00:00Z" }] });
        let made = desk.post("/v1/reschedulings", &one).expect(201);
        let path = format!("/v1/reschedulings/{}", id(&made));
        assert_eq!(desk.get(&path).expect(200), made);
        let listed = desk.get("/v1/reschedulings").expect(200)["items"][0].clone();
        assert_eq!(
            (&listed["id"], &listed["state"], &listed["promises_that_move"]),
            (&made["id"], &json!("OPEN"), &json!(1))
        );
        desk.act(&format!("{path}/accept"), "\"1\"", &json!({})).problem(403, "not-allowed");
        studio.stranger().get(&path).problem(404, "not-found");
        studio.tick();
        let mails = studio.mails().len();
        let owner = studio.owner();
        let done = owner.act(&format!("{path}/accept"), "\"1\"", &json!({})).expect(200);
        assert_eq!((&done["state"], &done["version"]), (&json!("ACCEPTED"), &json!(2)));
        let moved = job(&done["week"], &booked[1]);
        let now = desk.get(&format!("/v1/bookings/{}", id(&booked[1]))).expect(200);
        assert_eq!((&now["start"], &now["finish"]), (&moved["after"]["start"], &moved["after"]["finish"]));
        let new = desk.get(&format!("/v1/bookings?quote_id={quote}")).expect(200)["items"][0].clone();
        assert_eq!((&new["state"], &new["finish"]), (&json!("BOOKED"), &json!("2026-03-04T08:15:00Z")));
        studio.tick();
        let kinds: Vec<String> = studio.mails()[mails..].iter().map(|mail| mail.subject.clone()).collect();
        assert_eq!(kinds.len(), 2, "{kinds:?}");
        assert!(kinds.iter().any(|subject| subject.starts_with("Your booking has moved")), "{kinds:?}");
        owner.act(&format!("{path}/accept"), "\"2\"", &json!({})).problem(409, "wrong-state");
        owner.act(&format!("{path}/accept"), "\"1\"", &json!({})).problem(412, "changed-meanwhile");
    });
}

#[test]
fn a_rescheduling_is_refused_whole_once_the_diary_has_changed() {
    on_each_engine(|studio| {
        let (_, desk, booked) = two_coatings(studio);
        let quote = studio.signed_work(&["coating"]);
        let one = json!({ "quotes": [{ "quote_id": quote, "latest": "2026-03-04T12:00:00Z" }] });
        let made = desk.post("/v1/reschedulings", &one).expect(201);
        desk.move_booking(&booked[1], "cancel", &json!({ "reason": "Ill" })).expect(200);
        let before = diary(&desk);
        let accept = format!("/v1/reschedulings/{}/accept", id(&made));
        studio.owner().act(&accept, "\"1\"", &json!({})).problem(409, "rescheduling-outdated");
        assert_eq!(diary(&desk), before);
        // Somebody who takes the same minutes makes it outdated as well.
        let made = desk.post("/v1/reschedulings", &one).expect(201);
        desk.book_first(&studio.signed_work(&["coating"]));
        let accept = format!("/v1/reschedulings/{}/accept", id(&made));
        studio.owner().act(&accept, "\"1\"", &json!({})).problem(409, "rescheduling-outdated");
    });
}

#[test]
fn after_an_absence_the_bookings_it_breaks_are_placed_anew() {
    on_each_engine(|studio| {
        let (floor, desk, booked) = two_coatings(studio);
        let owner = studio.owner();
        owner.away(&floor.polisher, "2026-03-03", "2026-03-04");
        let made = desk.post("/v1/reschedulings", &json!({})).expect(201);
        let moves = job(&made["week"], &booked[1]);
        assert_eq!(
            (&moves["promise_moves"], &moves["after"]["finish"]),
            (&json!(true), &json!("2026-03-05T08:15:00Z"))
        );
        assert_eq!(job(&made["week"], &booked[0])["after"]["finish"], booked[0]["finish"]);
        owner.act(&format!("/v1/reschedulings/{}/accept", id(&made)), "\"1\"", &json!({})).expect(200);
        let again = desk.post("/v1/rescheduling-previews", &json!({})).expect(200);
        assert!(again["week"]["jobs"].as_array().unwrap().iter().all(|job| job["promise_moves"] == false), "{again}");
    });
}

/// A customer brings the car when they were told to, so that nothing can be done to it before (SCHEDULING: week, earliest
/// arrival).
#[test]
fn whoever_was_told_a_time_is_never_moved_to_an_earlier_one() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let (owner, desk) = (studio.owner(), studio.colleague(Role::Desk));
        let quote = studio.signed_work(&["wash"]);
        let booked = desk.place(&quote, &floor.plain, "2026-03-04T09:00:00Z", false).expect(201);
        for person in [&floor.polisher, &floor.helper] {
            owner.away(person, "2026-03-04", "2026-03-05");
        }
        let found = desk.post("/v1/rescheduling-previews", &json!({})).expect(200);
        let after = &job(&found["week"], &booked)["after"];
        // Monday and Tuesday are free for it, and it is late on Thursday at the earliest.
        assert!(after["start"].as_str() >= booked["start"].as_str(), "{after}");
        assert!(after["finish"].as_str().unwrap().starts_with("2026-03-05"), "{after}");
    });
}

#[test]
fn after_an_overrun_the_bay_is_kept_and_the_next_car_moves() {
    on_each_engine(|studio| {
        let (_, desk, booked) = two_coatings(studio);
        let arrived = desk.move_booking(&booked[0], "arrive", &json!({})).expect(200);
        let late = json!({ "booking_id": booked[0]["id"], "finish": "2026-03-03T16:00:00Z" });
        let made = desk.post("/v1/reschedulings", &json!({ "overruns": [late] })).expect(201);
        let next = job(&made["week"], &booked[1]);
        assert!(next["after"]["start"].as_str().unwrap() >= "2026-03-03T16:00:00Z", "{next}");
        assert_eq!((made["week"]["jobs"].as_array().unwrap().len(), &next["promise_moves"]), (1, &json!(true)));
        studio.owner().act(&format!("/v1/reschedulings/{}/accept", id(&made)), "\"1\"", &json!({})).expect(200);
        let stays = desk.get(&format!("/v1/bookings/{}", id(&booked[0]))).expect(200);
        assert_eq!((&stays["state"], &stays["finish"]), (&json!("IN_BAY"), &json!("2026-03-03T16:00:00Z")));
        assert_ne!(stays["version"], arrived["version"]);
        studio.tick();
        let mails = studio.mails_to("aoife.byrne@example.com");
        let subjects: Vec<&str> = mails.iter().map(|mail| mail.subject.as_str()).collect();
        assert!(subjects.contains(&"Your car will be ready later: Tuesday 3 March 2026 at 16:00"), "{subjects:?}");
        for (body, code) in [
            (json!({ "booking_id": booked[1]["id"], "finish": "2026-03-03T16:00:00Z" }), "not_in_bay"),
            (json!({ "booking_id": booked[0]["id"], "finish": "2026-03-02T12:00:00Z" }), "not_later"),
        ] {
            let told =
                desk.post("/v1/rescheduling-previews", &json!({ "overruns": [body] })).problem(422, "invalid-value");
            assert_eq!(told["errors"][0]["code"], code, "{told}");
        }
    });
}

#[test]
fn the_same_time_with_another_colleague_is_a_change_too() {
    on_each_engine(|studio| {
        let (floor, desk, booked) = two_coatings(studio);
        let owner = studio.owner();
        let second = id(&owner.add_technician("Ronan Tierney", &["correction"]));
        owner.away(&floor.polisher, "2026-03-03", "2026-03-04");
        let one = [("idempotency-key", "the-same")];
        let made = desk.json("POST", "/v1/reschedulings", &one, &json!({}));
        let (text, made) = (made.text.clone(), made.expect(201));
        let stays = job(&made["week"], &booked[1]);
        assert_eq!((&stays["before"], &stays["promise_moves"]), (&stays["after"], &json!(false)));
        owner.act(&format!("/v1/reschedulings/{}/accept", id(&made)), "\"1\"", &json!({})).expect(200);
        let now = desk.get(&format!("/v1/bookings/{}", id(&booked[1]))).expect(200);
        let machine = now["pieces"].as_array().unwrap().iter().find(|piece| piece["step"] == "machine").unwrap();
        assert_eq!(machine["person_id"], second.as_str());
        // A repeated request is answered from what was kept, whatever has become of the diary.
        assert_eq!(desk.json("POST", "/v1/reschedulings", &one, &json!({})).text, text);
    });
}

#[test]
fn an_overrun_into_a_place_that_is_held_says_so() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let desk = studio.colleague(Role::Desk);
        let first = desk.book_first(&studio.signed_work(&["coating"]));
        desk.move_booking(&first, "arrive", &json!({})).expect(200);
        desk.place(&studio.signed_work(&["wash"]), &floor.best, "2026-03-03T09:00:00Z", true).expect(201);
        let late = json!({ "booking_id": first["id"], "finish": "2026-03-03T12:00:00Z" });
        for (overruns, code) in [(json!([late]), "bay_taken"), (json!([late, late]), "bay_taken")] {
            let told =
                desk.post("/v1/rescheduling-previews", &json!({ "overruns": overruns })).problem(422, "invalid-value");
            assert_eq!(told["errors"][0]["code"], code, "{told}");
        }
        let short = json!({ "booking_id": first["id"], "finish": "2026-03-03T08:45:00Z" });
        let twice = json!({ "overruns": [short, short] });
        let told = desk.post("/v1/rescheduling-previews", &twice).problem(422, "invalid-value");
        assert_eq!(told["errors"][0]["code"], "twice", "{told}");
        desk.post("/v1/rescheduling-previews", &json!({ "overruns": [short] })).expect(200);
    });
}

/// The customer's calendar says 08:00: a car that has to come at another time was promised something else, also if it is
/// ready as early as before.
#[test]
fn a_start_that_moves_is_a_promise_that_moves_and_the_customers_calendar_hears_of_it() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let (owner, desk) = (studio.owner(), studio.colleague(Role::Desk));
        let quote = studio.signed_work(&["coating"]);
        let booked = desk.place(&quote, &floor.best, "2026-03-03T08:00:00Z", false).expect(201);
        assert_eq!(booked["finish"], "2026-03-04T08:15:00Z");
        let inside = desk.place(&studio.signed_work(&["wash"]), &floor.best, "2026-03-02T08:00:00Z", false).expect(201);
        desk.move_booking(&inside, "arrive", &json!({})).expect(200);
        studio.tick();
        let mails = studio.mails().len();
        let first =
            studio.mails().into_iter().find(|mail| mail.subject.contains("Tuesday 3 March 2026 at 08:00")).unwrap();
        // It stays until 10:00 on Tuesday. The other one is done by Wednesday morning also if it comes at 13:30, which is the
        // latest time that will do: as it has to come at another time anyway, it stands as briefly as it can.
        let late = json!({ "booking_id": inside["id"], "finish": "2026-03-03T10:00:00Z" });
        let made = desk.post("/v1/reschedulings", &json!({ "overruns": [late] })).expect(201);
        let moves = job(&made["week"], &booked);
        assert_eq!(moves["after"]["start"], "2026-03-03T13:30:00Z", "{moves}");
        assert_eq!(moves["after"]["finish"], booked["finish"], "{moves}");
        assert_eq!(moves["promise_moves"], true, "{moves}");
        let why = moves["because"].as_str().unwrap();
        assert!(why.ends_with("stays in Bay 1 until Tue 3 March 2026, 10:00."), "{why}");
        owner.act(&format!("/v1/reschedulings/{}/accept", id(&made)), "\"1\"", &json!({})).expect(200);
        studio.tick();
        let mut new = studio.mails().split_off(mails);
        new.retain(|mail| mail.subject.starts_with("Your booking has moved"));
        let [mail] = &new[..] else { panic!("{new:?}") };
        assert!(mail.subject.ends_with("Tuesday 3 March 2026 at 13:30"), "{}", mail.subject);
        let file = |mail: &baywright_tests::mailbox::Mail| String::from_utf8(mail.attachments[0].2.clone()).unwrap();
        let line = |file: &str, name: &str| {
            file.split("\r\n").find_map(|line| line.strip_prefix(name)).map(str::to_owned).unwrap()
        };
        let (before, after) = (file(&first), file(mail));
        assert_eq!(line(&before, "UID:"), line(&after, "UID:"));
        let number = |file: &str| line(file, "SEQUENCE:").parse::<u64>().unwrap();
        assert!(number(&after) > number(&before), "{after}");
        assert_eq!(line(&after, "DTSTART:"), "20260303T133000Z");
    });
}

/// The car would stand for less if it came later, but its customer brings it when they were told to.
#[test]
fn a_told_start_is_kept_where_the_work_itself_may_begin_later() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let (owner, desk) = (studio.owner(), studio.colleague(Role::Desk));
        let quote = studio.signed_work(&["coating"]);
        let booked = desk.place(&quote, &floor.best, "2026-03-03T08:00:00Z", false).expect(201);
        for person in [&floor.polisher, &floor.helper] {
            let hours = json!({ "from_at": "2026-03-03T08:00:00Z", "until_at": "2026-03-03T10:00:00Z" });
            owner.post(&format!("/v1/people/{person}/absences"), &hours).expect(201);
        }
        let found = desk.post("/v1/rescheduling-previews", &json!({})).expect(200);
        let stays = job(&found["week"], &booked);
        assert_eq!((&stays["after"], &stays["promise_moves"]), (&stays["before"], &json!(false)));
        assert_eq!(stays["steps"][0]["pieces"][0]["start"], "2026-03-03T10:00:00Z");
    });
}

/// What looked like a fault of the search: the other bay is free, but the one who polishes is not.
#[test]
fn an_overrun_says_which_person_it_keeps_from_the_car_in_the_other_bay() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let desk = studio.colleague(Role::Desk);
        let mut menu = floor_menu();
        menu["steps"][0]["name"] = json!("Hand wash");
        studio.owner().publish_menu_with(&menu, &json!({}));
        let inside =
            desk.place(&studio.signed_work(&["polish"]), &floor.best, "2026-03-02T08:00:00Z", false).expect(201);
        // The one who polishes does the inspection too.
        assert_eq!(inside["pieces"][2]["person_id"], json!(floor.polisher));
        let next =
            desk.place(&studio.signed_work(&["polish"]), &floor.plain, "2026-03-03T08:00:00Z", false).expect(201);
        desk.move_booking(&inside, "arrive", &json!({})).expect(200);
        let late = json!({ "booking_id": inside["id"], "finish": "2026-03-05T17:30:00Z" });
        let found = desk.post("/v1/rescheduling-previews", &json!({ "overruns": [late] })).expect(200);
        let moved = job(&found["week"], &next);
        assert_eq!((&moved["promise_moves"], &moved["before"]["bay_id"]), (&json!(true), &json!(floor.plain)));
        let why = moved["because"].as_str().unwrap();
        assert!(why.starts_with("Niall Quirke is planned for Hand wash then, but is busy with "), "{why}");
        assert!(why.ends_with("until Thu 5 March 2026, 17:30."), "{why}");
    });
}

#[test]
fn a_booking_whose_person_is_away_says_so_and_not_that_they_have_other_work() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let (owner, desk) = (studio.owner(), studio.colleague(Role::Desk));
        let booked =
            desk.place(&studio.signed_work(&["polish"]), &floor.best, "2026-03-03T08:00:00Z", false).expect(201);
        let hours = json!({ "from_at": "2026-03-03T08:00:00Z", "until_at": "2026-03-03T18:00:00Z" });
        owner.post(&format!("/v1/people/{}/absences", floor.polisher), &hours).expect(201);
        let found = desk.post("/v1/rescheduling-previews", &json!({})).expect(200);
        let moved = job(&found["week"], &booked);
        let because = "Niall Quirke is away from Tue 3 March 2026, 08:00 to Tue 3 March 2026, 18:00.";
        assert_eq!(moved["because"], because);
    });
}

#[test]
fn a_car_with_several_bookings_keeps_them_and_is_placed_in_no_second_bay_meanwhile() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let owner = studio.owner();
        studio.signed_work(&["wash"]);
        let (_, car) = owner.add_customer_with_car();
        let quotes = owner.signed_quotes(&id(&car), &[&["wash"], &["wash"], &["wash"], &["wash"]], None);
        let one = owner.place(&quotes[0], &floor.best, "2026-03-02T10:00:00Z", false).expect(201);
        let two = owner.place(&quotes[1], &floor.plain, "2026-03-02T12:00:00Z", false).expect(201);
        let ask = |quotes: &[&String]| {
            let quotes: Vec<Value> = quotes.iter().map(|quote| json!({ "quote_id": quote })).collect();
            owner.post("/v1/rescheduling-previews", &json!({ "quotes": quotes }))
        };
        let week = ask(&[&quotes[2]]).expect(200)["week"].clone();
        let unmoved: Vec<&Value> = week["unmoved"].as_array().unwrap().iter().map(|one| &one["booking_id"]).collect();
        assert_eq!(unmoved, [&one["id"], &two["id"]], "{week}");
        let new = &week["jobs"].as_array().unwrap()[0];
        assert_eq!((&new["quote_id"], &new["after"]["start"]), (&json!(quotes[2]), &two["finish"]), "{week}");
        let twice = ask(&[&quotes[2], &quotes[3]]).problem(422, "invalid-value");
        assert_eq!(
            (&twice["errors"][0]["pointer"], &twice["errors"][0]["code"]),
            (&json!("/quotes/1/quote_id"), &json!("same_car"))
        );
    });
}
