//! The pages beside a car on a tablet: enrolling it, signing in with four digits, presses that arrive later, and proposals.

use baywright_core::platform::identity::Role;
use baywright_domain::id::PersonId;
use baywright_tests::answer::Answer;
use baywright_tests::browser::{Browser, form, shown_form};
use baywright_tests::make::media::jpeg;
use baywright_tests::make::quote::id;
use baywright_tests::visitor::{changed, fields_of};
use baywright_tests::{Studio, on_each_engine};
use serde_json::{Value, json};

/// A device that the owner has enrolled, with the id of its tablet.
fn tablet(studio: &Studio) -> (Browser, Value) {
    let added = studio.owner().post("/v1/tablets", &json!({ "name": "By the sink" })).expect(200);
    let code = added["code"].as_str().unwrap().replace('-', " ").to_lowercase();
    let device = studio.browser();
    let enrolled = device.post("/tablet", &fields_of(&[("code", &code)]));
    assert_eq!((enrolled.status, enrolled.header("location")), (303, "/bay/sign-in"), "{}", enrolled.text);
    (device.enrolled(&enrolled), added)
}

/// A colleague with digits.
fn hired(studio: &Studio, role: Role, digits: &str) -> PersonId {
    let who = studio.hire(role);
    let set = studio.person(who.as_str()).post("/v1/me/tablet-digits", &json!({ "digits": digits }));
    assert_eq!(set.status, 204, "{}", set.text);
    who
}

fn sign_in(device: &Browser, who: &PersonId, digits: &str) -> Answer {
    device.post("/bay/sign-in", &fields_of(&[("person_id", who.as_str()), ("digits", digits), ("back", "/bay")]))
}

#[test]
fn a_tablet_is_enrolled_once_and_opens_the_bays_alone() {
    on_each_engine(|studio| {
        let owner = studio.browser_of(Role::Owner);
        let shown = shown_form(&owner.get("/shop/tablets").text, "/shop/tablets");
        let added = owner.post("/shop/tablets", &changed(&shown, "name", "At the door"));
        let code = added.text.split("typed-code\">").nth(1).and_then(|rest| rest.split('<').next()).unwrap();
        let device = studio.browser();
        assert!(device.get("/bay/sign-in").text.contains("This device is not a tablet"));
        let wrong = device.post("/tablet", &fields_of(&[("code", "AAAA-BBBB-CCCC")]));
        assert!(wrong.status == 422 && wrong.text.contains("value=\"AAAA-BBBB-CCCC\""), "{}", wrong.text);
        let enrolled = device.post("/tablet", &fields_of(&[("code", code)]));
        let cookie = enrolled.header("set-cookie").to_owned();
        assert!(cookie.contains("; HttpOnly") && cookie.contains("; Max-Age="), "{cookie}");
        assert_eq!(studio.browser().post("/tablet", &fields_of(&[("code", code)])).status, 422, "it works once");
        let device = device.enrolled(&enrolled);

        let who = hired(studio, Role::Owner, "4071");
        studio.hire(Role::Technician);
        assert_eq!(device.get("/sign-in?back=%2Fbay").header("location"), "/bay/sign-in?back=%2Fbay");
        let names = device.get("/bay/sign-in");
        assert_eq!(names.text.matches("name=\"person_id\"").count(), 1, "those with digits alone: {}", names.text);
        let asked = device.post("/bay/sign-in", &fields_of(&[("person_id", who.as_str())]));
        assert!(asked.text.contains("inputmode=\"numeric\""), "{}", asked.text);
        let refused = sign_in(&device, &who, "4072");
        assert!(refused.status == 422 && refused.text.contains("These digits are wrong."), "{}", refused.text);
        let signed_in = sign_in(&device, &who, "4071");
        assert_eq!((signed_in.status, signed_in.header("location")), (303, "/bay"), "{}", signed_in.text);
        let bay = device.after(&signed_in);
        let page = bay.get("/bay");
        assert!(page.status == 200 && page.text.contains("Change person"), "{}", page.text);
        // Even of the owner, who has the right to everything.
        for path in ["/today", "/shop", "/shop/tablets", "/people", "/cars", "/diary", "/digits", "/menu"] {
            assert_eq!(bay.get(path).status, 403, "{path}");
        }
        assert_eq!(bay.get("/").header("location"), "/bay");
        bay.get("/v1/me").problem(401, "not-signed-in");
        // Digits are no password.
        let person = studio.owner().get(&format!("/v1/people/{who}")).expect(200);
        let password = json!({ "email": person["email"], "password": "4071" });
        studio.nobody().post("/v1/sessions", &password).problem(401, "not-signed-in");
        // Without the tablet's cookie they open nothing.
        assert_eq!(sign_in(&studio.browser(), &who, "4071").header("set-cookie"), "");
        let code = form(&page.text).into_iter().find(|(name, _)| name == "code").unwrap();
        let out = bay.post("/bay/sign-out", &[code]);
        assert_eq!((out.status, out.header("location")), (303, "/bay/sign-in"));
        assert_eq!(bay.get("/bay").status, 303);
    });
}

#[test]
fn a_sign_in_on_a_tablet_ends_without_use_and_with_the_tablet() {
    on_each_engine(|studio| {
        let (device, added) = tablet(studio);
        let who = hired(studio, Role::Desk, "4071");
        let bay = device.after(&sign_in(&device, &who, "4071"));
        for _ in 0..3 {
            studio.pass_minutes(9);
            assert_eq!(bay.get("/bay").status, 200);
        }
        let code = form(&bay.get("/bay").text).into_iter().find(|(name, _)| name == "code").unwrap().1;
        studio.pass_minutes(10);
        assert_eq!(bay.get("/bay").status, 303);
        // A form that was filled in meanwhile is kept.
        let note = fields_of(&[("code", &code), ("key", "k"), ("text", "A chip <b>")]);
        let kept = bay.post("/bay/none/note", &note);
        assert!(kept.status == 401 && kept.text.contains("A+chip"), "{}", kept.text);
        let bay = device.after(&sign_in(&device, &who, "4071"));
        assert_eq!(bay.get("/bay").status, 200);
        let end = format!("/v1/tablets/{}/end", id(&added));
        studio.owner().act(&end, "\"2\"", &json!(null)).expect(200);
        assert_eq!(bay.get("/bay").status, 303);
        assert!(device.get("/bay/sign-in").text.contains("This device is not a tablet"));
        assert_eq!(sign_in(&device, &who, "4071").status, 422);
    });
}

#[test]
fn wrong_digits_make_the_tablet_wait_whoever_types_them() {
    on_each_engine(|studio| {
        let (device, _) = tablet(studio);
        let (first, second) = (hired(studio, Role::Technician, "4071"), hired(studio, Role::Desk, "9052"));
        for _ in 0..4 {
            assert_eq!(sign_in(&device, &first, "0001").status, 422);
        }
        // One's own digits take back one's own failures alone.
        assert_eq!(sign_in(&device, &second, "9052").status, 303);
        assert_eq!(sign_in(&device, &first, "0002").status, 422);
        let waits = sign_in(&device, &second, "9052");
        assert_eq!(waits.status, 429, "{}", waits.text);
        assert!(waits.header("retry-after").parse::<u32>().unwrap() > 0 && waits.text.contains("Try again in 1 min"));
        studio.pass_minutes(1);
        assert_eq!(sign_in(&device, &first, "4071").status, 303);
        assert_eq!(sign_in(&device, &first, "0003").status, 422, "it starts again");
    });
}

/// A car that is here, with the browser of the person who is booked for it; gives the path of its page.
fn car(studio: &Studio) -> (Browser, String, Value) {
    let floor = studio.floor();
    let owner = studio.owner();
    let booking = owner.place(&studio.signed_work(&["wash"]), &floor.plain, "2026-03-02T08:00:00Z", false).expect(201);
    let who = PersonId::new(booking["pieces"][0]["person_id"].as_str().unwrap());
    let booking = owner.move_booking(&booking, "arrive", &json!({})).expect(200);
    let job = id(&owner.get("/v1/jobs?open=true").expect(200)["items"][0]);
    (studio.browser_of_person(&who), format!("/bay/{job}"), booking)
}

#[test]
fn presses_that_arrive_later_count_once_with_their_times() {
    on_each_engine(|studio| {
        let (browser, path, _) = car(studio);
        let page = browser.get(&path).text;
        for said in
            ["50 ml", "9950 ml", "Leave it on for 30 seconds.", "Wear gloves", "left of 1 h", "data-later=\"start\""]
        {
            assert!(page.contains(said), "{said}: {page}");
        }
        let list = browser.get("/bay").text;
        assert!(list.contains("<h2 id=\"bay-") && list.contains("Bay 2"), "{list}");
        studio.pass_minutes(20);
        let code = form(&browser.get(&path).text).into_iter().find(|(name, _)| name == "code").unwrap().1;
        let press = |act: &str, key: &str, at: &str| {
            let at = format!("2026-03-02T{at}.250Z");
            let fields = fields_of(&[("code", &code), ("key", key), ("step", "wash"), ("at", &at)]);
            browser.post(&format!("{path}/{act}"), &fields)
        };
        // As a tablet sends them that had no network for ten minutes, and lost an answer.
        for (act, key, at) in [
            ("start", "a", "08:05:00"),
            ("start", "a", "08:05:00"),
            ("stop", "b", "08:10:00"),
            ("start", "c", "08:12:00"),
            ("finish", "d", "08:15:00"),
            ("finish", "d", "08:15:00"),
        ] {
            let taken = press(act, key, at);
            assert_eq!(taken.status, 303, "{act} {at}: {}", taken.text);
        }
        let job = path.replace("/bay/", "/v1/jobs/");
        let step = studio.owner().get(&format!("{job}/steps/wash")).expect(200);
        assert_eq!((&step["state"], &step["actual_minutes"]), (&json!("FINISHED"), &json!(8)));
        assert_eq!(step["pieces"][0]["start"], "2026-03-02T08:05:00.250Z");
        let refused = press("start", "e", "08:16:00");
        assert!(refused.status == 409 && refused.text.contains("That was not done"), "{}", refused.text);
    });
}

#[test]
fn something_found_is_noted_with_a_photograph_and_drafted_for_the_desk() {
    on_each_engine(|studio| {
        let (browser, path, booking) = car(studio);
        let address = format!("{path}/found");
        let page = browser.get(&address).text;
        // What is agreed already is not proposed again.
        assert!(page.contains("value=\"polish\"") && !page.contains("value=\"wash\""), "{page}");
        assert!(!page.contains("EUR"), "{page}");
        let shown = shown_form(&page, &address);
        let empty = browser.post(&address, &shown);
        assert!(empty.status == 422 && empty.text.contains("<title>Error: "), "{}", empty.text);
        let typed =
            [changed(&shown, "text", "Deep scratches on the bonnet"), fields_of(&[("services", "polish")])].concat();
        let picture = jpeg(64, 48);
        let sent = browser.post_file(&address, &typed, ("photo", "image/jpeg", &picture));
        assert_eq!(sent.status, 303, "{}", sent.text);
        assert_eq!(browser.post_file(&address, &typed, ("photo", "image/jpeg", &picture)).status, 303, "once");
        let quote = booking["quote_id"].as_str().unwrap();
        let drafts = studio.owner().get(&format!("/v1/quotes/{quote}/variations")).expect(200);
        let drafts = drafts["items"].as_array().unwrap();
        assert_eq!((drafts.len(), &drafts[0]["state"]), (1, &json!("DRAFT")));
        assert_eq!(drafts[0]["reason"], "Deep scratches on the bonnet");
        let after = browser.get(sent.header("location")).text;
        assert!(after.contains("the desk has a draft") && !after.contains("EUR"), "{after}");
        let photo = after.split(&format!("{path}/photos/")).nth(1).and_then(|rest| rest.split('"').next()).unwrap();
        let photo = format!("{path}/photos/{photo}");
        assert_eq!(browser.get(&photo).header("content-type"), "image/jpeg");
        assert_eq!(studio.browser_of(Role::Technician).get(&photo).status, 403, "a colleague's car");
    });
}
