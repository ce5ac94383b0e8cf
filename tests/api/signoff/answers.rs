//! Whoever can't sign any more is told why, in a page that says how to go on.

use baywright_core::platform::clock::UtcTime;
use baywright_tests::answer::Answer;
use baywright_tests::on_each_engine;
use baywright_tests::visitor::changed;
use serde_json::json;

const MAIL: &str = "aoife.byrne@example.com";

/// The address of a test's studio.
const DESK: &str = "owner@example.com";

#[track_caller]
fn says(answer: &Answer, status: u16, heading: &str) {
    assert_eq!(answer.status, status, "{}", answer.text);
    assert!(answer.header("content-type").starts_with("text/html"), "{:?}", answer.headers);
    assert!(answer.text.contains(heading), "{heading}: {}", answer.text);
}

#[test]
fn a_second_tap_signs_nothing_and_shows_what_was_signed() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let sent = studio.sent_quote(MAIL, &["decontamination"], &["coating"]);
        let visitor = studio.visitor(&sent.token);
        let form = visitor.form(&[1], "Aoife Byrne");
        assert_eq!(visitor.post("/accept", &form, &[]).status, 303);
        let signed = owner.get(&format!("/v1/quotes/{}", sent.id)).expect(200);
        let again = changed(&form, "name", "Somebody Else");
        let answer = visitor.post("/accept", &again, &[]);
        says(&answer, 409, "has already been accepted");
        assert!(answer.text.contains("You do not need to do anything") && answer.text.contains("Aoife Byrne"));
        says(&visitor.post("/decline", &again, &[]), 409, "has already been accepted");
        for page in ["", "/done", "/check", "/decline"] {
            says(&visitor.get(page), 200, "</span> is accepted");
        }
        assert_eq!(owner.get(&format!("/v1/quotes/{}", sent.id)).expect(200), signed);
    });
}

#[test]
fn a_stale_revision_is_not_signed() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let sent = studio.sent_quote(MAIL, &["decontamination"], &[]);
        let old = studio.visitor(&sent.token);
        let form = old.form(&[], "Aoife Byrne");
        let revised = owner.move_quote(&sent.view, "revisions", &json!({})).expect(200);
        // While the new one is being written, the old one may still be signed; once it is sent, no more.
        says(&old.get(""), 200, "Quote Q-2026-0001");
        owner.move_quote(&revised, "send", &json!({})).expect(200);
        let answer = old.post("/accept", &form, &[]);
        says(&answer, 409, "There is a newer version of quote Q-2026-0001");
        assert!(answer.text.contains("What you had entered") && answer.text.contains("Aoife Byrne"));
        says(&old.get(""), 409, "There is a newer version");
        says(&old.get("/decline"), 409, "There is a newer version");
        let new = studio.visitor(&studio.token_mailed_to(MAIL));
        assert_eq!(new.accept(&[], "Aoife Byrne").status, 303);
    });
}

#[test]
fn a_lapsed_a_withdrawn_and_an_ended_offer_say_so() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let (one, other) = (
            studio.sent_quote(MAIL, &["decontamination"], &[]),
            studio.sent_quote("niamh@example.com", &["interior"], &[]),
        );
        let (late, gone) = (studio.visitor(&one.token), studio.visitor(&other.token));
        let (form, other_form) = (late.form(&[], "Aoife Byrne"), gone.form(&[], "Niamh Daly"));
        owner.move_quote(&other.view, "withdraw", &json!({})).expect(200);
        says(&gone.get(""), 410, "Quote Q-2026-0002 was withdrawn");
        says(&gone.post("/accept", &other_form, &[]), 410, "was withdrawn");
        studio.clock.set(UtcTime::parse("2026-03-17T00:00:00Z").unwrap());
        let answer = late.post("/accept", &form, &[]);
        says(&answer, 410, "Quote Q-2026-0001 is no longer valid");
        assert!(answer.text.contains("It was valid until Monday 16 March 2026"), "{}", answer.text);
        says(&late.get(""), 410, "is no longer valid");
        says(&late.decline("Too late"), 403, "This form can");
        // Thirty days later the link itself has ended.
        studio.clock.set(UtcTime::parse("2026-04-16T00:00:00Z").unwrap());
        says(&late.get(""), 410, "This link is no longer valid");
        says(&late.post("/accept", &form, &[]), 410, "This link is no longer valid");
    });
}

#[test]
fn another_document_and_a_choice_that_is_not_offered_are_not_signed() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let sent = studio.sent_quote(MAIL, &["decontamination"], &["polish-one-step", "correction-two-step"]);
        let visitor = studio.visitor(&sent.token);
        let form = visitor.form(&[1], "Aoife Byrne");
        let answer = visitor.post("/accept", &changed(&form, "digest", &"0".repeat(64)), &[]);
        says(&answer, 409, "The quote has changed since you opened it");
        for take in ["2", "7", "x", "-1"] {
            let mut more = form.clone();
            more.push(("take".to_owned(), take.to_owned()));
            says(&visitor.post("/accept", &more, &[]), 409, "The quote has changed since you opened it");
        }
        // What is wrong with a choice stands where its price would, for the script as well as without one.
        for page in ["?take=1&take=2", "/check?take=1&take=2"] {
            let answer = visitor.get(page);
            says(&answer, 422, "exclude each other");
            let (_, price) = answer.text.split_once("id=\"totals\"").unwrap();
            assert!(price.split("</section>").next().unwrap().contains("exclude each other"), "{price}");
            assert!(!answer.text.contains("Tick at least one option"), "{}", answer.text);
        }
        says(&visitor.get("/check?take=9"), 422, "no line 10");
        let view = owner.get(&format!("/v1/quotes/{}", sent.id)).expect(200);
        assert_eq!(view, sent.view);
        assert_eq!(visitor.post("/accept", &form, &[]).status, 303);
    });
}

#[test]
fn everything_missing_is_said_at_once_and_nothing_typed_is_lost() {
    on_each_engine(|studio| {
        let sent = studio.sent_quote(MAIL, &["decontamination"], &[]);
        let visitor = studio.visitor(&sent.token);
        let form = visitor.form(&[], "Aoife Byrne");
        let empty = changed(&changed(&changed(&form, "name", ""), "intent", ""), "early_start", "");
        let answer = visitor.try_accept(&empty);
        says(&answer, 422, "<title>Error: Check quote Q-2026-0001");
        for field in ["#name", "#intent", "#early-start-yes"] {
            assert!(answer.text.contains(&format!("href=\"{field}\"")), "{field}: {}", answer.text);
        }
        let answer = visitor.try_accept(&changed(&form, "intent", ""));
        says(&answer, 422, "value=\"Aoife Byrne\"");
        assert!(answer.text.contains("value=\"yes\" checked"), "the wish stays ticked: {}", answer.text);
        let answer = visitor.try_accept(&changed(&form, "strokes", "[[[1,99999]]]"));
        says(&answer, 422, "#drawing");
        let answer = visitor.try_accept(&changed(&form, "name", &"A".repeat(201)));
        says(&answer, 422, "at most 200 characters");
        assert_eq!(visitor.post("/accept", &form, &[]).status, 303);
    });
}

#[test]
fn a_no_with_its_reason_reaches_the_studio() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let sent = studio.sent_quote(MAIL, &["decontamination"], &[]);
        let visitor = studio.visitor(&sent.token);
        let form = visitor.form(&[], "Aoife Byrne");
        says(&visitor.decline(&"x".repeat(1001)), 422, "at most 1,000 characters");
        let answer = visitor.decline("The car was sold.");
        assert_eq!((answer.status, answer.header("location")), (303, visitor.path.as_str()));
        says(&visitor.get(""), 200, "Quote Q-2026-0001 was declined");
        says(&visitor.post("/accept", &form, &[]), 409, "was declined");
        let view = owner.get(&format!("/v1/quotes/{}", sent.id)).expect(200);
        assert_eq!(
            (&view["latest"]["state"], &view["latest"]["reason"]),
            (&json!("DECLINED"), &json!("The car was sold."))
        );
    });
}

#[test]
fn a_variation_is_read_and_answered_on_the_same_page() {
    on_each_engine(|studio| {
        studio.floor();
        let owner = studio.owner();
        let quote = studio.signed_work(&["wash"]);
        let booking = owner.book_first(&quote);
        owner.move_booking(&booking, "arrive", &json!({})).expect(200);
        let variation = |service: &str| {
            let draft =
                json!({ "reason": "Deep scratches under the dirt.", "lines": [{ "item": { "service": service } }] });
            let written = owner.post(&format!("/v1/quotes/{quote}/variations"), &draft).expect(201);
            let path = format!("/v1/variations/{}", written["id"].as_str().unwrap());
            owner.act(&format!("{path}/send"), "\"1\"", &json!({})).expect(200);
            (path, studio.visitor(&studio.token_mailed_to(MAIL)))
        };
        let (path, visitor) = variation("polish");
        let page = visitor.get("");
        says(&page, 200, "Change Q-2026-0001-V1");
        for said in ["This changes what we agreed in quote", "Deep scratches under the dirt.", "EUR 290.00"] {
            assert!(page.text.contains(said), "{said}: {}", page.text);
        }
        assert_eq!(visitor.accept(&[], "Aoife Byrne").status, 303);
        says(&visitor.get("/done"), 200, "Change Q-2026-0001-V1 accepted");
        let signed = owner.get(&path).expect(200);
        assert_eq!((&signed["state"], &signed["signoff"]["method"]), (&json!("SIGNED"), &json!("LINK")));
        let (path, visitor) = variation("coating");
        assert_eq!(visitor.decline("Another time.").status, 303);
        says(&visitor.get(""), 200, "We carry on with the work as agreed in quote");
        assert_eq!(owner.get(&path).expect(200)["decline_reason"], "Another time.");
    });
}

#[test]
fn a_form_in_another_media_type_is_refused() {
    on_each_engine(|studio| {
        let sent = studio.sent_quote(MAIL, &["decontamination"], &[]);
        let visitor = studio.visitor(&sent.token);
        let form = url::form_urlencoded::Serializer::new(String::new())
            .extend_pairs(visitor.form(&[], "Aoife Byrne"))
            .finish();
        for headers in [&[("content-type", "text/plain")][..], &[("content-type", "application/json")], &[]] {
            for below in ["/accept", "/decline", "/early-start", "/opened"] {
                let path = format!("{}{below}", visitor.path);
                let answer = studio.nobody().send("POST", &path, headers, Some(form.clone().into_bytes()));
                answer.problem(415, "unsupported-media-type");
            }
        }
        assert_eq!(visitor.accept(&[], "Aoife Byrne").status, 303);
    });
}

#[test]
fn the_studio_is_told_what_was_answered_by_a_link() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let subjects = || -> Vec<String> {
            studio.tick();
            studio.mails_to(DESK).into_iter().map(|mail| mail.subject).collect()
        };
        let [one, two] =
            ["aoife@example.com", "nora@example.com"].map(|mail| studio.sent_quote(mail, &["decontamination"], &[]));
        assert_eq!(studio.visitor(&one.token).accept(&[], "Aoife Byrne").status, 303);
        assert_eq!(subjects(), ["Aoife Byrne accepted quote Q-2026-0001"]);
        assert_eq!(studio.visitor(&two.token).decline("Too dear.").status, 303);
        assert_eq!(subjects()[1..], ["Aoife Byrne declined quote Q-2026-0002"]);
        assert!(studio.mails_to(DESK)[1].text.contains("Too dear."));
        // Whoever notes an answer at the desk knows it.
        let three = studio.sent_quote("maeve@example.com", &["decontamination"], &[]);
        owner.note_yes(&three.view, &[]).expect(200);
        assert_eq!(subjects().len(), 2);
    });
}
