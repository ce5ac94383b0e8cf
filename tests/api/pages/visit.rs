//! The cars, one visit with its forms, and finding.

use baywright_core::platform::identity::Role;
use baywright_tests::answer::Answer;
use baywright_tests::browser::{Browser, form, main_form, unescaped};
use baywright_tests::on_each_engine;
use baywright_tests::visitor::fields_of;
use serde_json::json;

use crate::job::{arrived, handed_over, pass};

/// Opens the form of a verb, fills it in and sends it.
#[track_caller]
fn send(desk: &Browser, path: &str, typed: &[(&str, &str)]) -> Answer {
    let shown = desk.get(path);
    assert_eq!(shown.status, 200, "{path}: {}", shown.text);
    desk.post(path, &[main_form(&shown.text), fields_of(typed)].concat())
}

/// Sends it and follows it to the visit; gives the text of the page.
#[track_caller]
fn follow(desk: &Browser, path: &str, typed: &[(&str, &str)]) -> String {
    let answer = send(desk, path, typed);
    if answer.status == 303 {
        return unescaped(&desk.get(answer.header("location")).text);
    }
    // Something is worth a look first.
    assert_eq!(answer.status, 200, "{path}: {}", answer.text);
    let next = answer.text.split("<a class=\"go\" href=\"").nth(1).unwrap().split('"').next().unwrap();
    unescaped(&desk.get(&unescaped(next)).text)
}

#[test]
fn a_stay_is_led_from_the_quote_to_the_payment_by_its_page() {
    on_each_engine(|studio| {
        studio.floor();
        let owner = studio.owner();
        owner.publish_menu_with(&baywright_tests::make::booking::floor_menu(), &json!({}));
        let quote = studio.sent_quote("aoife@example.com", &["wash"], &[]).id;
        let desk = studio.browser_of(Role::Desk);
        let visit = format!("/cars/{quote}");
        let page = unescaped(&desk.get(&visit).text);
        assert!(page.contains("Sign the quote") && page.contains("Next: the customer"), "{page}");

        // Nothing is recorded without the consent, and what was typed stays.
        let accepted = format!("{visit}/accepted");
        let early = [("name", "Aoife B."), ("early_start", "yes")];
        let refused = send(&desk, &accepted, &early);
        assert_eq!(refused.status, 422, "{}", refused.text);
        assert!(
            refused.text.contains("href=\"#agreed\"") && refused.text.contains("value=\"Aoife B.\""),
            "{}",
            refused.text
        );
        let page = follow(&desk, &accepted, &[&early[..], &[("agreed", "yes")]].concat());
        assert!(page.contains("The acceptance is recorded.") && page.contains("Agree on a time"), "{page}");
        assert!(page.contains(&format!("/diary/book/{quote}")), "{page}");

        let booking = owner.book_first(&quote);
        let start = booking["start"].as_str().unwrap();
        assert!(desk.get("/cars?group=BOOKED").text.contains(&visit), "{start}");
        let arrive = format!("{visit}/arrive");
        // Arriving on another day than booked is asked about first.
        let asked = send(&desk, &arrive, &[]);
        let asked = if asked.status == 409 { desk.post(&arrive, &form(&asked.text)) } else { asked };
        assert_eq!(asked.status, 303, "{}", asked.text);
        let page = unescaped(&desk.get(asked.header("location")).text);
        assert!(page.contains("The car is here.") && page.contains("Start the next step"), "{page}");
        assert!(desk.get("/cars?group=HERE").text.contains(&visit));

        let undone = follow(&desk, &format!("{visit}/undo"), &[]);
        assert!(undone.contains("The last move is undone.") && undone.contains("Take the car in"), "{undone}");
        let again = send(&desk, &arrive, &[]);
        let again = if again.status == 409 { desk.post(&arrive, &form(&again.text)) } else { again };
        assert_eq!(again.status, 303, "{}", again.text);
        let early = send(&desk, &format!("{visit}/ready"), &[]);
        assert_eq!(early.status, 409, "work is not done: {}", early.text);
        assert!(early.text.contains("<title>Error: "), "{}", early.text);

        let jobs = owner.get("/v1/jobs").expect(200);
        let job = owner.get(&format!("/v1/jobs/{}", jobs["items"][0]["id"].as_str().unwrap())).expect(200);
        for code in ["wash", "final"] {
            pass(&owner, &job, code);
        }
        assert!(follow(&desk, &format!("{visit}/ready"), &[]).contains("Hand the car over"));
        let taken = [("received_by", "Aoife Byrne"), ("odometer", "84 210"), ("checklist", "keys")];
        let page = follow(&desk, &format!("{visit}/hand-over"), &taken);
        assert!(page.contains("Issue the invoice"), "{page}");
        assert!(desk.get("/cars?group=UNPAID").text.contains(&visit), "it has no invoice");

        let drafted = send(&desk, &format!("{visit}/invoice"), &[]);
        let issue = format!("{visit}/issue");
        let after = if drafted.status == 200 { issue.clone() } else { drafted.header("location").to_owned() };
        assert_eq!(after, issue, "{}", drafted.text);
        assert!(follow(&desk, &issue, &[("by_mail", "yes")]).contains("Pay the invoice"));
        let pay = format!("{visit}/payment");
        let open = unescaped(&desk.get(&pay).text);
        let open = open.split("name=\"amount\" type=\"text\" value=\"").nth(1).unwrap().split('"').next().unwrap();
        let wrong = send(&desk, &pay, &[("amount", "much"), ("method", "CARD"), ("received_on", "2026-03-02")]);
        assert!(wrong.status == 422 && wrong.text.contains("value=\"much\""), "{}", wrong.text);
        let day = owner.get("/v1/today").expect(200)["date"].as_str().unwrap().to_owned();
        let page = follow(&desk, &pay, &[("amount", open), ("method", "CARD"), ("received_on", &day)]);
        assert!(page.contains("This stay has ended") && page.contains("Paid"), "{page}");
        assert!(!desk.get("/cars?group=UNPAID").text.contains(&visit));
        for said in ["Quote signed", "Car taken in", "Last move undone", "Car handed over", "Payment recorded"] {
            assert!(page.contains(said), "{said}: {page}");
        }
        let payments = owner.get("/v1/payments").expect(200);
        assert_eq!(payments["items"].as_array().unwrap().len(), 1);
    });
}

#[test]
fn an_accountant_sees_the_money_and_gets_no_forms_nor_ways_to_reach_the_customer() {
    on_each_engine(|studio| {
        handed_over(studio);
        let accountant = studio.browser_of(Role::Accountant);
        let list = accountant.get("/cars?group=UNPAID");
        let visit = list.text.split("href=\"/cars/").nth(1).unwrap().split('"').next().unwrap().to_owned();
        let page = accountant.get(&format!("/cars/{visit}"));
        assert_eq!(page.status, 200, "{}", page.text);
        assert!(page.text.contains("Agreed, with VAT"), "{}", page.text);
        for kept in ["@example.com", "tel:", "/cars/{visit}/invoice", "Car taken in", "href=\"/find"] {
            assert!(!page.text.contains(&kept.replace("{visit}", &visit)), "{kept}: {}", page.text);
        }
        assert_eq!(accountant.get(&format!("/cars/{visit}/invoice")).status, 403);
    });
}

#[test]
fn a_form_for_a_booking_that_has_changed_says_so_and_does_nothing() {
    on_each_engine(|studio| {
        studio.floor();
        let owner = studio.owner();
        let quote = studio.signed_work(&["wash"]);
        let booking = owner.book_first(&quote);
        let desk = studio.browser_of(Role::Desk);
        let cancel = format!("/cars/{quote}/cancel");
        let fields = main_form(&desk.get(&cancel).text);
        owner.move_booking(&booking, "cancel", &json!({ "reason": "Asked for another week." })).expect(200);
        owner.book_first(&quote);
        let late = desk.post(&cancel, &[fields, fields_of(&[("reason", "By mistake")])].concat());
        assert_eq!(late.status, 409, "{}", late.text);
        let text = unescaped(&late.text);
        assert!(text.contains("This stay has changed") && text.contains("value=\"By mistake\""), "{text}");
        let bookings = owner.get("/v1/bookings").expect(200);
        let booked = bookings["items"].as_array().unwrap().iter().filter(|one| one["state"] == "BOOKED").count();
        assert_eq!(booked, 1);
        assert_eq!(desk.get(&format!("/cars/{quote}/nothing")).status, 404);
    });
}

#[test]
fn one_box_finds_people_cars_and_stays() {
    on_each_engine(|studio| {
        studio.floor();
        let (booking, _) = arrived(studio, &["wash"]);
        let quote = booking["quote_id"].as_str().unwrap();
        let desk = studio.browser_of(Role::Desk);
        let found = unescaped(&desk.get("/find?q=byrne").text);
        for said in ["Stays", "Customers", &format!("/cars/{quote}"), "/cars?customer_id="] {
            assert!(found.contains(said), "{said}: {found}");
        }
        let nothing = unescaped(&desk.get("/find?q=%3Cb%3Enobody").text);
        assert!(nothing.contains("Nothing was found for “<b>nobody”"), "{nothing}");
        assert_eq!(desk.get("/find").status, 200);
    });
}
