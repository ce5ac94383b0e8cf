//! What the customer is told of their booking by mail.

use baywright_tests::on_each_engine;
use baywright_tests::studio::Studio;
use serde_json::json;

/// Kinds of the mails about a booking, in order.
fn kinds(studio: &Studio) -> Vec<String> {
    let mut kinds: Vec<(String, String)> = Vec::new();
    for message in studio.owner().get("/v1/messages?limit=200").expect(200)["items"].as_array().unwrap() {
        let kind = message["kind"].as_str().unwrap().to_owned();
        if kind.starts_with("booking.") {
            kinds.push((message["id"].as_str().unwrap().to_owned(), kind));
        }
    }
    kinds.sort();
    kinds.into_iter().map(|(_, kind)| kind).collect()
}

#[test]
fn a_booking_is_confirmed_by_mail_with_a_file_for_the_calendar() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let owner = studio.owner();
        let quote = studio.signed_work_with(&["coating"], Some("50.00"));
        let booking = owner.place(&quote, &floor.best, "2026-03-02T12:00:00Z", false).expect(201);
        studio.tick();
        let mails = studio.mails_to("aoife.byrne@example.com");
        let mail = mails.iter().find(|mail| mail.subject.starts_with("Your booking")).unwrap();
        assert_eq!(mail.subject, "Your booking: Monday 2 March 2026 at 12:00");
        // By its budgets the work is done at 8:15; four jobs of five take no more than 45 minutes longer.
        assert_eq!(
            (&booking["finish"], &booking["promised"]),
            (&json!("2026-03-03T08:15:00Z"), &json!("2026-03-03T09:00:00Z"))
        );
        for said in [
            "Hello Aoife Byrne,",
            "Your time is booked. We look forward to seeing your Corrigan Estate 2.0.",
            "Bring the car: Monday 2 March 2026 at 12:00",
            "Ready by: Tuesday 3 March 2026 at 09:00",
            "Deposit to pay: EUR 50.00",
        ] {
            assert!(mail.text.lines().any(|line| line.starts_with(said)), "{said}: {}", mail.text);
            assert!(mail.html.contains(said.rsplit(": ").next().unwrap()), "{said}: {}", mail.html);
        }
    });
}

#[test]
fn the_calendar_file_has_one_event_to_bring_the_car_and_one_to_collect_it() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let owner = studio.owner();
        owner.introduce_studio();
        let quote = studio.signed_work(&["coating"]);
        let booking = owner.place(&quote, &floor.best, "2026-03-02T12:00:00Z", false).expect(201);
        let id = booking["id"].as_str().unwrap();
        let (kind, file) = files(studio).remove(0);
        assert_eq!(kind, "text/calendar; method=PUBLISH");
        let [bring, collect] = &events(&file)[..] else { panic!("{file}") };
        has(
            bring,
            &[
                &format!("UID:{id}"),
                "DTSTART:20260302T120000Z",
                "DTEND:20260302T121500Z",
                "SUMMARY:Bring your car to Test Studio",
                "STATUS:CONFIRMED",
                "TRIGGER:-PT120M",
            ],
        );
        has(
            collect,
            &[
                &format!("UID:{id}-collect"),
                "DTSTART:20260303T090000Z",
                "DTEND:20260303T091500Z",
                "SUMMARY:Collect your car from Test Studio",
                "STATUS:CONFIRMED",
                "TRIGGER:-PT60M",
            ],
        );
        for event in [bring, collect] {
            has(
                event,
                &[
                    &format!("SEQUENCE:{}", booking["version"]),
                    "ORGANIZER;CN=\"Test Studio\":mailto:hello@teststudio.example",
                    "LOCATION:1 Test Quay\\, D02 X285 Dublin",
                    "CONTACT:Test Studio: call +353 20 910 0199 or write to hello@teststudio.example",
                ],
            );
            let said = event.iter().find(|line| line.starts_with("DESCRIPTION:")).unwrap();
            assert!(said.contains("231-D-10101") && said.contains("call +353 20 910 0199"), "{said}");
        }
    });
}

#[test]
fn a_moved_booking_updates_its_events_and_a_cancelled_one_takes_them_back_one_file_each() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let owner = studio.owner();
        let quote = studio.signed_work(&["wash"]);
        let booked = owner.place(&quote, &floor.best, "2026-03-02T12:00:00Z", false).expect(201);
        let there = json!({ "bay_id": floor.plain, "start": "2026-03-03T14:00:00Z" });
        let moved = owner.move_booking(&booked, "move", &there).expect(200);
        let ended = owner.move_booking(&moved, "cancel", &json!({ "reason": "Another week" })).expect(200);
        let all = files(studio);
        let kinds: Vec<&str> = all.iter().map(|(kind, _)| kind.as_str()).collect();
        let [publish, cancel] = ["PUBLISH", "CANCEL"].map(|method| format!("text/calendar; method={method}"));
        assert_eq!(kinds, [&publish, &publish, &cancel, &cancel]);
        let uids = |file: &str| -> Vec<String> { events(file).iter().map(|event| value(event, "UID")).collect() };
        let sequence = |file: &str| -> i64 { value(&events(file)[0], "SEQUENCE").parse().unwrap() };
        let [first, second, bring, collect] = [0, 1, 2, 3].map(|at: usize| all[at].1.clone());
        assert_eq!(uids(&first), uids(&second));
        assert_eq!([uids(&bring), uids(&collect)].concat(), uids(&first));
        assert!(sequence(&first) < sequence(&second) && sequence(&second) < sequence(&bring), "{first}{second}{bring}");
        assert_eq!((sequence(&bring), sequence(&collect)), (ended["version"].as_i64().unwrap(), sequence(&bring)));
        has(&events(&second)[0], &["DTSTART:20260303T140000Z"]);
        for file in [&bring, &collect] {
            assert!(file.contains("METHOD:CANCEL\r\n") && !file.contains("VALARM"), "{file}");
            has(&events(file)[0], &["STATUS:CANCELLED", "ORGANIZER;CN=\"Test Studio\":mailto:owner@example.com"]);
        }
    });
}

/// Media type and text of every calendar file that was mailed, unfolded (RFC 5545, 3.1), the first one first.
fn files(studio: &Studio) -> Vec<(String, String)> {
    studio.tick();
    let attachments = studio.mails().into_iter().flat_map(|mail| mail.attachments);
    let calendars = attachments.filter(|(_, kind, _)| kind.starts_with("text/calendar"));
    calendars.map(|(_, kind, bytes)| (kind, String::from_utf8(bytes).unwrap().replace("\r\n ", ""))).collect()
}

/// The events of a calendar file, line by line.
fn events(file: &str) -> Vec<Vec<String>> {
    let each = file.split("BEGIN:VEVENT\r\n").skip(1);
    each.map(|event| event.split("END:VEVENT").next().unwrap().lines().map(str::to_owned).collect()).collect()
}

fn value(event: &[String], name: &str) -> String {
    let found = event.iter().find_map(|line| line.strip_prefix(name)?.strip_prefix(':'));
    found.unwrap_or_else(|| panic!("{name}: {event:?}")).to_owned()
}

#[track_caller]
fn has(event: &[String], lines: &[&str]) {
    for line in lines {
        assert!(event.iter().any(|found| found == line), "{line}: {event:#?}");
    }
}

#[test]
fn the_customer_hears_of_what_is_agreed_moved_and_called_off_and_of_no_hold() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let owner = studio.owner();
        let quote = studio.signed_work(&["wash"]);
        let held = owner.place(&quote, &floor.best, "2026-03-02T12:00:00Z", true).expect(201);
        let there = |start: &str| json!({ "bay_id": floor.plain, "start": start });
        let held = owner.move_booking(&held, "move", &there("2026-03-02T14:00:00Z")).expect(200);
        assert_eq!(kinds(studio), Vec::<String>::new());
        let booked = owner.move_booking(&held, "book", &json!({})).expect(200);
        let moved = owner.move_booking(&booked, "move", &there("2026-03-03T14:00:00Z")).expect(200);
        owner.move_booking(&moved, "cancel", &json!({ "reason": "Another week" })).expect(200);
        assert_eq!(kinds(studio), ["booking.booked", "booking.moved", "booking.cancelled"]);
        studio.tick();
        let last = studio.mails().pop().unwrap();
        assert_eq!(last.subject, "Your booking on Tuesday 3 March 2026 at 14:00 is cancelled");
        assert!(!last.text.contains("Another week"), "{}", last.text);
    });
}

#[test]
fn a_move_that_changes_no_time_that_the_customer_knows_is_not_mailed() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let owner = studio.owner();
        let quote = studio.signed_work(&["wash"]);
        let booked = owner.place(&quote, &floor.best, "2026-03-02T12:00:00Z", false).expect(201);
        let to = |bay: &str, start: &str| json!({ "bay_id": bay, "start": start });
        let same = owner.move_booking(&booked, "move", &to(&floor.best, "2026-03-02T12:00:00Z")).expect(200);
        assert_eq!(same, booked);
        // Which bay it is the customer was never told.
        let moved = owner.move_booking(&same, "move", &to(&floor.plain, "2026-03-02T12:00:00Z")).expect(200);
        assert_eq!((&moved["bay_id"], &moved["promised"]), (&json!(floor.plain), &booked["promised"]));
        assert_eq!(kinds(studio), ["booking.booked"]);
        owner.move_booking(&moved, "move", &to(&floor.plain, "2026-03-02T12:15:00Z")).expect(200);
        assert_eq!(kinds(studio), ["booking.booked", "booking.moved"]);
    });
}

#[test]
fn nothing_is_mailed_where_the_booking_was_refused_or_repeated_or_nobody_has_an_address() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let owner = studio.owner();
        let (one, two) = (studio.signed_work(&["wash"]), studio.signed_work(&["wash"]));
        let start = "2026-03-02T12:00:00Z";
        let body = json!({ "quote_id": one, "bay_id": floor.best, "start": start, "hold": false, "note": "" });
        let key = [("idempotency-key", "once")];
        owner.json("POST", "/v1/bookings", &key, &body).expect(201);
        owner.json("POST", "/v1/bookings", &key, &body).expect(201);
        owner.place(&two, &floor.best, start, false).problem(409, "slot-taken");
        assert_eq!(kinds(studio), ["booking.booked"]);
        // A customer without an address is called.
        let booking = owner.place(&two, &floor.plain, start, false).expect(201);
        let path = format!("/v1/customers/{}", booking["customer_id"].as_str().unwrap());
        let etag = owner.get(&path).etag();
        owner.put(&path, &etag, &json!({ "name": "Aoife Byrne", "emails": [] })).expect(200);
        owner.move_booking(&booking, "cancel", &json!({ "reason": "Called" })).expect(200);
        assert_eq!(kinds(studio), ["booking.booked", "booking.booked"]);
    });
}
