//! Cars that change bays: a wash bay first, a room without dust for the coating.

use baywright_core::platform::fail::DbError;
use baywright_core::schema::booking_stay;
use baywright_tests::engine::Engine;
use baywright_tests::make::booking::{drained_menu, drying_menu, floor_menu};
use baywright_tests::make::menu::{service, step, with};
use baywright_tests::make::quote::id;
use baywright_tests::on_each_engine;
use baywright_tests::person::Person;
use baywright_tests::studio::Studio;
use diesel::connection::SimpleConnection;
use diesel::prelude::*;
use serde_json::{Value, json};

use super::{again, job_of};

/// Ids of a bay to wash in and of a room without dust; one of two technicians can polish.
fn wash_bay_and_clean_room(studio: &Studio, menu: &Value) -> (String, String) {
    let owner = studio.owner();
    let bays = (id(&owner.add_bay("Wash bay", &["drain"])), id(&owner.add_bay("Clean room", &["cover", "dust-free"])));
    owner.add_technician("Niall Quirke", &["correction"]);
    owner.add_technician("Orla Shea", &[]);
    owner.publish_menu_with(menu, &json!({}));
    bays
}

fn stay(bay: &str, start: &str, finish: &str) -> Value {
    json!({ "bay_id": bay, "start": format!("2026-03-{start}:00Z"), "finish": format!("2026-03-{finish}:00Z") })
}

/// Makes a move of a step of the booking's job.
fn act(person: &Person, booking: &Value, step: &str, verb: &str) -> baywright_tests::answer::Answer {
    let body = if verb == "finish" { json!({ "used": [] }) } else { json!({}) };
    crate::job::act(person, &job_of(person, booking), step, verb, &body)
}

#[test]
fn a_coating_is_washed_in_one_bay_and_cured_in_another() {
    on_each_engine(|studio| {
        let (wash, clean) = wash_bay_and_clean_room(studio, &drained_menu());
        let owner = studio.owner();
        let quote = studio.signed_work(&["coating"]);
        // Coating ends at 17:25 at the latest, since the studio closes at 17:30; then it cures until the morning.
        let time = owner.times(&quote, 1).remove(0);
        let stays = json!([stay(&wash, "02T13:15", "02T16:15"), stay(&clean, "02T16:15", "03T08:15")]);
        assert_eq!((&time["bay_id"], &time["start"]), (&json!(wash), &json!("2026-03-02T13:15:00Z")));
        assert_eq!(time["stays"], stays);
        // The ten minutes of the move are those of the first step there.
        let coat = json!([{ "start": "2026-03-02T16:15:00Z", "finish": "2026-03-02T17:25:00Z" }]);
        assert_eq!((&time["steps"][2]["code"], &time["steps"][2]["pieces"]), (&json!("coat"), &coat));
        let booked = owner.place(&quote, &wash, "2026-03-02T13:15:00Z", false).expect(201);
        assert_eq!((&booked["stays"], &booked["finish"]), (&stays, &time["finish"]));
        // It may also come in the morning, and is moved there with the coat.
        let to = json!({ "bay_id": wash, "start": "2026-03-02T08:00:00Z" });
        let moved = owner.move_booking(&booked, "move", &to).expect(200);
        let stays = json!([stay(&wash, "02T08:00", "02T11:00"), stay(&clean, "02T11:00", "03T08:15")]);
        assert_eq!((&moved["stays"], &moved["bay_id"]), (&stays, &json!(wash)));
        // Moved to the place that it has, it stays as it is.
        assert_eq!(owner.move_booking(&moved, "move", &to).expect(200), moved);
        // It can't begin where nobody washes.
        let problem = owner.place(&studio.signed_work(&["coating"]), &clean, "2026-03-04T08:00:00Z", false);
        assert_eq!(problem.problem(422, "invalid-value")["errors"][0]["code"], "lacks_feature");
    });
}

#[test]
fn a_bay_that_a_car_leaves_is_free_for_the_next_one() {
    on_each_engine(|studio| {
        let (wash, clean) = wash_bay_and_clean_room(studio, &drained_menu());
        let owner = studio.owner();
        let booked = owner.place(&studio.signed_work(&["coating"]), &wash, "2026-03-02T13:15:00Z", false).expect(201);
        let next = studio.signed_work(&["wash"]);
        let problem = owner.place(&next, &wash, "2026-03-02T16:00:00Z", false).problem(409, "slot-taken");
        assert!(problem["detail"].as_str().unwrap().contains("to Mon 2 March 2026, 16:15"), "{problem}");
        owner.place(&next, &wash, "2026-03-02T16:15:00Z", false).expect(201);
        // The clean room is taken for the night, so the next coating is done a day later.
        let time = owner.times(&studio.signed_work(&["coating"]), 1).remove(0);
        assert_eq!(time["finish"], "2026-03-04T08:15:00Z");
        // Each bay shows the car while it is there.
        let there = |day: &str, bay: &str| -> bool {
            let view = owner.get(&format!("/v1/days/2026-03-{day}")).expect(200);
            let bay = view["bays"].as_array().unwrap().iter().find(|one| one["id"] == bay).unwrap().clone();
            bay["bookings"].as_array().unwrap().iter().any(|one| one["id"] == booked["id"])
        };
        assert!(there("02", &wash) && there("02", &clean) && !there("03", &wash) && there("03", &clean));
        let today = owner.get("/v1/today?date=2026-03-02").expect(200);
        let own = |bay: &str| -> Vec<Value> {
            let bay = today["bays"].as_array().unwrap().iter().find(|one| one["id"] == bay).unwrap();
            let stretches = bay["stretches"].as_array().unwrap().iter();
            stretches.filter(|one| one["booking_id"] == booked["id"]).map(|one| one["start"].clone()).collect()
        };
        assert_eq!(own(&wash), [json!("2026-03-02T13:15:00Z")]);
        assert_eq!(own(&clean)[0], "2026-03-02T16:15:00Z");
        let pieces = today["people"].as_array().unwrap().iter().flat_map(|one| one["pieces"].as_array().unwrap());
        let coat = pieces.filter(|piece| piece["booking_id"] == booked["id"] && piece["step"] == "coat");
        assert_eq!(coat.map(|piece| piece["bay_id"].clone()).collect::<Vec<_>>(), [json!(clean)]);
        // A list of one bay has every car that comes to it.
        let listed = owner.get(&format!("/v1/bookings?bay_id={clean}")).expect(200);
        assert_eq!(listed["items"].as_array().unwrap().len(), 1);
        // The feeds of both bays show its part.
        for (bay, start) in [(&wash, "20260302T131500Z"), (&clean, "20260302T161500Z")] {
            let made = owner.post("/v1/calendar-feeds", &json!({ "bay_id": bay })).expect(200);
            let url = made["url"].as_str().unwrap();
            let file = studio.nobody().get(&url[url.find("/feeds/").unwrap()..]);
            assert!(file.text.contains(&format!("DTSTART:{start}")), "{}", file.text);
        }
        // Rescheduling keeps it as it is, in both bays.
        let week = owner.post("/v1/rescheduling-previews", &json!({})).expect(200)["week"].clone();
        let job = &week["jobs"][0];
        assert_eq!((&week["unmoved"], &job["promise_moves"]), (&json!([]), &json!(false)), "{week}");
        assert_eq!((&job["before"]["stays"], &job["after"]["stays"]), (&booked["stays"], &booked["stays"]), "{week}");
        // A change of either bay is told.
        let bay = owner.get(&format!("/v1/bays/{clean}"));
        let change = json!({ "name": "Clean room", "features": ["cover"], "in_use": true });
        let changed = owner.put(&format!("/v1/bays/{clean}"), &bay.etag(), &change).json();
        let said = changed["warnings"][0]["detail"].as_str().unwrap();
        assert!(said.contains("has no dust-free, which the work needs"), "{said}");
    });
}

#[test]
fn the_car_is_moved_with_the_first_step_in_its_next_bay() {
    on_each_engine(|studio| {
        let (wash, clean) = wash_bay_and_clean_room(studio, &drained_menu());
        let owner = studio.owner();
        let booked = owner.place(&studio.signed_work(&["coating"]), &wash, "2026-03-02T08:00:00Z", false).expect(201);
        let came = owner.move_booking(&booked, "arrive", &json!({})).expect(200);
        let at = || {
            let now = again(&owner, &came);
            (now["bay_id"].as_str().unwrap().to_owned(), now["stands_in_bay"] == true)
        };
        assert_eq!(at(), (wash.clone(), true));
        for step in ["wash", "machine"] {
            act(&owner, &came, step, "start").expect(200);
            act(&owner, &came, step, "finish").expect(200);
        }
        assert_eq!(at(), (wash.clone(), true));
        let job = owner.get("/v1/jobs").expect(200)["items"][0].clone();
        let coat = owner.get(&format!("/v1/jobs/{}/steps/coat", id(&job))).expect(200);
        assert_eq!((&coat["bay_id"], &coat["can_start"]), (&json!(clean), &json!(true)));
        act(&owner, &came, "coat", "start").expect(200);
        assert_eq!(at(), (clean.clone(), true));
        // It was a slip: the car is in the wash bay again.
        act(&owner, &came, "coat", "undo").expect(200);
        assert_eq!(at(), (wash.clone(), true));
        act(&owner, &came, "coat", "start").expect(200);
        act(&owner, &came, "coat", "finish").expect(200);
        // Nothing is done on it, and nobody moves it, while the coat cures.
        act(&owner, &came, "final", "start").problem(409, "still-curing");
        assert_eq!(at(), (clean.clone(), true));
        // Another car is let into the bay that it left.
        studio.pass_minutes(190);
        let owner = studio.owner();
        let next = owner.place(&studio.signed_work(&["wash"]), &wash, "2026-03-02T12:00:00Z", false).expect(201);
        let next = owner.move_booking(&next, "arrive", &json!({})).expect(200);
        assert_eq!((&next["stands_in_bay"], &next["bay_id"]), (&json!(true), &json!(wash)));
    });
}

#[test]
fn no_car_is_moved_while_somebody_is_at_work_on_it_or_into_a_bay_with_another_car() {
    on_each_engine(|studio| {
        let plain = |code: &str, stage: u32, feature: &str| {
            let alone = json!({ "by_size": false, "by_condition": false, "bay_features": [feature] });
            with(step(code, stage, 60, &[]), alone)
        };
        let steps = [plain("wash", 1, "drain"), plain("polish", 2, "dust-free")];
        let services = [
            service("both", 10, &["wash", "polish"], Some([80, 90, 110, 130])),
            service("polish", 20, &["polish"], Some([80, 90, 110, 130])),
        ];
        let menu = json!({ "checkpoints": [], "products": [], "steps": steps, "services": services, "packages": [] });
        let (wash, clean) = wash_bay_and_clean_room(studio, &menu);
        let owner = studio.owner();
        let other = owner.place(&studio.signed_work(&["polish"]), &clean, "2026-03-02T08:00:00Z", false).expect(201);
        owner.move_booking(&other, "arrive", &json!({})).expect(200);
        let booked = owner.place(&studio.signed_work(&["both"]), &wash, "2026-03-02T08:00:00Z", false).expect(201);
        assert_eq!(booked["stays"][1]["start"], "2026-03-02T09:00:00Z");
        let came = owner.move_booking(&booked, "arrive", &json!({})).expect(200);
        act(&owner, &came, "wash", "start").expect(200);
        let colleague = studio.colleague(baywright_core::platform::identity::Role::Desk);
        let problem = act(&colleague, &came, "polish", "start").problem(409, "car-in-work");
        assert!(problem["detail"].as_str().unwrap().contains("wash first"), "{problem}");
        act(&owner, &came, "wash", "finish").expect(200);
        let problem = act(&colleague, &came, "polish", "start").problem(409, "bay-occupied");
        assert!(problem["detail"].as_str().unwrap().starts_with("Clean room is occupied by "), "{problem}");
        assert_eq!(again(&owner, &came)["bay_id"], json!(wash));
    });
}

#[test]
fn a_shop_that_moves_no_cars_hears_what_a_move_would_do() {
    on_each_engine(|studio| {
        let (wash, _) = wash_bay_and_clean_room(studio, &drained_menu());
        let owner = studio.owner();
        assert_eq!(owner.get("/v1/shop").expect(200)["terms"]["max_stays"], 3);
        let quote = studio.signed_work(&["coating"]);
        owner.change_terms(&json!({ "max_stays": 1 }));
        let found = owner.get(&format!("/v1/quotes/{quote}/availability")).expect(200);
        assert_eq!((&found["times"], &found["reasons"][0]["kind"]), (&json!([]), &json!("NO_BAY")));
        let moved = &found["suggestions"][0];
        assert_eq!(
            (&moved["kind"], &moved["visits"][0]["finish"]),
            (&json!("WITH_MOVES"), &json!("2026-03-03T08:15:00Z"))
        );
        assert_eq!(moved["visits"][0]["stays"].as_array().unwrap().len(), 2);
        let problem = owner.place(&quote, &wash, "2026-03-02T13:15:00Z", false).problem(422, "invalid-value");
        assert_eq!(problem["errors"][0]["code"], "lacks_feature");
        // A move takes as long as the shop says.
        owner.change_terms(&json!({ "max_stays": 2, "move_minutes": 30 }));
        let time = owner.times(&quote, 1).remove(0);
        assert_eq!(
            (&time["start"], &time["stays"][1]["start"]),
            (&json!("2026-03-02T13:00:00Z"), &json!("2026-03-02T16:00:00Z"))
        );
    });
}

#[test]
fn a_move_that_no_work_needs_is_made_only_if_somebody_allows_it() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let owner = studio.owner();
        let mut menu = floor_menu();
        menu["steps"][1]["bay_features"] = json!(["dust-free"]);
        owner.publish_menu_with(&menu, &json!({}));
        owner.place(&studio.signed_work(&["wash"]), &floor.best, "2026-03-02T08:00:00Z", false).expect(201);
        let quote = studio.signed_work(&["polish"]);
        let by = format!("/v1/quotes/{quote}/availability?count=1&by=2026-03-02T12:00:00Z");
        // The only bay without dust is free at 9:15, and the work takes three hours and a quarter.
        let found = owner.get(&by).expect(200);
        assert_eq!(found["times"][0]["finish"], "2026-03-02T12:30:00Z");
        let kinds: Vec<&Value> = found["suggestions"].as_array().unwrap().iter().map(|one| &one["kind"]).collect();
        assert_eq!(kinds[..2], [&json!("LATER"), &json!("WITH_MOVES")]);
        let allowed = owner.get(&format!("{by}&may_move=true")).expect(200);
        let time = &allowed["times"][0];
        assert_eq!((&time["start"], &time["finish"]), (&json!("2026-03-02T08:15:00Z"), &json!("2026-03-02T11:40:00Z")));
        assert_eq!(*time, found["suggestions"][1]["visits"][0]);
        owner.place(&quote, &floor.plain, "2026-03-02T08:15:00Z", false).problem(422, "invalid-value");
        let body = json!({
            "quote_id": quote, "bay_id": floor.plain, "start": time["start"], "hold": false, "note": "", "may_move": true
        });
        let booked = owner.post("/v1/bookings", &body).expect(201);
        assert_eq!(booked["stays"], time["stays"]);
    });
}

#[test]
fn the_order_in_which_the_work_is_done_soonest_is_booked_and_followed() {
    on_each_engine(|studio| {
        studio.floor();
        let owner = studio.owner();
        owner.publish_menu_with(&drying_menu("AFTER"), &json!({ "outside_inside_minutes": 10 }));
        let quote = studio.signed_work(&["valet"]);
        // The plan's own order has the least changeover, and is done three hours later than with polishing in between.
        let plan = owner.get(&format!("/v1/quotes/{quote}/plan")).expect(200);
        assert_eq!(plan["work"]["steps"][1]["code"], "trim");
        let time = owner.times(&quote, 1).remove(0);
        assert_eq!((&time["start"], &time["finish"]), (&json!("2026-03-02T08:00:00Z"), &json!("2026-03-02T13:30:00Z")));
        let codes = |steps: &Value, name: &str| -> Vec<String> {
            steps.as_array().unwrap().iter().map(|step| step[name].as_str().unwrap().to_owned()).collect()
        };
        let soonest = ["extract", "polish", "trim"];
        assert_eq!(codes(&time["steps"], "code"), soonest);
        let bay = time["bay_id"].as_str().unwrap();
        let booked = owner.place(&quote, bay, "2026-03-02T08:00:00Z", false).expect(201);
        assert_eq!(
            (&booked["finish"], codes(&booked["pieces"], "step")),
            (&time["finish"], soonest.map(str::to_owned).to_vec())
        );
        let to = json!({ "bay_id": bay, "start": "2026-03-02T08:00:00Z" });
        assert_eq!(owner.move_booking(&booked, "move", &to).expect(200), booked);
        let week = owner.post("/v1/rescheduling-previews", &json!({})).expect(200)["week"].clone();
        let job = &week["jobs"][0];
        assert_eq!(
            (&job["promise_moves"], codes(&job["steps"], "code")),
            (&json!(false), soonest.map(str::to_owned).to_vec())
        );
        owner.move_booking(&booked, "arrive", &json!({})).expect(200);
        let job = owner.get("/v1/jobs").expect(200)["items"][0].clone();
        let job = owner.get(&format!("/v1/jobs/{}", id(&job))).expect(200);
        assert_eq!(codes(&job["steps"], "code"), soonest);
    });
}

#[test]
fn a_car_that_changes_bays_is_rescheduled_with_the_others() {
    on_each_engine(|studio| {
        let (wash, clean) = wash_bay_and_clean_room(studio, &drained_menu());
        let owner = studio.owner();
        let quote = studio.signed_work(&["coating"]);
        let booked = owner.place(&quote, &wash, "2026-03-02T13:15:00Z", false).expect(201);
        assert_eq!(booked["stays"].as_array().unwrap().len(), 2);
        // Nobody is there on that day.
        let people = owner.get("/v1/people").expect(200)["items"].clone();
        let works = |person: &&Value| person["name"] == "Niall Quirke" || person["name"] == "Orla Shea";
        for person in people.as_array().unwrap().iter().filter(works) {
            owner.away(&id(person), "2026-03-02", "2026-03-03");
        }
        let made = owner.post("/v1/reschedulings", &json!({})).expect(201);
        let job = &made["week"]["jobs"][0];
        assert_eq!((&job["promise_moves"], &made["week"]["unmoved"]), (&json!(true), &json!([])), "{made}");
        let stays = job["after"]["stays"].as_array().unwrap();
        let bays: Vec<&Value> = stays.iter().map(|stay| &stay["bay_id"]).collect();
        assert_eq!((bays, &stays[0]["finish"]), (vec![&json!(wash), &json!(clean)], &stays[1]["start"]), "{made}");
        owner.act(&format!("/v1/reschedulings/{}/accept", id(&made)), "\"1\"", &json!({})).expect(200);
        let now = owner.get(&format!("/v1/bookings/{}", id(&booked))).expect(200);
        assert_eq!((&now["stays"], &now["start"]), (&job["after"]["stays"], &job["after"]["start"]));
        // A quote without a booking gets its bays too.
        let quote = studio.signed_work(&["coating"]);
        let made = owner.post("/v1/reschedulings", &json!({ "quotes": [{ "quote_id": quote }] })).expect(201);
        owner.act(&format!("/v1/reschedulings/{}/accept", id(&made)), "\"1\"", &json!({})).expect(200);
        let new = owner.get(&format!("/v1/bookings?quote_id={quote}")).expect(200)["items"][0].clone();
        let new = owner.get(&format!("/v1/bookings/{}", id(&new))).expect(200);
        assert_eq!(new["stays"].as_array().unwrap().len(), 2, "{new}");
    });
}

/// The last guard is the database, for whoever comes at the same moment.
#[test]
fn the_database_keeps_each_stay_apart() {
    on_each_engine(|studio| {
        let (wash, clean) = wash_bay_and_clean_room(studio, &drained_menu());
        let owner = studio.owner();
        let one = owner.place(&studio.signed_work(&["coating"]), &wash, "2026-03-02T13:15:00Z", false).expect(201);
        let two = owner.place(&studio.signed_work(&["wash"]), &wash, "2026-03-02T16:15:00Z", false).expect(201);
        let run = |sql: String| {
            let done =
                studio.try_in_shop(studio.shop(), |tx| Ok(tx.conn.batch_execute(&sql).map_err(DbError::from)?));
            done.map_err(|fail| format!("{fail:?}"))
        };
        let of = |booking: &Value| format!("booking_id = '{}'", id(booking));
        // A minute sooner in the wash bay, or for the night in the clean room.
        let sooner = format!("UPDATE booking_stay SET starts = starts - 1 WHERE {}", of(&two));
        assert!(run(sooner).unwrap_err().contains("overlap"));
        let other = format!("UPDATE booking_stay SET bay_id = '{clean}' WHERE {}", of(&two));
        assert!(run(other).unwrap_err().contains("overlap"));
        // The car is never in two bays at once either.
        let both = format!("UPDATE booking_stay SET starts = starts - 1 WHERE {} AND ordinal = 1", of(&one));
        assert!(run(both).unwrap_err().contains("overlap"));
        let stale = format!("UPDATE booking_stay SET hold_until = 1 WHERE {}", of(&one));
        assert!(run(stale).unwrap_err().contains("a stay is for the car of its place"));
        // What is called off frees every bay.
        owner.move_booking(&one, "cancel", &json!({ "reason": "Another week" })).expect(200);
        let again = owner.times(&studio.signed_work(&["coating"]), 1).remove(0);
        assert_eq!(again["finish"], "2026-03-03T08:15:00Z");
    });
}

#[test]
fn bookings_from_before_have_one_stay_each() {
    const SQLITE: [&str; 2] = [
        include_str!("../../../migrations/sqlite/2026-11-30-35_booking_stays/down.sql"),
        include_str!("../../../migrations/sqlite/2026-11-30-35_booking_stays/up.sql"),
    ];
    const POSTGRES: [&str; 2] = [
        include_str!("../../../migrations/postgres/2026-11-30-35_booking_stays/down.sql"),
        include_str!("../../../migrations/postgres/2026-11-30-35_booking_stays/up.sql"),
    ];
    on_each_engine(|studio| {
        let floor = studio.floor();
        let owner = studio.owner();
        let booked = owner.book_first(&studio.signed_work(&["coating"]));
        let held = owner.place(&studio.signed_work(&["wash"]), &floor.plain, "2026-03-02T12:00:00Z", true).expect(201);
        let gone = owner.book_first(&studio.signed_work(&["wash"]));
        owner.move_booking(&gone, "cancel", &json!({ "reason": "Another week" })).expect(200);
        type Row = (String, i32, String, i64, i64, bool, Option<i64>, Option<String>);
        let rows = || -> Vec<Row> {
            let all = studio.try_in_shop(studio.shop(), |tx| {
                Ok(booking_stay::table
                    .order(booking_stay::booking_id.asc())
                    .select((
                        booking_stay::booking_id,
                        booking_stay::ordinal,
                        booking_stay::bay_id,
                        booking_stay::starts,
                        booking_stay::finishes,
                        booking_stay::live,
                        booking_stay::hold_until,
                        booking_stay::vehicle_id,
                    ))
                    .load::<Row>(tx.conn)
                    .map_err(DbError::from)?)
            });
            all.unwrap()
        };
        let before = rows();
        assert_eq!(before.iter().filter(|row| row.5).count(), 2);
        let ways = match studio.engine {
            Engine::Sqlite => SQLITE,
            Engine::Postgres => POSTGRES,
        };
        for way in ways {
            studio
                .try_in_shop(studio.shop(), |tx| Ok(tx.conn.batch_execute(way).map_err(DbError::from)?))
                .unwrap_or_else(|fail| panic!("{fail:?}"));
        }
        assert_eq!(rows(), before);
        for booking in [&booked, &held] {
            assert_eq!(again(&owner, booking), *booking);
        }
        let taken = owner.place(&studio.signed_work(&["wash"]), &floor.plain, "2026-03-02T12:00:00Z", false);
        taken.problem(409, "slot-taken");
    });
}
