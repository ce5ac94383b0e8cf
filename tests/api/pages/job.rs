//! The work in the bays, worked down on the pages.

use baywright_core::platform::identity::Role;
use baywright_domain::id::PersonId;
use baywright_tests::browser::shown_form;
use baywright_tests::make::quote::id;
use baywright_tests::on_each_engine;
use baywright_tests::visitor::fields_of;
use serde_json::json;

#[test]
fn a_technician_works_a_car_down_and_sees_neither_prices_nor_who_it_belongs_to() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let owner = studio.owner();
        let quote = studio.signed_work(&["wash"]);
        let booking = owner.place(&quote, &floor.plain, "2026-03-02T08:00:00Z", false).expect(201);
        let who = booking["pieces"][0]["person_id"].as_str().unwrap().to_owned();
        let booking = owner.move_booking(&booking, "arrive", &json!({})).expect(200);
        let job = id(&owner.get("/v1/jobs?open=true").expect(200)["items"][0]);
        let path = format!("/bay/{job}");
        assert_eq!(studio.browser_of(Role::Technician).get(&path).status, 403, "a colleague's job");

        let browser = studio.browser_of_person(&PersonId::new(who));
        let list = browser.get("/bay");
        assert!(list.text.contains(&format!("href=\"{path}\"")), "{}", list.text);
        let press = |act: &str| {
            let action = format!("{path}/{act}");
            let pressed = browser.post(&action, &shown_form(&browser.get(&path).text, &action));
            assert_eq!(pressed.status, 303, "{act}: {}", pressed.text);
            browser.get(pressed.header("location")).text
        };
        let steps = owner.get(&format!("/v1/jobs/{job}")).expect(200)["steps"].as_array().unwrap().len();
        for at in 0..steps {
            assert!(press("start").contains("The clock is running."));
            assert!(press("stop").contains("The clock has stopped."));
            assert!(press("start").contains("The clock is running."));
            assert!(press("finish").contains("The step is finished."));
            if at == 0 {
                assert!(press("undo").contains("It is undone."));
                assert!(press("finish").contains("The step is finished."));
            }
        }
        let page = browser.get(&path).text;
        assert!(page.contains("All steps are done."), "{page}");
        for hidden in ["Byrne", "EUR", "@example", "+353"] {
            assert!(!page.contains(hidden), "{hidden}: {page}");
        }

        let note = format!("{path}/note");
        let empty = browser.post(&note, &shown_form(&browser.get(&path).text, &note));
        assert!(empty.status == 422 && empty.text.contains("That was not done"), "{}", empty.text);
        let mut said = shown_form(&browser.get(&path).text, &note);
        said.retain(|(name, _)| name != "text");
        let said = [said, fields_of(&[("text", "A chip <b> in the screen"), ("for_customer", "yes")])].concat();
        assert_eq!(browser.post(&note, &said).status, 303);
        assert_eq!(browser.post(&note, &said).status, 303, "sent twice, it is one note");
        let notes = owner.get(&format!("/v1/jobs/{job}/notes")).expect(200);
        let notes = notes["items"].as_array().unwrap();
        assert_eq!((notes.len(), &notes[0]["for_customer"]), (1, &json!(true)));
        let ready = owner.get(&format!("/v1/bookings/{}", id(&booking))).expect(200);
        owner.move_booking(&ready, "ready", &json!({})).expect(200);
    });
}

#[test]
fn what_cannot_be_done_is_said_on_the_cars_page() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let owner = studio.owner();
        let booking = owner.place(&studio.signed_work(&["wash"]), &floor.plain, "2026-03-02T08:00:00Z", false);
        owner.move_booking(&booking.expect(201), "arrive", &json!({})).expect(200);
        let path = format!("/bay/{}", id(&owner.get("/v1/jobs?open=true").expect(200)["items"][0]));
        let desk = studio.browser_of(Role::Desk);
        let old = shown_form(&desk.get(&path).text, &format!("{path}/start"));
        assert_eq!(desk.post(&format!("{path}/start"), &old).status, 303);
        // The same press counts once; another one from the old page is told that the step has changed.
        assert_eq!(desk.post(&format!("{path}/start"), &old).status, 303);
        let stale: Vec<_> = old.into_iter().filter(|(name, _)| name != "key").collect();
        let stale = [stale, fields_of(&[("key", "another")])].concat();
        let stale = desk.post(&format!("{path}/start"), &stale);
        assert!(stale.status == 412 && stale.text.contains("changed this step meanwhile"), "{}", stale.text);
        assert_eq!(
            desk.post(
                &format!("{path}/dance"),
                &fields_of(&[("code", &desk.code()), ("version", "1"), ("step", "wash")])
            )
            .status,
            404
        );
    });
}
