//! Mails: written with what they tell about, sent once, in order, kept when they fail.

use std::collections::HashSet;

use baywright_core::mail::outbox::{Attachment, NewMail, send};
use baywright_core::message::usecase::{Outcome, Parcel, settle, take};
use baywright_core::platform::fail::Fail;
use baywright_core::platform::identity::Role;
use baywright_core::platform::refusal::Refused;
use baywright_core::platform::{clock_run, record};
use baywright_tests::{Studio, on_each_engine};
use serde_json::json;

fn mail(to: &str, subject: &str) -> NewMail {
    NewMail {
        kind: "test.notice",
        to_name: "Aoife Byrne".into(),
        to_email: to.into(),
        subject: subject.into(),
        text: "Good morning.\n".into(),
        html: "<p>Good morning.</p>".into(),
        attachments: Vec::new(),
        about: ("test", "1".into()),
    }
}

pub(crate) fn write(studio: &Studio, to: &str, subject: &str) -> String {
    studio.in_shop(studio.shop(), |tx| send(tx, mail(to, subject))).to_string()
}

fn next(studio: &Studio) -> Option<Parcel> {
    studio.in_shop(studio.shop(), take)
}

fn note(studio: &Studio, parcel: &Parcel, outcome: &Outcome) {
    studio.in_shop(studio.shop(), |tx| settle(tx, parcel, outcome));
}

fn later() -> Outcome {
    Outcome::Later("451 try again".into())
}

#[test]
fn a_mail_waits_goes_out_and_is_read_at_the_desk() {
    on_each_engine(|studio| {
        let desk = studio.colleague(Role::Desk);
        let ics =
            Attachment { name: "booking.ics".into(), media_type: "text/calendar".into(), bytes: b"BEGIN".to_vec() };
        let mut new = mail("aoife@example.com", "Your booking – Tuesday");
        new.attachments.push(ics);
        let id = studio.in_shop(studio.shop(), |tx| send(tx, new.clone())).to_string();
        let path = format!("/v1/messages/{id}");
        let waiting = desk.get("/v1/messages?state=QUEUED").expect(200);
        assert_eq!((&waiting["items"][0]["id"], &waiting["items"][0]["tries"]), (&json!(id), &json!(0)));
        assert_eq!(studio.mails(), []);
        studio.tick();
        studio.tick();
        assert_eq!(desk.get("/v1/messages?state=QUEUED").expect(200)["items"], json!([]));
        let sent = desk.get(&path).expect(200);
        assert_eq!((&sent["state"], &sent["sent_at"]), (&json!("SENT"), &json!("2026-03-02T08:00:00Z")));
        assert_eq!(
            (&sent["text"], &sent["attachments"][0]["name"]),
            (&json!("Good morning.\n"), &json!("booking.ics"))
        );
        let mails = studio.mails_to("aoife@example.com");
        assert_eq!(mails.len(), 1);
        let arrived = &mails[0];
        assert_eq!((arrived.subject.as_str(), arrived.text.trim()), ("Your booking – Tuesday", "Good morning."));
        assert!(arrived.html.contains("<p>Good morning.</p>"));
        assert_eq!(arrived.attachments, [("booking.ics".into(), "text/calendar".into(), b"BEGIN".to_vec())]);
        assert_eq!(arrived.header("auto-submitted"), "auto-generated");
        assert_eq!(arrived.header("message-id"), sent["header_id"]);
        // The owner's address is the shop's until it is given another; answers go there.
        assert_eq!(arrived.header("reply-to"), "\"Test Studio\" <owner@example.com>");
        assert_eq!(arrived.header("from"), "\"Test Studio\" <studio@baywright.example>");
    });
}

#[test]
fn a_change_that_was_rolled_back_sends_nothing() {
    on_each_engine(|studio| {
        let done = studio.try_in_shop(studio.shop(), |tx| {
            send(tx, mail("aoife@example.com", "Never"))?;
            Err::<(), Fail>(Refused::not_found("thing").into())
        });
        assert!(done.is_err());
        studio.tick();
        assert_eq!(studio.mails(), []);
        assert_eq!(studio.owner().get("/v1/messages").expect(200)["items"], json!([]));
    });
}

#[test]
fn one_persons_mails_go_in_order_and_hold_up_nobody_else() {
    on_each_engine(|studio| {
        let first = write(studio, "aoife@example.com", "1");
        let second = write(studio, "AOIFE@example.com", "2");
        let other = write(studio, "brian@example.com", "3");
        let parcel = next(studio).unwrap();
        assert_eq!(parcel.message.id.as_str(), first);
        // The first is under way, so the second waits and the other goes.
        let parcel_of_other = next(studio).unwrap();
        assert_eq!(parcel_of_other.message.id.as_str(), other);
        assert!(next(studio).is_none());
        note(studio, &parcel, &later());
        note(studio, &parcel_of_other, &Outcome::Sent);
        assert!(next(studio).is_none());
        studio.pass_minutes(1);
        let again = next(studio).unwrap();
        assert_eq!((again.message.id.as_str(), again.message.tries), (first.as_str(), 2));
        note(studio, &again, &Outcome::Sent);
        assert_eq!(next(studio).unwrap().message.id.as_str(), second);
    });
}

#[test]
fn a_lease_that_ran_out_is_taken_again_under_the_same_message_id() {
    on_each_engine(|studio| {
        write(studio, "aoife@example.com", "1");
        let lost = next(studio).unwrap();
        // A try waits for some ten answers of the server, up to half a minute for each, and writes the mail.
        studio.pass_minutes(9);
        assert!(next(studio).is_none());
        studio.pass_minutes(2);
        let again = next(studio).unwrap();
        assert_eq!(again.message.header_id, lost.message.header_id);
        // Who lost the lease no longer has a say.
        note(studio, &lost, &Outcome::Refused("550 no".into()));
        let path = format!("/v1/messages/{}", again.message.id);
        assert_eq!(studio.owner().get(&path).expect(200)["state"], "SENDING");
        note(studio, &again, &Outcome::Sent);
        assert_eq!(studio.owner().get(&path).expect(200)["state"], "SENT");
    });
}

#[test]
fn what_keeps_failing_is_given_up_kept_and_sent_again_when_asked() {
    on_each_engine(|studio| {
        let path = format!("/v1/messages/{}", write(studio, "aoife@example.com", "1"));
        let again = format!("{path}/send-again");
        let mut tries = 0;
        while let Some(parcel) = next(studio) {
            tries += 1;
            note(studio, &parcel, &later());
            studio.pass_minutes(360);
        }
        assert_eq!(tries, 12);
        let desk = studio.colleague(Role::Desk);
        let failed = desk.get(&path);
        let etag = failed.etag();
        let failed = failed.expect(200);
        assert_eq!((&failed["state"], &failed["trouble"]), (&json!("FAILED"), &json!("451 try again")));
        desk.act(&again, "\"1\"", &json!({})).problem(412, "changed-meanwhile");
        studio.stranger().act(&again, &etag, &json!({})).problem(404, "not-found");
        studio.colleague(Role::Technician).act(&again, &etag, &json!({})).problem(403, "not-allowed");
        let queued = desk.act(&again, &etag, &json!({})).expect(200);
        assert_eq!((&queued["state"], &queued["tries"]), (&json!("QUEUED"), &json!(0)));
        studio.tick();
        assert_eq!(studio.mails().len(), 1);
        let etag = desk.get(&path).etag();
        desk.act(&again, &etag, &json!({})).problem(409, "wrong-state");
        // A refusal for good is not tried again.
        let path = format!("/v1/messages/{}", write(studio, "brian@example.com", "2"));
        note(studio, &next(studio).unwrap(), &Outcome::Refused("550 no such mailbox".into()));
        assert_eq!(desk.get(&path).expect(200)["state"], "FAILED");
    });
}

#[test]
fn a_mail_that_failed_goes_to_another_address_when_the_desk_says_so() {
    on_each_engine(|studio| {
        let desk = studio.colleague(Role::Desk);
        let path = format!("/v1/messages/{}", write(studio, "aoife@exmaple.example", "1"));
        note(studio, &next(studio).unwrap(), &Outcome::Refused("550 no such mailbox".into()));
        write(studio, "brian@example.com", "2");
        let failed = desk.get("/v1/messages?state=FAILED").expect(200);
        assert_eq!(failed["items"].as_array().map(Vec::len), Some(1));
        assert_eq!(
            (&failed["items"][0]["trouble"], &failed["items"][0]["tries"]),
            (&json!("550 no such mailbox"), &json!(1))
        );
        let (again, etag) = (format!("{path}/send-again"), desk.get(&path).etag());
        let bad = desk.act(&again, &etag, &json!({ "to_email": "aoife" })).problem(400, "invalid-body");
        assert_eq!(bad["errors"][0]["pointer"], "/to_email");
        let queued = desk.act(&again, &etag, &json!({ "to_email": "Aoife@example.com" })).expect(200);
        assert_eq!((&queued["state"], &queued["to_email"]), (&json!("QUEUED"), &json!("Aoife@example.com")));
        studio.tick();
        let arrived = studio.mails_to("Aoife@example.com");
        assert_eq!(arrived.len(), 1);
        assert_eq!(arrived[0].header("message-id"), desk.get(&path).expect(200)["header_id"]);
        assert_eq!(studio.mails_to("aoife@exmaple.example"), []);
    });
}

#[test]
fn mails_are_found_by_what_they_tell_about() {
    on_each_engine(|studio| {
        let about = "0198c0de-0000-7000-8000-000000000001";
        let one = studio.in_shop(studio.shop(), |tx| {
            send(tx, NewMail { about: ("quote", about.into()), ..mail("aoife@example.com", "1") })
        });
        write(studio, "aoife@example.com", "2");
        let found = studio.owner().get(&format!("/v1/messages?about_id={about}")).expect(200);
        let ids: Vec<_> = found["items"].as_array().unwrap().iter().map(|item| item["id"].clone()).collect();
        assert_eq!(ids, [json!(one.as_str())]);
    });
}

#[test]
fn another_shop_and_another_role_see_no_mail() {
    on_each_engine(|studio| {
        let path = format!("/v1/messages/{}", write(studio, "aoife@example.com", "1"));
        studio.stranger().get(&path).problem(404, "not-found");
        assert_eq!(studio.stranger().get("/v1/messages").expect(200)["items"], json!([]));
        for role in [Role::Technician, Role::Accountant] {
            studio.colleague(role).get(&path).problem(403, "not-allowed");
        }
        studio.owner().get("/v1/messages?state=LOST").problem(400, "invalid-query");
    });
}

#[test]
fn an_address_that_is_none_is_refused() {
    on_each_engine(|studio| {
        for address in ["", "aoife", "aoife@example.com\r\nBcc: all@example.com", "a@example.com,b@example.com"] {
            let refused = studio.try_in_shop(studio.shop(), |tx| send(tx, mail(address, "1")));
            assert!(matches!(refused, Err(Fail::Refused(p)) if p.code() == "no-mail-address"), "{address:?}");
        }
    });
}

#[test]
fn takers_at_once_share_the_mails_and_none_is_taken_twice() {
    on_each_engine(|studio| {
        for number in 0..40 {
            write(studio, &format!("c{number}@example.com"), "1");
        }
        let taken: Vec<String> = std::thread::scope(|scope| {
            let takers: Vec<_> = (0..4)
                .map(|_| {
                    scope.spawn(|| {
                        let mut mine = Vec::new();
                        while let Some(parcel) = next(studio) {
                            mine.push(parcel.message.id.to_string());
                        }
                        mine
                    })
                })
                .collect();
            takers.into_iter().flat_map(|taker| taker.join().unwrap()).collect()
        });
        assert_eq!((taken.len(), taken.iter().collect::<HashSet<_>>().len()), (40, 40));
    });
}

#[test]
fn a_job_runs_once_in_a_period_however_many_replicas_ask() {
    on_each_engine(|studio| {
        let run = |period: i64| {
            std::thread::scope(|scope| {
                let asked: Vec<_> = (0..6)
                    .map(|_| {
                        scope.spawn(move || {
                            studio.in_shop(studio.shop(), |tx| {
                                let mine = clock_run::take(tx, "test.job", period, 1)?;
                                if mine {
                                    record::write(tx, "test.ran", ("test", "1"), json!({}))?;
                                }
                                Ok(mine)
                            })
                        })
                    })
                    .collect();
                asked.into_iter().map(|thread| thread.join().unwrap()).filter(|mine| *mine).count()
            })
        };
        assert_eq!([run(7), run(7), run(8), run(6)], [1, 0, 1, 0]);
    });
}

#[test]
fn a_job_that_failed_is_run_again_in_the_same_period() {
    on_each_engine(|studio| {
        let failed = studio.try_in_shop(studio.shop(), |tx| {
            assert!(clock_run::take(tx, "test.job", 1, 1)?);
            Err::<(), Fail>(Fail::unexpected("no"))
        });
        assert!(failed.is_err());
        assert!(studio.in_shop(studio.shop(), |tx| Ok(clock_run::take(tx, "test.job", 1, 1)?)));
    });
}

#[test]
fn old_idempotency_keys_are_forgotten_by_the_clock() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let key = [("idempotency-key", "once")];
        let add = |name: &str| owner.json("POST", "/v1/customers", &key, &json!({ "name": name }));
        assert_eq!(add("A").status, 201);
        studio.tick();
        add("B").problem(422, "idempotency-key-reused");
        studio.pass_minutes(25 * 60);
        studio.tick();
        let owner = studio.owner();
        assert_eq!(owner.json("POST", "/v1/customers", &key, &json!({ "name": "B" })).status, 201);
    });
}
