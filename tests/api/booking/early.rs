//! Cars that come before their time.

use baywright::platform::identity::Role;
use baywright_tests::on_each_engine;
use serde_json::json;

/// A car is taken in, though it comes on another day than it was booked for.
const ANOTHER_DAY: &str = "arrive?confirm=arrival-on-another-day";

#[test]
fn a_car_that_comes_early_has_its_bay_from_then_on() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let desk = studio.colleague(Role::Desk);
        let booked = desk.place(&studio.signed_work(&["wash"]), &floor.best, "2026-03-03T13:00:00Z", false).expect(201);
        let came = desk.move_booking(&booked, ANOTHER_DAY, &json!({})).expect(200);
        assert!(came["start"].as_str().unwrap() < "2026-03-03T00:00:00Z", "{came}");
        assert_eq!((&came["finish"], &came["promised"]), (&booked["finish"], &booked["promised"]));
        let taken = desk.place(&studio.signed_work(&["wash"]), &floor.best, "2026-03-03T08:00:00Z", false);
        taken.problem(409, "slot-taken");
    });
}

#[test]
fn a_car_that_comes_while_its_bay_is_anothers_waits_for_its_time() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let desk = studio.colleague(Role::Desk);
        let place = |start: &str| desk.place(&studio.signed_work(&["wash"]), &floor.best, start, false).expect(201);
        let (booked, between) = (place("2026-03-03T13:00:00Z"), place("2026-03-03T08:00:00Z"));
        let came = desk.move_booking(&booked, ANOTHER_DAY, &json!({})).expect(200);
        assert_eq!((&came["state"], &came["start"]), (&json!("IN_BAY"), &booked["start"]));
        // Whoever overruns into it is told which car is in the way, and that it can't be moved any more.
        let first = desk.move_booking(&between, ANOTHER_DAY, &json!({})).expect(200);
        let late = json!({ "booking_id": first["id"], "finish": "2026-03-03T14:00:00Z" });
        let told = desk.post("/v1/proposal-previews", &json!({ "overruns": [late] })).problem(422, "invalid-value");
        let said = told["errors"][0]["detail"].as_str().unwrap();
        assert!(said.contains("which is already here. Hand that car over first"), "{said}");
    });
}

#[test]
fn a_car_that_comes_early_does_not_take_the_bay_from_one_that_is_still_in_it() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let desk = || studio.colleague(Role::Desk);
        let place = |start: &str| desk().place(&studio.signed_work(&["wash"]), &floor.best, start, false).expect(201);
        let (first, next) = (place("2026-03-03T08:00:00Z"), place("2026-03-03T14:00:00Z"));
        desk().move_booking(&first, ANOTHER_DAY, &json!({})).expect(200);
        // The first one's time is over, and the next one's has not come.
        studio.pass_minutes(26 * 60);
        desk().move_booking(&next, "arrive", &json!({})).problem(409, "bay-occupied");
        let now = desk().get(&format!("/v1/bookings/{}", next["id"].as_str().unwrap())).expect(200);
        assert_eq!((&now["state"], &now["start"]), (&json!("BOOKED"), &next["start"]));
    });
}
