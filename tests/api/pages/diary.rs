//! The diary's pages: the week, times for signed work, one booking, absences, closures and new plans.

use baywright_core::platform::identity::Role;
use baywright_tests::answer::Answer;
use baywright_tests::browser::{Browser, main_form, unescaped};
use baywright_tests::make::booking::Floor;
use baywright_tests::make::quote::id;
use baywright_tests::visitor::fields_of;
use baywright_tests::{Studio, on_each_engine};
use serde_json::{Value, json};

/// Fills a diary: a car in its bay, a booked one, signed work without a time, an absence, a closure and a plan.
pub(super) fn filled(studio: &Studio) {
    let owner = studio.owner();
    let hall = id(&owner.add_bay("Hall", &["cover", "dust-free"]));
    let polisher = id(&owner.add_technician("Niall Quirke", &["correction"]));
    // The services of the menu that is in force, else of the one that `signed_work` publishes.
    let is_small = owner.get("/v1/menu").status == 200;
    let (short, long) = if is_small { ("maintenance-wash", "decontamination") } else { ("wash", "polish") };
    let here = studio.signed_work(&[short]);
    let here = owner.place(&here, &hall, "2026-03-02T08:00:00Z", false).expect(201);
    owner.move_booking(&here, "arrive", &json!({})).expect(200);
    owner.book_first(&studio.signed_work(&[long]));
    studio.signed_work(&[short]);
    owner.away(&polisher, "2026-05-04", "2026-05-05");
    owner.close(Some(&hall), "2026-05-11", "2026-05-12");
    owner.post("/v1/reschedulings", &json!({})).expect(201);
}

/// The items of a list of the API.
fn items(studio: &Studio, list: &str) -> Vec<Value> {
    studio.owner().get(list).expect(200)["items"].as_array().unwrap().clone()
}

/// The id of a record that the path of a page needs; the diary is filled if it is empty.
pub(super) fn id_for(studio: &Studio, path: &str) -> String {
    if items(studio, "/v1/bookings").is_empty() {
        filled(studio);
    }
    let bookings = items(studio, "/v1/bookings");
    let booked = bookings.iter().find(|booking| booking["state"] == "BOOKED").unwrap_or(&bookings[0]);
    let part = path.split('/').nth(2).unwrap();
    match part {
        "book" => {
            let has_time = |quote: &Value| bookings.iter().any(|booking| booking["quote_id"] == quote["id"]);
            let quotes = items(studio, "/v1/quotes");
            id(quotes.iter().find(|quote| !has_time(quote)).unwrap())
        }
        "absences" => {
            let whole = studio.owner().get(&format!("/v1/bookings/{}", id(booked))).expect(200);
            let person = whole["pieces"][0]["person_id"].as_str().unwrap().to_owned();
            id(&items(studio, &format!("/v1/people/{person}/absences"))[0])
        }
        "closures" => {
            let closures = items(studio, "/v1/closures");
            closures.first().map_or_else(|| id(&studio.owner().close(None, "2026-06-01", "2026-06-02")), id)
        }
        "week-plan" => id(&items(studio, "/v1/reschedulings")[0]),
        _ => id(booked),
    }
}

/// The first value of a page's times.
#[track_caller]
fn first_time(page: &Answer) -> String {
    let value = page.text.split("name=\"time\" value=\"").nth(1).and_then(|rest| rest.split('"').next());
    value.unwrap_or_else(|| panic!("no time: {}", page.text)).to_owned()
}

/// Fills in the first form of a page and sends it.
#[track_caller]
fn send(browser: &Browser, page: &str, typed: &[(&str, &str)]) -> Answer {
    let shown = browser.get(page);
    assert_eq!(shown.status, 200, "{page}: {}", shown.text);
    let to = page.split('?').next().unwrap();
    browser.post(to, &[main_form(&shown.text), fields_of(typed)].concat())
}

/// Presses the button of a form that only carries the booking's version.
#[track_caller]
fn press(browser: &Browser, studio: &Studio, booking: &str, act: &str) -> Answer {
    let version = studio.owner().get(&format!("/v1/bookings/{booking}")).expect(200)["version"].to_string();
    let key: String = baywright_core::platform::ids::new();
    let fields = fields_of(&[("code", browser.code().as_str()), ("key", &key), ("version", &version)]);
    browser.post(&format!("/diary/{booking}/{act}"), &fields)
}

/// The booking to whose page an answer leads.
#[track_caller]
fn led_to(answer: &Answer, done: &str) -> String {
    assert_eq!(answer.status, 303, "{}", answer.text);
    let path = answer.header("location").strip_suffix(&format!("?done={done}")).unwrap_or_else(|| {
        panic!("{done}: {}", answer.header("location"));
    });
    path.strip_prefix("/diary/").unwrap().to_owned()
}

#[test]
fn a_week_names_each_car_in_picture_and_table_and_shows_technicians_first_names_alone() {
    on_each_engine(|studio| {
        filled(studio);
        let desk = unescaped(&studio.browser_of(Role::Desk).get("/diary").text);
        for said in [
            "<h1>2 March to 8 March 2026</h1>",
            "role=\"img\"",
            "class=\"work\"",
            "class=\"closed\"",
            "<span class=\"key\">A</span>",
            "Hall: Mon 2 March, 08:00 to 09:15",
            "Aoife Byrne",
            "href=\"/diary?from=2026-03-09\"",
            "Signed, and without a time",
            "href=\"/diary/book/",
        ] {
            assert!(desk.contains(said), "{said}: {desk}");
        }
        let browser = studio.browser_of(Role::Technician);
        let booking = id(&items(studio, "/v1/bookings")[0]);
        for path in ["/diary".to_owned(), format!("/diary/{booking}"), format!("/diary/{booking}/undo")] {
            let page = browser.get(&path);
            assert_eq!(page.status, 200, "{path}");
            for hidden in ["Byrne", "EUR", "@example", "+353", "Signed, and without a time"] {
                assert!(!page.text.contains(hidden), "{path}: {hidden}: {}", page.text);
            }
        }
        assert!(browser.get("/diary").text.contains("Aoife"));
        // A day that can't be read is said, and the current week is shown.
        let wrong = studio.browser_of(Role::Desk).get("/diary?from=soon");
        assert!(wrong.status == 422 && wrong.text.contains("value=\"soon\""), "{}", wrong.text);
    });
}

#[test]
fn a_time_is_held_held_for_longer_and_booked_and_a_taken_one_is_told_in_words() {
    on_each_engine(|studio| {
        studio.floor();
        let (quote, other) = (studio.signed_work(&["wash"]), studio.signed_work(&["wash"]));
        let desk = studio.browser_of(Role::Desk);
        let (page, others) = (format!("/diary/book/{quote}"), format!("/diary/book/{other}"));
        let first = first_time(&desk.get(&page));
        let taken = [main_form(&desk.get(&others).text), fields_of(&[("time", &first), ("act", "book")])].concat();
        let untimed = send(&desk, &page, &[("act", "hold")]);
        assert!(untimed.status == 422 && untimed.text.contains("id=\"time-fault\""), "{}", untimed.text);
        let form = [main_form(&desk.get(&page).text), fields_of(&[("time", &first), ("act", "hold")])].concat();
        let booking = led_to(&desk.post(&page, &form), "held");
        assert_eq!(led_to(&desk.post(&page, &form), "held"), booking, "sent twice, it takes one place");

        // The place of the one that is held can't be had: the page says so, and offers the others.
        let refused = desk.post(&others, &taken);
        assert_eq!(refused.status, 409, "{}", refused.text);
        assert!(!refused.text.contains("/v1/") && refused.text.contains("<title>Error: "), "{}", refused.text);
        assert_ne!(first_time(&refused), first);

        let until =
            |studio: &Studio| studio.owner().get(&format!("/v1/bookings/{booking}")).expect(200)["hold_until"].clone();
        let before = until(studio);
        studio.pass_minutes(10);
        led_to(&press(&desk, studio, &booking, "hold"), "held");
        assert!(until(studio).as_str() > before.as_str(), "{before}");
        let page = desk.get(&format!("/diary/{booking}"));
        assert!(page.text.contains("Held until") && page.text.contains("Book this time"), "{}", page.text);
        led_to(&press(&desk, studio, &booking, "book"), "booked");
        // What can't be done as things are is said on the booking's own page.
        let again = press(&desk, studio, &booking, "hold");
        assert!(again.status == 409 && again.text.contains("That was not done"), "{}", again.text);
    });
}

#[test]
fn a_wished_day_that_does_not_work_is_explained_and_times_can_be_limited() {
    on_each_engine(|studio| {
        let Floor { best, helper, .. } = studio.floor();
        let quote = studio.signed_work(&["coating"]);
        let desk = studio.browser_of(Role::Desk);
        let page = unescaped(&desk.get(&format!("/diary/book/{quote}?by=2026-03-02")).text);
        assert!(page.contains("Why not sooner") && page.contains("the work would be done"), "{page}");
        assert!(page.contains("What would help") && page.contains("The first time after that: "), "{page}");
        let limited = desk.get(&format!("/diary/book/{quote}?from=2026-03-09&bay_id={best}"));
        assert!(limited.text.contains("Monday 9 March 2026 at "), "{}", limited.text);
        let never = desk.get(&format!("/diary/book/{quote}?bay_id={best}&person_id={}", studio.hire(Role::Desk)));
        assert!(never.text.contains("No time to choose"), "{}", never.text);
        let past = desk.get(&format!("/diary/book/{quote}?by=2026-02-01"));
        assert!(past.status == 422 && past.text.contains("id=\"by-fault\""), "{}", past.text);
        assert!(desk.get(&format!("/diary/book/{quote}?person_id={helper}")).status == 200);
    });
}

#[test]
fn a_booking_moves_and_is_cancelled_missed_or_taken_in_and_each_is_undone() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let owner = studio.owner();
        let quote = studio.signed_work(&["wash"]);
        let booking = id(&owner.place(&quote, &floor.plain, "2026-03-03T09:00:00Z", false).expect(201));
        let desk = studio.browser_of(Role::Desk);
        let page = format!("/diary/{booking}/move");
        let wanted = format!("2026-03-04T08:00:00Z/{}", floor.best);
        led_to(&send(&desk, &page, &[("time", &wanted)]), "moved");
        let now = owner.get(&format!("/v1/bookings/{booking}")).expect(200);
        assert_eq!((&now["start"], &now["bay_id"]), (&"2026-03-04T08:00:00Z".into(), &floor.best.as_str().into()));

        let unsaid = send(&desk, &format!("/diary/{booking}/cancel"), &[]);
        assert!(unsaid.status == 422 && unsaid.text.contains("id=\"reason-fault\""), "{}", unsaid.text);
        led_to(&send(&desk, &format!("/diary/{booking}/cancel"), &[("reason", "Another week")]), "cancelled");
        assert!(desk.get(&format!("/diary/{booking}")).text.contains("Another week"));
        led_to(&send(&desk, &format!("/diary/{booking}/undo"), &[]), "undone");

        assert_eq!(press(&desk, studio, &booking, "missed").status, 409, "the car is not late yet");
        studio.pass_minutes(3 * 24 * 60);
        let desk = studio.browser_of(Role::Desk);
        led_to(&press(&desk, studio, &booking, "missed"), "missed");
        led_to(&send(&desk, &format!("/diary/{booking}/undo"), &[]), "undone");
        // It comes on another day than booked, so the page asks whether that is right.
        let asked = press(&desk, studio, &booking, "arrive");
        assert!(asked.status == 409 && asked.text.contains("Yes, do it"), "{}", asked.text);
        let yes = baywright_tests::browser::form(&asked.text);
        assert!([200, 303].contains(&desk.post(&format!("/diary/{booking}/arrive"), &yes).status));
        assert_eq!(studio.owner().get(&format!("/v1/bookings/{booking}")).expect(200)["state"], "IN_BAY");
        assert!(desk.get("/diary").text.contains(">here<"));
    });
}

#[test]
fn an_absence_shows_what_it_breaks_before_it_is_saved_and_a_plan_moves_it() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let api = studio.owner();
        let quote = studio.signed_work(&["polish"]);
        let booking = id(&api.place(&quote, &floor.best, "2026-03-03T09:00:00Z", false).expect(201));
        let owner = studio.browser_of(Role::Owner);
        let absences = format!("/v1/people/{}/absences", floor.polisher);
        let away = [("person_id", floor.polisher.as_str()), ("first_day", "2026-03-03")];
        let shown = send(&owner, "/diary/absences", &away);
        assert_eq!(shown.status, 200, "{}", shown.text);
        for said in ["One booking could not be kept", "Nothing is saved yet", "Niall Quirke is away", &booking] {
            assert!(shown.text.contains(said), "{said}: {}", shown.text);
        }
        assert!(items(studio, &absences).is_empty());
        let yes = main_form(&shown.text);
        let saved = owner.post("/diary/absences", &yes);
        assert_eq!(saved.header("location"), "/diary/absences?saved=yes&days=14", "{}", saved.text);
        assert_eq!(owner.post("/diary/absences", &yes).status, 303, "sent twice, it is one absence");
        assert_eq!(items(studio, &absences).len(), 1);
        // Nothing breaks a second time, and the same absence is refused on its own page.
        let twice = send(&owner, "/diary/absences", &away);
        assert!(twice.status == 409 && twice.text.contains("already away"), "{}", twice.text);

        let plan = send(&owner, "/diary/week-plan?days=14", &[("days", "14")]);
        assert_eq!(plan.status, 303, "{}", plan.text);
        let plan = plan.header("location").to_owned();
        let page = owner.get(&plan);
        for said in
            ["One car gets another place", "<h3>Before</h3>", "<h3>After</h3>", "not Tue 3 March", "Accept the plan"]
        {
            assert!(page.text.contains(said), "{said}: {}", page.text);
        }
        assert!(!studio.browser_of(Role::Desk).get(&plan).text.contains("Accept the plan"));
        let accepted = owner.post(&format!("{plan}/accept"), &main_form(&page.text));
        assert_eq!(accepted.header("location"), format!("{plan}?accepted=yes"), "{}", accepted.text);
        assert_ne!(api.get(&format!("/v1/bookings/{booking}")).expect(200)["finish"], "2026-03-03T12:15:00Z");
        let again = owner.post(&format!("{plan}/accept"), &main_form(&page.text));
        assert_eq!(again.status, 303, "sent twice, it is one acceptance");

        // It is removed by its button.
        let page = owner.get("/diary/absences").text;
        let remove = page.split("action=\"/diary/absences/").nth(1).and_then(|rest| rest.split('"').next()).unwrap();
        let form: Vec<_> = baywright_tests::browser::form(page.split(remove).nth(1).unwrap());
        assert_eq!(owner.post(&format!("/diary/absences/{remove}"), &form).status, 303);
        assert!(items(studio, &absences).is_empty());
    });
}

#[test]
fn a_closure_of_a_part_that_nothing_needs_is_saved_at_once_and_can_be_removed() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let owner = studio.browser_of(Role::Owner);
        let typed = [("bay_id", floor.plain.as_str()), ("first_day", "2026-03-05"), ("reason", "The floor is painted")];
        let saved = send(&owner, "/diary/closures", &typed);
        assert_eq!(saved.header("location"), "/diary/closures?saved=yes", "{}", saved.text);
        let page = owner.get("/diary/closures").text;
        assert!(page.contains("Bay 2, Thu 5 March 2026") && page.contains("The floor is painted"), "{page}");
        assert!(owner.get("/diary").text.contains("Bay 2 is closed: Thu 5 March 2026."));
        let far = send(&owner, "/diary/closures", &[("first_day", "2062-03-05"), ("reason", "Holidays")]);
        assert!(far.status == 409 && far.text.contains("Yes, do it"), "{}", far.text);
        let remove = page.split("action=\"/diary/closures/").nth(1).and_then(|rest| rest.split('"').next()).unwrap();
        let form: Vec<_> = baywright_tests::browser::form(page.split(remove).nth(1).unwrap());
        assert_eq!(owner.post(&format!("/diary/closures/{remove}"), &form).status, 303);
        assert!(items(studio, "/v1/closures").is_empty());
    });
}
