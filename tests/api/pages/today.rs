//! The page of the day, and where the start page leads each role.

use baywright_core::platform::identity::Role;
use baywright_domain::id::PersonId;
use baywright_tests::browser::unescaped;
use baywright_tests::on_each_engine;
use serde_json::json;

use super::roles::failed_mail;
use crate::job::{act, arrived, handed_over};

#[test]
fn each_role_is_led_to_what_comes_first_for_it() {
    on_each_engine(|studio| {
        let first = |role| studio.browser_of(role).get("/").header("location").to_owned();
        assert_eq!((first(Role::Desk), first(Role::Technician)), ("/today".to_owned(), "/today".to_owned()));
        assert_eq!(first(Role::Accountant), "/cars?group=UNPAID");
        assert_eq!(studio.browser_of(Role::Owner).get("/").status, 200, "the setup is not done");
    });
}

#[test]
fn the_day_shows_bays_as_a_picture_and_in_words_and_who_is_at_work() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let (booking, job) = arrived(studio, &["coating"]);
        act(&studio.owner(), &job, "wash", "start", &json!({ "person_id": floor.polisher })).expect(200);
        let page = studio.browser_of(Role::Desk).get("/today");
        assert_eq!(page.status, 200, "{}", page.text);
        let text = unescaped(&page.text);
        for said in ["Monday 2 March 2026", "Bay 1", "Bay 2", "At work", "Niall Quirke", "0 of 4 steps", "promised for"]
        {
            assert!(text.contains(said), "{said}: {text}");
        }
        for drawn in ["<rect class=\"work\"", "<rect class=\"cure\" fill=\"url(#day-hatch)\"", "<rect class=\"closed\""]
        {
            assert!(page.text.contains(drawn), "{drawn}: {}", page.text);
        }
        assert!(!page.text.contains("style="), "{}", page.text);
        let visit = format!("href=\"/cars/{}\"", booking["quote_id"].as_str().unwrap());
        assert!(page.text.contains(&visit), "{visit}: {}", page.text);
        let nothing = studio.browser_of(Role::Desk).get("/today?date=2026-12-24");
        assert!(nothing.text.contains("No car is here or booked on this day."), "{}", nothing.text);
        assert_eq!(studio.browser_of(Role::Desk).get("/today?date=tomorrow").status, 404);
    });
}

#[test]
fn a_technician_sees_no_price_surname_telephone_or_address() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        arrived(studio, &["coating"]);
        studio.sent_quote("nora@example.com", &["wash"], &[]);
        let page = studio.browser_of_person(&PersonId::new(floor.polisher.as_str())).get("/today");
        assert_eq!(page.status, 200, "{}", page.text);
        assert!(page.text.contains("Aoife") && page.text.contains("People"), "{}", page.text);
        for kept in ["Byrne", "EUR", "@example.com", "tel:", "Waiting for you", "/cars"] {
            assert!(!page.text.contains(kept), "{kept}: {}", page.text);
        }
    });
}

#[test]
fn what_waits_leads_to_its_next_act() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        handed_over(studio);
        let sent = studio.sent_quote("nora@example.com", &["wash"], &[]);
        let booked = studio.signed_work(&["wash"]);
        let mail = failed_mail(studio);
        let enquiry = owner.take_enquiry("Maeve Daly")["id"].as_str().unwrap().to_owned();
        let page = studio.browser_of(Role::Desk).get("/today");
        for address in [
            format!("/new-car/{enquiry}"),
            format!("/cars/{}/accepted", sent.id),
            format!("/diary/book/{booked}"),
            format!("/mails/{mail}"),
        ] {
            assert!(page.text.contains(&format!("href=\"{address}\"")), "{address}: {}", page.text);
        }
        assert!(page.text.contains("To invoice <b>1</b>"), "{}", page.text);
    });
}
