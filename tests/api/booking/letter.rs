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
        assert_eq!(mail.subject, "Your booking: Mon 2 March 2026, 12:00");
        // By its budgets the work is done at 8:15; four jobs of five take no more than 45 minutes longer.
        assert_eq!(
            (&booking["finish"], &booking["promised"]),
            (&json!("2026-03-03T08:15:00Z"), &json!("2026-03-03T09:00:00Z"))
        );
        for said in ["Mon 2 March 2026, 12:00", "Tue 3 March 2026, 09:00", "EUR 50.00", "Hello Aoife Byrne,"] {
            assert!(mail.text.contains(said) && mail.html.contains(said), "{said}: {}", mail.text);
        }
        let (name, media_type, bytes) = &mail.attachments[0];
        assert_eq!((name.as_str(), media_type.as_str()), ("booking.ics", "text/calendar"));
        let file = String::from_utf8(bytes.clone()).unwrap();
        let id = booking["id"].as_str().unwrap();
        for line in [&format!("UID:{id}"), "DTSTART:20260302T120000Z", "DTEND:20260303T090000Z", "STATUS:CONFIRMED"] {
            assert!(file.split("\r\n").any(|found| found == line), "{line}: {file}");
        }
    });
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
        assert_eq!(last.subject, "Your booking of Tue 3 March 2026, 14:00 is cancelled");
        assert!(String::from_utf8_lossy(&last.attachments[0].2).contains("STATUS:CANCELLED"));
        assert!(!last.text.contains("Another week"), "{}", last.text);
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
