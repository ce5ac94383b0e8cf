//! The guided setup: each step by its page, without scripts, and each form sent twice.

use baywright_core::platform::identity::Role;
use baywright_tests::answer::Answer;
use baywright_tests::browser::{Browser, main_form, unescaped};
use baywright_tests::on_each_engine;
use baywright_tests::visitor::fields_of;
use serde_json::Value;

/// Fills in the form of a page and sends it twice to that address; gives the first answer.
#[track_caller]
fn send(owner: &Browser, page: &str, to: &str, typed: &[(&str, &str)]) -> Answer {
    let shown = owner.get(page);
    assert_eq!(shown.status, 200, "{page}: {}", shown.text);
    let fields = [main_form(&shown.text), fields_of(typed)].concat();
    let first = owner.post(to, &fields);
    assert!([200, 303].contains(&first.status), "{to}: {} {}", first.status, first.text);
    let again = owner.post(to, &fields);
    let told = |answer: &Answer| (answer.status, answer.header("location").to_owned(), answer.text.clone());
    assert_eq!(told(&again), told(&first), "{to}: sent twice, it leads to the same page");
    first
}

/// Asserts which step comes next.
#[track_caller]
fn next(owner: &Browser, title: &str) {
    let page = unescaped(&owner.get("/set-up/steps").text);
    assert!(page.contains(&format!("Next: {title}")), "{title}: {page}");
    assert!(unescaped(&owner.get("/").text).contains(title), "the start page says it too");
}

/// Number of records in a list of the API.
fn count(list: &Value) -> usize {
    list["items"].as_array().unwrap().len()
}

#[test]
fn a_studio_is_set_up_step_by_step_and_each_form_takes_effect_once() {
    on_each_engine(|studio| {
        let owner = studio.browser_of(Role::Owner);
        let desk = studio.owner();
        let people = count(&desk.get("/v1/people").expect(200));
        next(&owner, "Enter your studio details");
        let shop = [
            ("name", "Harbour Detailing"),
            ("phone", "+353 20 910 0199"),
            ("address.street", "1 Harbour Quay"),
            ("address.country", "IE"),
            ("zone", "Europe/Dublin"),
        ];
        send(&owner, "/shop", "/shop", &shop);
        next(&owner, "Set the opening hours");

        let rate = [("rates.0.percent", "23"), ("rates.0.from", "2000-01-01"), ("rates.1.percent", "21,5 %")];
        let tax = [("name", "Standard"), ("category", "S"), ("rates.1.from", "2026-09-01")];
        send(&owner, "/tax", "/tax", &[rate, tax].concat());
        let taxes = desk.get("/v1/tax-categories").expect(200);
        assert_eq!((count(&taxes), &taxes["items"][0]["rates"][1]["percent"]), (1, &"21.5".into()), "{taxes}");
        assert_eq!(taxes["items"][0]["version"], 2, "{taxes}");

        let hours = [
            ("hours.0.from", "8"),
            ("hours.0.until", "12.30"),
            ("hours.1.from", "13:15"),
            ("hours.1.until", "1730"),
            ("hours.2.from", "8:00"),
            ("hours.2.until", "24:00"),
        ];
        send(&owner, "/hours", "/hours", &hours);
        let week = desk.get("/v1/opening-hours").expect(200);
        assert_eq!((&week["version"], week["hours"].as_array().unwrap().len()), (&2.into(), 3), "{week}");
        assert_eq!(week["hours"][2]["until"], "24:00");
        next(&owner, "Add your bays");

        assert!(owner.get("/bays").text.contains("value=\"cover\""), "what a wait asks of a bay can be chosen too");
        send(&owner, "/bays", "/bays", &[("name", "Bay 1"), ("features", "drain"), ("features", "lift")]);
        let bays = desk.get("/v1/bays").expect(200);
        assert_eq!((count(&bays), bays["items"][0]["features"].to_string()), (1, "[\"drain\",\"lift\"]".to_owned()));
        let bay = format!("/bays/{}", bays["items"][0]["id"].as_str().unwrap());
        send(&owner, &bay, &bay, &[("name", "Wet bay"), ("features", "drain"), ("in_use", "yes")]);
        let bay = desk.get("/v1/bays").expect(200)["items"][0].clone();
        assert_eq!((&bay["name"], &bay["in_use"], &bay["version"]), (&"Wet bay".into(), &true.into(), &2.into()));
        next(&owner, "Add people and their hours");

        let niamh = [
            ("name", "Niamh"),
            ("email", "niamh@example.com"),
            ("role", "TECHNICIAN"),
            ("skills", "machine-polish"),
            ("as_open", "yes"),
        ];
        let added = send(&owner, "/people", "/people", &niamh);
        let path = added.header("location").split('?').next().unwrap().to_owned();
        assert_eq!(count(&desk.get("/v1/people").expect(200)), people + 1);
        let person = desk.get(&format!("/v1{path}")).expect(200);
        assert_eq!(person["shifts"], week["hours"], "the hours of the studio: {person}");
        next(&owner, "Load a starter menu");

        let menu = [
            ("labour_rate", "65,00"),
            ("price_step", "5"),
            ("services", "maintenance-wash"),
            ("services", "wash-and-wax"),
        ];
        assert_eq!(send(&owner, "/menu", "/menu", &menu).header("location"), "/menu/trial");
        next(&owner, "Price a car, then publish");
        let car = "/menu/trial?size=MEDIUM&condition=FAIR&powertrain=UNKNOWN&services=maintenance-wash";
        let page = owner.get(car);
        assert!(page.text.contains("with VAT") && page.text.contains("Publish the menu"), "{}", page.text);
        assert!(owner.get(&car.replace("maintenance-wash", "no-such-service")).text.contains("Error: "));

        let published = send(&owner, car, "/menu/publish", &[]);
        assert!(published.text.contains("common-practice"), "what nobody has checked is said: {}", published.text);
        assert_eq!(count(&desk.get("/v1/menu/revisions").expect(200)), 1);
        assert!(owner.get(car).text.contains("This menu is published"));
        next(&owner, "Send a test email");

        send(&owner, "/set-up/mail", "/set-up/mail", &[("email", "orla@example.com")]);
        assert_eq!(count(&desk.get("/v1/messages").expect(200)), 1);
        studio.tick();
        assert!(owner.get("/set-up/mail").text.contains("was only saved as a file"));
        assert_eq!(studio.mails_to("orla@example.com").len(), 1);
        assert!(owner.get("/set-up/steps").text.contains("Everything is done"));
    });
}

#[test]
fn a_menu_is_replaced_only_after_a_question() {
    on_each_engine(|studio| {
        let owner = studio.browser_of(Role::Owner);
        let menu = [("labour_rate", "65"), ("price_step", "5"), ("services", "maintenance-wash")];
        send(&owner, "/menu", "/menu", &menu);
        let mut fields = main_form(&owner.get("/menu").text);
        fields.extend(fields_of(&[("labour_rate", "70"), ("price_step", "5"), ("services", "wash-and-wax")]));
        let asked = owner.post("/menu", &fields);
        assert_eq!(asked.status, 409);
        assert!(asked.text.contains("Yes, do it") && asked.text.contains("is not empty"), "{}", asked.text);
        let yes = baywright_tests::browser::form(&asked.text);
        assert_eq!(owner.post("/menu", &yes).header("location"), "/menu/trial");
        let draft = studio.owner().get("/v1/menu/draft").expect(200);
        let services = &draft["menu"]["services"];
        assert_eq!((services.as_array().unwrap().len(), &services[0]["code"]), (1, &"wash-and-wax".into()), "{draft}");
    });
}

#[test]
fn two_people_who_change_the_hours_see_what_both_have_written() {
    on_each_engine(|studio| {
        let (first, second) = (studio.browser_of(Role::Owner), studio.browser_of(Role::Desk));
        let typed = |browser: &Browser, from: &str| {
            let hours = [("hours.0.from", from), ("hours.0.until", "17:00")];
            [main_form(&browser.get("/hours").text), fields_of(&hours)].concat()
        };
        let (mine, theirs) = (typed(&first, "7:00"), typed(&second, "9:00"));
        assert_eq!(second.post("/hours", &theirs).status, 303);
        let page = first.post("/hours", &mine);
        assert_eq!(page.status, 412);
        assert!(page.text.contains("<td>09:00</td><td>7:00</td>"), "{}", page.text);
    });
}
