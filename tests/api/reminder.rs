//! Reminders: once each, on the shop's days, by mail where the customer agreed, and else by the desk.

use baywright_core::platform::db::Scope;
use baywright_core::platform::fail::DbError;
use baywright_core::platform::identity::Role;
use baywright_tests::{Studio, on_each_engine};
use diesel::{RunQueryDsl, sql_query};
use serde_json::{Value, json};

/// Minutes of a day.
const DAY: i64 = 24 * 60;

/// The subjects of the mails of that kind that were written, the first one first.
fn mailed(studio: &Studio, kind: &str) -> Vec<String> {
    let list = studio.owner().get("/v1/messages?limit=200").expect(200);
    let mut all: Vec<&Value> = list["items"].as_array().unwrap().iter().filter(|m| m["kind"] == kind).collect();
    all.reverse();
    all.into_iter().map(|message| message["subject"].as_str().unwrap().to_owned()).collect()
}

fn reminders(studio: &Studio, query: &str) -> Vec<Value> {
    let list = studio.owner().get(&format!("/v1/reminders?{query}")).expect(200);
    list["items"].as_array().unwrap().clone()
}

#[test]
fn the_customer_is_reminded_the_day_before_the_booking_once() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let quote = studio.signed_work(&["wash"]);
        let booking = studio.owner().place(&quote, &floor.best, "2026-03-04T12:00:00Z", false).expect(201);
        studio.tick();
        assert_eq!(mailed(studio, "booking.reminder"), Vec::<String>::new());
        studio.pass_minutes(DAY);
        for _ in 0..3 {
            studio.tick();
            studio.pass_minutes(60);
        }
        assert_eq!(mailed(studio, "booking.reminder"), ["Reminder: your booking on Wednesday 4 March 2026 at 12:00"]);
        let given = reminders(studio, "kind=BEFORE_BOOKING");
        assert_eq!(given.len(), 1);
        assert_eq!((&given[0]["about_id"], &given[0]["way"]), (&booking["id"], &json!("MAIL")));
        assert_eq!((&given[0]["occasion"], &given[0]["given_on"]), (&json!("2026-03-04"), &json!("2026-03-03")));
        let mails = studio.mails_to("aoife.byrne@example.com");
        let mail = mails.iter().find(|mail| mail.subject.starts_with("Reminder: your booking")).unwrap();
        assert!(mail.text.contains("231-D-10101") && mail.html.contains("valuables"), "{}", mail.text);
        assert_eq!(mail.attachments[0].0, "booking.ics");
    });
}

#[test]
fn a_booking_that_moved_is_announced_again_and_one_that_was_cancelled_is_not() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let (one, other) = (studio.signed_work(&["wash"]), studio.signed_work(&["wash"]));
        let booking = studio.owner().place(&one, &floor.best, "2026-03-03T12:00:00Z", false).expect(201);
        let gone = studio.owner().place(&other, &floor.plain, "2026-03-03T12:00:00Z", false).expect(201);
        studio.owner().move_booking(&gone, "cancel", &json!({ "reason": "Ill" })).expect(200);
        studio.tick();
        let there = json!({ "bay_id": floor.best, "start": "2026-03-05T14:00:00Z" });
        studio.owner().move_booking(&booking, "move", &there).expect(200);
        for _ in 0..4 {
            studio.pass_minutes(DAY);
            studio.tick();
        }
        assert_eq!(
            mailed(studio, "booking.reminder"),
            [
                "Reminder: your booking on Tuesday 3 March 2026 at 12:00",
                "Reminder: your booking on Thursday 5 March 2026 at 14:00"
            ]
        );
    });
}

#[test]
fn who_did_not_agree_to_mail_is_left_to_the_desk() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let owner = studio.owner();
        let quote = studio.signed_work(&["wash"]);
        let booking = owner.place(&quote, &floor.best, "2026-03-03T12:00:00Z", false).expect(201);
        let path = format!("/v1/customers/{}", booking["customer_id"].as_str().unwrap());
        let etag = owner.get(&path).etag();
        let silent = json!({ "name": "Aoife Byrne", "emails": ["aoife.byrne@example.com"] });
        owner.put(&path, &etag, &silent).expect(200);
        studio.tick();
        studio.pass_minutes(30);
        studio.tick();
        assert_eq!(mailed(studio, "booking.reminder"), Vec::<String>::new());
        let given = reminders(studio, "way=DESK");
        assert_eq!(given.len(), 1, "{given:?}");
        assert_eq!((&given[0]["message_id"], &given[0]["customer_id"]), (&Value::Null, &booking["customer_id"]));
        assert_eq!(reminders(studio, "way=MAIL"), Vec::<Value>::new());
    });
}

#[test]
fn a_booking_whose_time_no_longer_fits_its_work_is_left_to_the_desk() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let owner = studio.owner();
        let quote = studio.signed_work(&["wash"]);
        let booking = owner.place(&quote, &floor.best, "2026-03-03T12:00:00Z", false).expect(201);
        let path = format!("/v1/quotes/{quote}");
        let now = owner.get(&path).expect(200);
        let open = owner.move_quote(&now, "revisions", &json!({})).expect(200);
        let draft = json!({ "condition": "FAIR", "lines": [{ "item": { "service": "polish" } }] });
        let open = owner.put(&format!("{path}/draft"), &format!("\"{}\"", open["version"]), &draft).expect(200);
        let sent = owner.move_quote(&open, "send", &json!({ "by_mail": false })).expect(200);
        owner.note_yes(&sent, &[]).expect(200);
        let booking = owner.get(&format!("/v1/bookings/{}", booking["id"].as_str().unwrap())).expect(200);
        assert_eq!(booking["fits"], false);
        studio.tick();
        studio.pass_minutes(30);
        studio.tick();
        assert_eq!(mailed(studio, "booking.reminder"), Vec::<String>::new());
        let given = reminders(studio, "kind=BEFORE_BOOKING");
        assert_eq!(given.len(), 1, "{given:?}");
        assert_eq!((&given[0]["about_id"], &given[0]["way"]), (&booking["id"], &json!("DESK")));
    });
}

#[test]
fn a_quote_about_to_lapse_is_remembered_once_with_a_fresh_link() {
    on_each_engine(|studio| {
        let open = studio.sent_quote("aoife@example.com", &["decontamination"], &[]);
        studio.signed_quote("brendan@example.com", &["decontamination"], &[], &[]);
        // Sent on the 2nd for 14 days: it is valid through the 16th. Two days before that is a Saturday, on which the shop is
        // closed, so the customer hears of it on the Friday.
        let mut days = Vec::new();
        for day in 3..=20 {
            studio.pass_minutes(DAY);
            let before = mailed(studio, "quote.reminder").len();
            studio.tick();
            studio.pass_minutes(20);
            studio.tick();
            studio.pass_minutes(-20);
            if mailed(studio, "quote.reminder").len() > before {
                days.push(day);
            }
        }
        assert_eq!(days, [13]);
        assert_eq!(mailed(studio, "quote.reminder"), ["Quote Q-2026-0001 is valid until Monday 16 March 2026"]);
        let mails = studio.mails_to("aoife@example.com");
        let mail = mails.iter().find(|mail| mail.subject.contains("is valid until")).unwrap();
        assert!(mail.text.contains("EUR 175.00") && mail.html.contains("EUR 175.00"), "{}", mail.text);
        let link = mail.link(&format!("{}/q/", studio.base)).unwrap();
        assert!(!link.ends_with(&open.token));
        let given = reminders(studio, "kind=BEFORE_LAPSE");
        assert_eq!((&given[0]["about_id"], &given[0]["occasion"]), (&json!(open.id), &json!("1")));
    });
}

#[test]
fn a_quote_that_was_sent_anew_is_remembered_anew() {
    on_each_engine(|studio| {
        studio.owner().change_terms(&json!({ "quote_days": 2 }));
        let quote = studio.sent_quote("aoife@example.com", &["decontamination"], &[]);
        studio.tick();
        assert_eq!(mailed(studio, "quote.reminder").len(), 1);
        let owner = studio.owner();
        let revised = owner.move_quote(&quote.view, "revisions", &json!({})).json();
        owner.move_quote(&revised, "send", &json!({})).expect(200);
        studio.pass_minutes(20);
        studio.tick();
        studio.tick();
        let occasions: Vec<Value> = reminders(studio, "").into_iter().map(|r| r["occasion"].clone()).collect();
        assert_eq!(occasions, ["2", "1"]);
    });
}

#[test]
fn an_overdue_invoice_brings_three_letters_with_days_between_and_no_fourth() {
    on_each_engine(|studio| {
        let customer = studio.owner().add_customer("Aoife Byrne");
        let invoice = studio.issued_invoice(&customer, &[(10_000, 23)]);
        studio.owner().pay(&customer, "40.00", &[&invoice]);
        // Due on the 16th: letters 7, 21 and 35 days after that, by the usual settings.
        let mut days = Vec::new();
        for day in 1..=60 {
            studio.pass_minutes(DAY);
            let before = mailed(studio, "invoice.reminder").len();
            studio.tick();
            if mailed(studio, "invoice.reminder").len() > before {
                days.push(day);
            }
        }
        assert_eq!(days, [21, 35, 49]);
        let subjects = mailed(studio, "invoice.reminder");
        assert_eq!(
            subjects,
            [
                "Reminder of invoice INV-2026-0001",
                "Second reminder of invoice INV-2026-0001",
                "Last reminder of invoice INV-2026-0001"
            ]
        );
        let mails = studio.mails_to("aoife.byrne@example.com");
        let first = mails.iter().find(|mail| mail.subject == subjects[0]).unwrap();
        for said in
            ["EUR 60.00", "EUR 40.00", "Monday 16 March 2026", "RF", "You may have missed invoice INV-2026-0001"]
        {
            assert!(first.text.contains(said) && first.html.contains(said), "{said}: {}", first.text);
        }
        let query = format!("kind=OVERDUE&customer_id={}", customer["id"].as_str().unwrap());
        let occasions: Vec<Value> = reminders(studio, &query).into_iter().map(|r| r["occasion"].clone()).collect();
        assert_eq!(occasions, ["3", "2", "1"]);
    });
}

#[test]
fn the_days_are_the_shops_and_what_is_paid_brings_no_letter() {
    on_each_engine(|studio| {
        studio.owner().change_terms(&json!({ "payment_days": 0, "first_letter_days": 2 }));
        let customer = studio.owner().add_customer("Aoife Byrne");
        let paid = studio.issued_invoice(&customer, &[(10_000, 23)]);
        let open = studio.issued_invoice(&customer, &[(20_000, 23)]);
        studio.owner().pay(&customer, "100.00", &[&paid]);
        studio.pass_minutes(DAY);
        studio.tick();
        assert_eq!(reminders(studio, "").len(), 0);
        studio.pass_minutes(DAY);
        studio.tick();
        let given = reminders(studio, "");
        assert_eq!(given.iter().map(|r| &r["about_id"]).collect::<Vec<_>>(), [&open["id"]]);
    });
}

/// Moves the clock by `days` days hour by hour; returns the times at which mails of that kind were written.
fn moments(studio: &Studio, days: i64, kind: &str) -> Vec<String> {
    for _ in 0..days * 24 {
        studio.pass_minutes(60);
        studio.tick();
    }
    let list = studio.owner().get("/v1/messages?limit=200&sort=created_at").expect(200);
    let of_kind = list["items"].as_array().unwrap().iter().filter(|message| message["kind"] == kind);
    of_kind.map(|message| message["created_at"].as_str().unwrap().to_owned()).collect()
}

#[test]
fn a_reminder_of_a_monday_goes_out_when_the_shop_opens_on_the_friday_before() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let quote = studio.signed_work(&["wash"]);
        studio.owner().place(&quote, &floor.best, "2026-03-09T12:00:00Z", false).expect(201);
        assert_eq!(moments(studio, 7, "booking.reminder"), ["2026-03-06T08:00:00Z"]);
    });
}

#[test]
fn an_overdue_letter_waits_for_the_next_open_hours_over_weekends_and_closures() {
    on_each_engine(|studio| {
        // Due on Wednesday the 4th, so the first letter is due on Saturday the 7th; the shop is closed on the 9th too.
        studio.owner().change_terms(&json!({ "payment_days": 2, "first_letter_days": 3 }));
        studio.owner().close(None, "2026-03-09", "2026-03-10");
        let customer = studio.owner().add_customer("Aoife Byrne");
        studio.issued_invoice(&customer, &[(10_000, 23)]);
        studio.pass_minutes(2 * DAY);
        assert_eq!(moments(studio, 7, "invoice.reminder"), ["2026-03-10T08:00:00Z"]);
    });
}

#[test]
fn two_programs_at_once_give_one_reminder() {
    on_each_engine(|studio| {
        let customer = studio.owner().add_customer("Aoife Byrne");
        for _ in 0..5 {
            studio.issued_invoice(&customer, &[(10_000, 23)]);
        }
        studio.pass_minutes(21 * DAY);
        let programs: Vec<_> = (0..4).map(|_| studio.replica()).collect();
        std::thread::scope(|scope| {
            for program in &programs {
                scope.spawn(|| program.turn(&|| false));
            }
        });
        assert_eq!(mailed(studio, "invoice.reminder").len(), 5);
        assert_eq!(reminders(studio, "kind=OVERDUE").len(), 5);
        let subjects =
            studio.mails().into_iter().filter(|mail| mail.subject.starts_with("Reminder of invoice")).count();
        assert_eq!(subjects, 5);
    });
}

#[test]
fn the_database_itself_refuses_a_second_reminder_of_one_occasion() {
    on_each_engine(|studio| {
        let customer = studio.owner().add_customer("Aoife Byrne");
        studio.issued_invoice(&customer, &[(10_000, 23)]);
        studio.pass_minutes(21 * DAY);
        studio.tick();
        let again = "INSERT INTO reminder SELECT 'x', shop_id, kind, subject_kind, subject_id, occasion, customer_id, way, \
                     message_id, sent_on, created_at FROM reminder";
        let done = studio.db.write(Scope::Program, |conn| {
            sql_query(again).execute(conn).map_err(DbError::from)?;
            Ok(())
        });
        assert!(done.is_err_and(|fail| matches!(fail, baywright_core::platform::fail::Fail::Db(e) if e.is_taken())));
    });
}

#[test]
fn reminders_are_for_the_desk_of_their_own_shop() {
    on_each_engine(|studio| {
        let customer = studio.owner().add_customer("Aoife Byrne");
        studio.issued_invoice(&customer, &[(10_000, 23)]);
        studio.pass_minutes(21 * DAY);
        studio.tick();
        assert_eq!(studio.stranger().get("/v1/reminders").expect(200)["items"], json!([]));
        assert_eq!(
            studio.colleague(Role::Desk).get("/v1/reminders").expect(200)["items"].as_array().map(Vec::len),
            Some(1)
        );
        for role in [Role::Technician, Role::Accountant] {
            studio.colleague(role).get("/v1/reminders").problem(403, "not-allowed");
        }
        studio.owner().get("/v1/reminders?kind=NEVER").problem(400, "invalid-query");
    });
}
