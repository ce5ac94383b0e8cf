//! The customer's page for the rest of the stay: what it shows when, and what the customer can do there.

use baywright_tests::Studio;
use baywright_tests::answer::Answer;
use baywright_tests::make::booking::floor_menu;
use baywright_tests::make::quote::id;
use baywright_tests::markup;
use baywright_tests::on_each_engine;
use baywright_tests::person::Person;
use baywright_tests::visitor::{Visitor, fields_of, hidden};
use serde_json::{Value, json};

use crate::job::pass;

const MAIL: &str = "aoife.byrne@example.com";

/// The page, which must hold together.
#[track_caller]
fn page(guest: &Visitor) -> String {
    let page = guest.get("");
    assert_eq!(page.status, 200, "{}", page.text);
    let faults = markup::faults(&page.text);
    assert!(faults.is_empty(), "{}\n{}", faults.join("\n"), page.text);
    page.text
}

#[track_caller]
fn says(page: &str, texts: &[&str]) {
    for text in texts {
        assert!(page.contains(text), "{text}: {page}");
    }
}

/// Sends a form of the page that carries nothing but its code.
fn press(guest: &Visitor, below: &str) -> Answer {
    let mut fields = hidden(&guest.get("").text);
    fields.truncate(1);
    guest.post(below, &fields, &[])
}

/// Lets customers choose a time at least a day ahead.
fn let_customers_book(owner: &Person) {
    let kept = owner.get("/v1/self-booking");
    let etag = kept.etag();
    let kept = kept.expect(200);
    assert_eq!((&kept["allowed"], &kept["notice_hours"]), (&json!(false), &json!(24)), "it is off at first");
    owner.put("/v1/self-booking", &etag, &json!({ "allowed": true, "notice_hours": 24 })).expect(200);
}

fn bookings(owner: &Person) -> Vec<Value> {
    owner.get("/v1/bookings").expect(200)["items"].as_array().unwrap().clone()
}

#[test]
fn after_signing_the_customer_chooses_a_time_that_is_really_free() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        studio.floor();
        owner.publish_menu_with(&floor_menu(), &json!({}));
        let visitor = studio.visitor(&studio.sent_quote(MAIL, &["wash"], &["coating"]).token);
        // The first possible time follows the ticks, without scripts too.
        let (plain, coated) = (visitor.get("").text, visitor.get("?take=1").text);
        says(&plain, &["First possible time: <strong>Monday 2 March 2026 at 08:00</strong>, ready by"]);
        let ready = |page: &str| page.split("ready by <strong>").nth(1).unwrap().split('<').next().unwrap().to_owned();
        assert_ne!(ready(&plain), ready(&coated), "a coating cures for a night");
        assert_eq!(visitor.accept(&[], "Aoife Byrne").status, 303);
        let guest = visitor.go_on(studio);
        says(&page(&guest), &["Let us agree a time", "Ask us something", "EUR 90.00"]);
        assert_eq!((guest.choose("2026-03-04T08:00:00Z").status, bookings(&owner).len()), (303, 0), "it is off");

        let_customers_book(&owner);
        says(&page(&guest), &["Your turn", "When shall we see you?", "Book this time"]);
        let times = guest.offered_times();
        assert!(times.len() > 3 && times[0].as_str() >= "2026-03-03T08:00:00Z", "{times:?}");
        let soon = guest.choose("2026-03-02T12:00:00Z");
        assert_eq!(soon.status, 422);
        says(&soon.text, &["at least 24 hours from now", "<title>Error: "]);
        // Nobody works at night.
        let closed = guest.choose("2026-03-04T03:00:00Z");
        assert_eq!(closed.status, 409);
        says(&closed.text, &["taken a moment ago", "When shall we see you?"]);
        assert_eq!(guest.choose("").status, 422);
        assert_eq!(bookings(&owner).len(), 0);
        for _ in 0..2 {
            assert_eq!(guest.choose(&times[1]).status, 303, "pressed twice it is booked once");
        }
        let booked = bookings(&owner);
        assert_eq!((booked.len(), &booked[0]["state"], &booked[0]["start"]), (1, &json!("BOOKED"), &json!(times[1])));
        says(&page(&guest), &["Your time is booked", "Bring your car", "/booking.ics"]);
        let file = guest.get("/booking.ics");
        assert!(file.header("content-type").starts_with("text/calendar") && file.text.contains("BEGIN:VEVENT"));
        studio.tick();
        let told = studio.mails_to("owner@example.com").pop().unwrap();
        assert_eq!(told.subject, "Aoife Byrne booked a time");
        assert!(page(&studio.guest_mailed_to(MAIL)).contains("Your time is booked"), "the mail's own link works");
    });
}

/// Writes a change, sends it and lets the customer accept it by way of their page.
fn change_agreed(owner: &Person, guest: &Visitor, studio: &Studio, quote: &str) {
    let draft = json!({ "reason": "Deep scratches.", "lines": [{ "item": { "service": "polish" } }] });
    let written = owner.post(&format!("/v1/quotes/{quote}/variations"), &draft).expect(201);
    let path = format!("/v1/variations/{}/send", id(&written));
    owner.act(&path, &format!("\"{}\"", written["version"]), &json!({})).expect(200);
    says(
        &page(guest),
        &["Your turn", "We suggest a change", "Deep scratches.", "EUR 380.00", "Ready by, with the change"],
    );
    let led = press(guest, "/change");
    let token = led.header("location").strip_prefix("/q/").unwrap_or_else(|| panic!("{}", led.text)).to_owned();
    let visitor = studio.visitor(&token);
    assert_eq!(visitor.post("/accept", &visitor.form(&[], "Aoife Byrne"), &[]).status, 303);
    says(&page(guest), &["EUR 380.00"]);
    assert!(!page(guest).contains("We suggest a change"));
    assert_eq!(press(guest, "/change").status, 409, "nothing waits any more");
}

#[test]
fn the_page_follows_the_work_the_change_the_papers_and_the_payment() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        studio.floor();
        owner.change_shop(&json!({ "iban": "IE29AIBK93115212345678" }));
        let quote = studio.signed_work(&["wash"]);
        let booking = owner.book_first(&quote);
        let guest = studio.guest_mailed_to(MAIL);
        says(&page(&guest), &["Your time is booked", "231-D-10101"]);
        let booking = owner.move_booking(&booking, "arrive", &json!({})).expect(200);
        let jobs = owner.get("/v1/jobs").expect(200);
        let job = owner.get(&format!("/v1/jobs/{}", jobs["items"][0]["id"].as_str().unwrap())).expect(200);
        says(&page(&guest), &["Your car is with us", "The work on your car", "Next", "Later"]);

        // Only what is meant for the customer is shown, without the name of who wrote it.
        let photos = [id(&owner.add_photo()), id(&owner.add_photo())];
        for (text, photo, shown) in [("The roof shines.", &photos[0], true), ("Mind the dog.", &photos[1], false)] {
            let note = json!({ "step": null, "text": text, "photo_ids": [photo], "for_customer": shown });
            let written = owner.post(&format!("/v1/jobs/{}/notes", id(&job)), &note).expect(201);
            assert_eq!(written["for_customer"], shown);
        }
        let shown = page(&guest);
        says(&shown, &["The roof shines."]);
        assert!(!shown.contains("Mind the dog") && !shown.contains("Test Person"), "{shown}");
        let photo = guest.get(&format!("/photos/{}?size=small", photos[0]));
        assert_eq!((photo.status, photo.header("cache-control")), (200, "no-store"));
        assert_eq!(guest.get(&format!("/photos/{}", photos[1])).status, 404);

        change_agreed(&owner, &guest, studio, &quote);
        pass(&owner, &job, "wash");
        says(&page(&guest), &["We are working on it", "Done"]);
        for code in ["machine", "final"] {
            pass(&owner, &job, code);
        }
        let booking = owner.get(&format!("/v1/bookings/{}", id(&booking))).expect(200);
        let ready = owner.move_booking(&booking, "ready", &json!({})).expect(200);
        says(&page(&guest), &["Your car is ready"]);
        let given = json!({ "received_by": "Aoife Byrne", "odometer": 84_210, "aftercare": "No car wash for a week.",
            "note": "", "checklist": [] });
        owner.move_booking(&ready, "hand-over", &given).expect(200);
        says(&page(&guest), &["You have your car back", "No car wash for a week."]);

        let drafted = owner.post("/v1/invoices", &json!({ "quote_id": quote, "note": "" })).expect(201);
        let path = format!("/invoices/{}", id(&drafted));
        assert_eq!(guest.get(&path).status, 404, "a draft is nobody's invoice");
        let issued = owner.act(&format!("/v1{path}/issue"), "\"1\"", &json!({})).expect(200);
        let number = issued["number"].as_str().unwrap();
        says(&page(&guest), &["EUR 380.00 to pay", "Please pay by", number]);
        let invoice = guest.get(&path);
        assert_eq!((invoice.status, markup::faults(&invoice.text)), (200, Vec::new()), "{}", invoice.text);
        says(&invoice.text, &[number, "IE29AIBK93115212345678", "Payment reference", "EUR 380.00 to pay"]);
        let customer = json!({ "id": issued["customer_id"] });
        owner.pay(&customer, "380.00", &[&issued]);
        says(&guest.get(&path).text, &["What you have paid", "Nothing is left to pay"]);
        says(&page(&guest), &["Everything is done", "Signed copy of your order"]);
        assert!(guest.get("/copy.json").text.contains("evidence_digest"));
    });
}

#[test]
fn a_question_is_kept_with_the_stay_mailed_to_the_desk_and_limited() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        studio.floor();
        let quote = studio.signed_work(&["wash"]);
        let guest = studio.guest_mailed_to(MAIL);
        let empty = guest.ask("  ");
        assert_eq!(empty.status, 422);
        says(&empty.text, &["Write your question.", "href=\"#question\"", "aria-invalid=\"true\""]);
        let long = format!("<b>{}", "x".repeat(1_000));
        let kept = guest.ask(&long);
        assert_eq!(kept.status, 422);
        says(&kept.text, &["Write at most 1000 characters", "&#60;b&#62;xxx"]);
        for _ in 0..2 {
            let asked = guest.ask("Can I <wait> there?");
            assert_eq!(
                (asked.status, asked.header("location")),
                (303, format!("{}?asked=yes#ask", guest.path).as_str())
            );
        }
        let opened_before = guest.get("").text;
        for number in 2..=5 {
            assert_eq!(guest.ask(&format!("Question {number}")).status, 303);
        }
        let refused = guest.ask_on(&opened_before, "One more");
        assert_eq!(refused.status, 409);
        says(&refused.text, &["as many questions as this page takes", "One more", "Can I &#60;wait&#62; there?"]);
        assert_eq!(markup::faults(&refused.text), [""; 0], "{}", refused.text);
        let visit = owner.get(&format!("/v1/visits/{quote}")).expect(200);
        let questions = visit["questions"].as_array().unwrap();
        assert_eq!((questions.len(), &questions[0]["text"]), (5, &json!("Can I <wait> there?")), "twice is once");
        assert!(visit["events"].as_array().unwrap().iter().any(|event| event["action"] == "stay.asked"));
        studio.tick();
        let mails = studio.mails_to("owner@example.com");
        let told: Vec<_> = mails.iter().filter(|mail| mail.subject == "A question from Aoife Byrne").collect();
        assert_eq!(told.len(), 5);
        assert!(told[0].text.contains("Can I <wait> there?") && told[0].text.contains(MAIL), "{}", told[0].text);
        // The next day it is open again.
        studio.pass_minutes(24 * 60 + 1);
        assert_eq!(guest.ask("One more").status, 303);
    });
}

#[test]
fn a_link_to_a_stay_opens_that_stay_alone_and_ends() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        studio.floor();
        let quote = studio.signed_work(&["wash"]);
        let guest = studio.guest_mailed_to(MAIL);
        let before = studio.every_row();
        let shown = guest.get("");
        assert_eq!(studio.every_row(), before, "nothing is written by looking");
        for (name, value) in
            [("cache-control", "no-store"), ("x-robots-tag", "noindex"), ("referrer-policy", "no-referrer")]
        {
            assert_eq!(shown.header(name), value);
        }
        assert!(!shown.header("content-security-policy").contains("unsafe"));
        // The page with its style is small even before it is compressed.
        let style = shown.text.split("rel=\"stylesheet\" href=\"").nth(1).unwrap().split('"').next().unwrap();
        let size = shown.bytes.len() + studio.nobody().get(style).bytes.len();
        assert!(size < 30_000, "{size} bytes");
        // Its token signs nothing, and that of a document opens no stay.
        let token = guest.path.strip_prefix("/c/").unwrap();
        let visitor = studio.visitor(token);
        assert_eq!((visitor.get("").status, visitor.get("/decline").status), (404, 404));
        let other = studio.sent_quote("nora@example.com", &["wash"], &[]);
        assert_eq!(studio.guest(&other.token).get("").status, 404);
        let customer = owner.add_customer("Maeve Daly");
        let theirs = studio.issued_invoice(&customer, &[(12_300, 23)]);
        assert_eq!(guest.get(&format!("/invoices/{}", id(&theirs))).status, 404);
        // Forms are taken from the page alone.
        let asked = fields_of(&[("question", "Who are you?")]);
        assert_eq!(guest.post("/ask", &asked, &[]).status, 403);
        let mut fields = hidden(&guest.get("").text);
        fields.truncate(1);
        fields.extend(asked);
        assert_eq!(guest.post("/ask", &fields, &[("sec-fetch-site", "cross-site")]).status, 403);
        // The desk sees the links and ends one that went astray.
        let links = owner.get(&format!("/v1/links?subject_id={quote}")).expect(200);
        let link = &links["items"][0];
        assert_eq!((&link["purpose"], &link["contact"]), (&json!("STAY"), &json!(MAIL)));
        assert!(link["ends_at"].as_str().unwrap() > "2026-08-01", "{link}");
        owner.post(&format!("/v1/links/{}/revoke", id(link)), &json!({})).expect(200);
        assert_eq!(guest.get("").status, 410);
    });
}
