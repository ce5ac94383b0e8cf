//! What becomes of timed work when somebody sets the machine's clock.

use baywright_tests::make::quote::{draft, id};
use baywright_tests::person::Person;
use baywright_tests::{Studio, on_each_engine};
use serde_json::json;

const DAY: i64 = 24 * 60;

fn log(studio: &Studio, action: &str) -> usize {
    studio.every_row().iter().filter(|(table, row)| table == "record" && row.contains(&format!("\"{action}\""))).count()
}

/// A quote that is with its customer, and a booking that is held; gives the paths of both.
fn offered(studio: &Studio) -> [String; 2] {
    let owner = studio.owner();
    if owner.get("/v1/bays").expect(200)["items"] == json!([]) {
        studio.floor();
    }
    let signed = studio.signed_work(&["wash"]);
    let times = owner.times(&signed, 1);
    let (bay, start) = (times[0]["bay_id"].as_str().unwrap(), times[0]["start"].as_str().unwrap());
    let booking = owner.place(&signed, bay, start, true).expect(201);
    [format!("/v1/quotes/{}", sent(&owner)), format!("/v1/bookings/{}", id(&booking))]
}

/// The id of a quote that was mailed to its customer.
fn sent(owner: &Person) -> String {
    let email = format!("aoife-{}@example.com", &baywright_core::platform::ids::new::<String>()[24..]);
    let (_, vehicle, inspection) = owner.add_inspected_car("Aoife Byrne", &email);
    let quote = owner.write_quote(&id(&vehicle), &draft(&id(&inspection), &["wash"], &[])).expect(201);
    id(&owner.move_quote(&quote, "send", &json!({})).expect(200))
}

#[test]
fn a_clock_that_jumps_ahead_for_a_moment_throws_nothing_away() {
    on_each_engine(|studio| {
        let [quote, booking] = offered(studio);
        let owner = studio.owner();
        let key = [("idempotency-key", "before-the-jump")];
        let add = |name: &str| studio.owner().json("POST", "/v1/customers", &key, &json!({ "name": name }));
        assert_eq!(add("A").status, 201);
        studio.tick();
        let before = (owner.get(&quote).expect(200), owner.get(&booking).expect(200), studio.every_row().len());
        let now = studio.clock.now();
        studio.clock.jump(now.plus_minutes(400 * DAY));
        for _ in 0..35 {
            studio.clock.set(studio.clock.now().plus_ms(2000));
            studio.tick();
        }
        studio.clock.jump(now.plus_ms(70_000));
        studio.tick();
        assert_eq!((log(studio, "quote.lapsed"), log(studio, "booking.lapsed")), (0, 0));
        let after = (owner.get(&quote).expect(200), owner.get(&booking).expect(200), studio.every_row().len());
        assert_eq!(after, before);
        add("B").problem(422, "idempotency-key-reused");
    });
}

#[test]
fn a_new_time_that_stays_counts_after_a_second_look() {
    on_each_engine(|studio| {
        offered(studio);
        studio.tick();
        studio.clock.jump(studio.clock.now().plus_minutes(400 * DAY));
        studio.tick();
        studio.pass_minutes(9);
        studio.tick();
        assert_eq!((log(studio, "quote.lapsed"), log(studio, "booking.lapsed")), (0, 0));
        studio.pass_minutes(2);
        studio.tick();
        assert_eq!((log(studio, "quote.lapsed"), log(studio, "booking.lapsed")), (1, 1));
    });
}

#[test]
fn jobs_go_on_after_the_clock_was_ahead_and_came_back_also_in_a_program_that_starts_then() {
    on_each_engine(|studio| {
        for (turn, restarted) in [(1, false), (2, true)] {
            studio.tick();
            let now = studio.clock.now();
            studio.clock.jump(now.plus_minutes(400 * DAY));
            studio.tick();
            studio.pass_minutes(11);
            // All jobs run by the wrong time, and say so in the database.
            studio.tick();
            studio.clock.jump(now.plus_minutes(12));
            offered(studio);
            studio.pass_minutes(30 * DAY);
            if restarted {
                studio.replica().turn(&|| false);
            } else {
                studio.tick();
            }
            assert_eq!((log(studio, "quote.lapsed"), log(studio, "booking.lapsed")), (turn, turn));
        }
    });
}

#[test]
fn a_program_that_starts_by_a_wrong_clock_waits_before_it_throws_anything_away() {
    on_each_engine(|studio| {
        offered(studio);
        studio.tick();
        studio.clock.jump(studio.clock.now().plus_minutes(400 * DAY));
        let restarted = studio.replica();
        restarted.turn(&|| false);
        studio.pass_minutes(9);
        restarted.turn(&|| false);
        assert_eq!((log(studio, "quote.lapsed"), log(studio, "booking.lapsed")), (0, 0));
        studio.pass_minutes(2);
        restarted.turn(&|| false);
        assert_eq!((log(studio, "quote.lapsed"), log(studio, "booking.lapsed")), (1, 1));
    });
}

#[test]
fn a_mail_of_a_time_that_never_came_goes_out_at_once() {
    on_each_engine(|studio| {
        offered(studio);
        studio.tick();
        let now = studio.clock.now();
        studio.clock.jump(now.plus_minutes(400 * DAY));
        sent(&studio.owner());
        studio.clock.jump(now.plus_minutes(1));
        studio.tick();
        let waiting =
            studio.every_row().into_iter().filter(|(table, row)| table == "message" && !row.contains("\"SENT\""));
        assert_eq!(waiting.count(), 0);
    });
}
