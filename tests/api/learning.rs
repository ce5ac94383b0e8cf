//! Learning over HTTP: what finished jobs say of budgets, and what customers are promised.

use baywright_core::platform::identity::Role;
use baywright_tests::make::booking::floor_menu;
use baywright_tests::make::quote;
use baywright_tests::on_each_engine;
use baywright_tests::studio::Studio;
use serde_json::{Value, json};

use crate::job::{act, arrived};

/// Washes a car, with that long at the clock; the inspection takes its fifteen minutes. Gives the job.
fn washed(studio: &Studio, minutes: i64) -> Value {
    let (booking, job) = arrived(studio, &["wash"]);
    for (code, minutes) in [("wash", minutes), ("final", 15)] {
        act(&studio.owner(), &job, code, "start", &json!({})).expect(200);
        studio.pass_minutes(minutes);
        act(&studio.owner(), &job, code, "finish", &json!({ "used": [] })).expect(200);
    }
    // Work that takes longer than its place moves the booking's promise, so that it is read again.
    let booking = studio.owner().get(&format!("/v1/bookings/{}", quote::id(&booking))).expect(200);
    studio.owner().move_booking(&booking, "ready", &json!({})).expect(200);
    job
}

/// What is said of a step.
fn learned(studio: &Studio, code: &str) -> Value {
    let all = studio.owner().get("/v1/learning/steps").expect(200);
    let steps = all["steps"].as_array().unwrap();
    steps.iter().find(|step| step["code"] == code).unwrap().clone()
}

#[test]
fn finished_jobs_say_by_step_and_size_class_what_budgets_are_worth() {
    on_each_engine(|studio| {
        studio.floor();
        for _ in 0..6 {
            washed(studio, 84);
        }
        let wash = learned(studio, "wash");
        // Six jobs of 1.4 times the budget beside the five that the budget counts for: e^(6 ln 1.4 ÷ 11).
        assert_eq!((&wash["jobs"], &wash["median_factor"]), (&json!(6), &json!("1.201")));
        assert_eq!((&wash["base_minutes"], &wash["suggested_base_minutes"]), (&json!(60), &json!(72)));
        let size = |at: usize, field: &str| wash["sizes"][at][field].clone();
        assert_eq!(
            (size(1, "size"), size(1, "jobs"), size(1, "learned_from")),
            (json!("MEDIUM"), json!(6), json!("SIZE_CLASS"))
        );
        assert_eq!((size(1, "budget_minutes"), size(1, "learned_minutes")), (json!(60), json!(72)));
        assert!(size(1, "promised_minutes").as_u64().unwrap() > 72);
        // No large car was washed, so that all cars speak for it.
        assert_eq!(
            (size(2, "size"), size(2, "jobs"), size(2, "learned_from")),
            (json!("LARGE"), json!(0), json!("STEP"))
        );
        assert_eq!(learned(studio, "final")["median_factor"], "1");
        let coat = learned(studio, "coat");
        assert_eq!((&coat["jobs"], &coat["sizes"][1]["learned_from"]), (&json!(0), &json!("NOTHING")));
        // It's nobody else's.
        studio.colleague(Role::Technician).get("/v1/learning/steps").problem(403, "not-allowed");
        let stranger = studio.stranger();
        stranger.get("/v1/learning/steps").problem(409, "no-menu");
        stranger.publish_menu(&floor_menu());
        let theirs = stranger.get("/v1/learning/steps").expect(200);
        assert!(theirs["steps"].as_array().unwrap().iter().all(|step| step["jobs"] == 0), "{theirs}");
    });
}

#[test]
fn a_step_that_was_done_three_times_is_measured_by_three_budgets() {
    on_each_engine(|studio| {
        studio.floor();
        studio.owner().publish_menu(&floor_menu());
        let owner = studio.owner();
        let (_, vehicle) = owner.add_customer_with_car();
        let draft = json!({ "condition": "FAIR", "lines": [{ "item": { "service": "wash" }, "quantity": "3" }] });
        let written = owner.write_quote(vehicle["id"].as_str().unwrap(), &draft).expect(201);
        let sent = owner.move_quote(&written, "send", &json!({ "by_mail": false })).expect(200);
        let quote = quote::id(&owner.note_yes(&sent, &[]).expect(200));
        let booking = owner.book_first(&quote);
        let booking = owner.move_booking(&booking, "arrive", &json!({})).expect(200);
        let job = owner.get("/v1/jobs").expect(200)["items"][0].clone();
        for (code, minutes) in [("wash", 180), ("final", 45)] {
            // Signed in afresh: sessions end while the work goes on.
            act(&studio.owner(), &job, code, "start", &json!({})).expect(200);
            studio.pass_minutes(minutes);
            act(&studio.owner(), &job, code, "finish", &json!({ "used": [] })).expect(200);
        }
        let booking = studio.owner().get(&format!("/v1/bookings/{}", quote::id(&booking))).expect(200);
        studio.owner().move_booking(&booking, "ready", &json!({})).expect(200);
        let wash = learned(studio, "wash");
        assert_eq!((&wash["jobs"], &wash["outlier_count"]), (&json!(1), &json!(0)));
        assert_eq!((&wash["median_factor"], &wash["suggested_base_minutes"]), (&json!("1"), &json!(60)));
    });
}

#[test]
fn a_forgotten_clock_teaches_nothing_and_is_listed() {
    on_each_engine(|studio| {
        studio.floor();
        washed(studio, 60);
        let long = washed(studio, 241);
        let short = washed(studio, 14);
        washed(studio, 240);
        let wash = learned(studio, "wash");
        assert_eq!((&wash["jobs"], &wash["outlier_count"]), (&json!(2), &json!(2)));
        // The latest first.
        let [one, other] = [&wash["outliers"][0], &wash["outliers"][1]];
        assert_eq!((&one["job_id"], &one["why"]), (&short["id"], &json!("TOO_SHORT")));
        assert_eq!((&other["job_id"], &other["why"]), (&long["id"], &json!("TOO_LONG")));
        assert_eq!((&other["actual_minutes"], &other["budget_minutes"]), (&json!(241), &json!(60)));
        assert_eq!(other["text"], "The clock says more than four times its budget.");
        assert_eq!((&other["size"], &other["condition"]), (&json!("MEDIUM"), &json!("FAIR")));
    });
}

#[test]
fn what_was_removed_or_is_under_way_teaches_nothing() {
    on_each_engine(|studio| {
        studio.floor();
        let (booking, job) = arrived(studio, &["wash"]);
        act(&studio.owner(), &job, "wash", "start", &json!({})).expect(200);
        studio.pass_minutes(90);
        act(&studio.owner(), &job, "wash", "finish", &json!({ "used": [] })).expect(200);
        assert_eq!(learned(studio, "wash")["jobs"], 0);
        act(&studio.owner(), &job, "final", "remove", &json!({ "reason": "In a hurry" })).expect(200);
        studio.owner().move_booking(&booking, "ready", &json!({})).expect(200);
        assert_eq!(learned(studio, "wash")["jobs"], 1);
        let last = learned(studio, "final");
        assert_eq!((&last["jobs"], &last["outlier_count"]), (&json!(0), &json!(0)));
    });
}

#[test]
fn the_owner_takes_a_learned_budget_into_the_draft() {
    on_each_engine(|studio| {
        studio.floor();
        let mut menu = floor_menu();
        menu["services"][1]["steps"][0]["base_minutes"] = json!(90);
        studio.owner().publish_menu(&menu);
        let apply = "/v1/learning/steps/wash/apply";
        let draft = || studio.owner().get("/v1/menu/draft");
        studio.owner().act(apply, &draft().etag(), &json!({})).problem(409, "nothing-learned");
        for _ in 0..6 {
            washed(studio, 84);
        }
        let seen = draft().etag();
        studio.colleague(Role::Desk).act(apply, &seen, &json!({})).problem(403, "not-allowed");
        studio.owner().act("/v1/learning/steps/wax/apply", &seen, &json!({})).problem(404, "not-found");
        let before = learned(studio, "wash");
        let applied = studio.owner().act(apply, &seen, &json!({})).expect(200);
        assert_eq!(applied["base_minutes"], before["suggested_base_minutes"]);
        assert_eq!((&applied["minutes_before"], &applied["jobs"]), (&json!(60), &json!(6)));
        studio.owner().act(apply, &seen, &json!({})).problem(412, "changed-meanwhile");
        let now = draft().expect(200);
        let minutes = |list: &str, code: &str| {
            let items = now["menu"][list].as_array().unwrap();
            items.iter().find(|item| item["code"] == code).unwrap().clone()
        };
        assert_eq!(minutes("steps", "wash")["base_minutes"], applied["base_minutes"]);
        assert_eq!(minutes("steps", "machine")["base_minutes"], 120);
        // What a service asks for instead grows with it.
        let polish = minutes("services", "polish");
        let own =
            polish["steps"].as_array().unwrap().iter().find(|used| used["step"] == "wash").unwrap()["base_minutes"]
                .clone();
        assert!(own.as_u64().unwrap() > 100, "{own}");
        // Customers get it once it is published, and it isn't counted a second time.
        assert_eq!(learned(studio, "wash")["base_minutes"], 60);
        studio.owner().act("/v1/menu/publish", &draft().etag(), &json!({ "from": null, "note": "" })).expect(201);
        let after = learned(studio, "wash");
        assert_eq!(after["base_minutes"], applied["base_minutes"]);
        let factor = |view: &Value| view["median_factor"].as_str().unwrap().parse::<f64>().unwrap();
        assert!(factor(&after) < factor(&before) && factor(&after) >= 1.0, "{after}");
    });
}

#[test]
fn a_plan_shows_sum_median_and_promise_as_they_were_when_it_was_made() {
    on_each_engine(|studio| {
        studio.floor();
        let before = studio.signed_work(&["wash"]);
        let outlook = |quote: &str| studio.owner().get(&format!("/v1/quotes/{quote}/plan")).expect(200)["work"].clone();
        let first = outlook(&before);
        // Budgets of 60 and 15 minutes with the usual spread, by Fenton and Wilkinson: 75.88 and 91.87.
        assert_eq!(first["attended_minutes"], 75);
        let said = &first["outlook"];
        assert_eq!((&said["median_minutes"], &said["promised_minutes"]), (&json!(76), &json!(92)));
        assert_eq!(said["promise_percent"], 80);
        let step = json!({ "code": "wash", "median_minutes": 60, "jobs": 0, "learned_from": "NOTHING" });
        assert_eq!(said["steps"][0], step);
        for _ in 0..6 {
            washed(studio, 84);
        }
        assert_eq!(outlook(&before), first);
        let later = outlook(&studio.signed_work(&["wash"]));
        let step = json!({ "code": "wash", "median_minutes": 72, "jobs": 6, "learned_from": "SIZE_CLASS" });
        assert_eq!((&later["outlook"]["steps"][0], &later["attended_minutes"]), (&step, &json!(75)));
        assert!(later["outlook"]["promised_minutes"].as_u64() > Some(92), "{later}");
        // A shop that wants to be surer promises more.
        studio.owner().change_terms(&json!({ "promise_percent": 95 }));
        let surer = outlook(&studio.signed_work(&["wash"]));
        assert_eq!(surer["outlook"]["promise_percent"], 95);
        assert!(surer["outlook"]["promised_minutes"].as_u64() > later["outlook"]["promised_minutes"].as_u64());
    });
}

/// RULES, learning: the quote shows the median; what was sent goes on showing what was believed then.
#[test]
fn a_quote_shows_the_median_and_what_was_sent_keeps_it() {
    on_each_engine(|studio| {
        studio.floor();
        let planned = |quote: &str| studio.owner().get(&format!("/v1/quotes/{quote}/plan")).expect(200)["work"].clone();
        let median = |quote: &str| planned(quote)["outlook"]["median_minutes"].clone();
        let minutes = |view: &Value| {
            let document = &view["latest"]["document"];
            (document["lines"][0]["minutes"].clone(), document["required_totals"]["minutes"].clone())
        };
        assert_eq!(median(&studio.signed_work(&["wash"])), json!(76));
        let quoted = |email: &str| studio.sent_quote_with(email, |car| quote::draft(car, &["wash"], &["polish"]));
        let early = quoted("early@example.com");
        assert_eq!(minutes(&early.view), (json!(76), json!(76)));
        for _ in 0..6 {
            washed(studio, 150);
        }
        let late = quoted("late@example.com");
        let now = median(&studio.signed_work(&["wash"]));
        assert!(now.as_u64() > Some(80), "{now}");
        assert_eq!(minutes(&late.view), (now.clone(), now));
        // The page sums each choice up anew: from what was kept.
        let page = |of: &quote::SentQuote, ticked: &[u32]| studio.visitor(&of.token).check(ticked).text;
        assert!(page(&early, &[]).contains("about 1½ hours"), "{}", page(&early, &[]));
        assert!(!page(&late, &[]).contains("about 1½ hours"));
        // A step of which nothing new is known stays with its budget.
        let both = |of: &quote::SentQuote| page(of, &[1]).split("about ").nth(1).unwrap()[..10].to_owned();
        assert_ne!(both(&early), both(&late));
        let view = studio.owner().get(&format!("/v1/quotes/{}", early.id)).expect(200);
        assert_eq!(minutes(&view), (json!(76), json!(76)));
    });
}

#[test]
fn what_is_promised_has_the_margin_in_open_time_and_holds_no_bay() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let owner = studio.owner();
        let (one, two, three) =
            (studio.signed_work(&["wash"]), studio.signed_work(&["wash"]), studio.signed_work(&["wash"]));
        let found = owner.get(&format!("/v1/quotes/{one}/availability?count=1")).expect(200);
        let work = json!({ "budget_minutes": 75, "median_minutes": 76, "promise_percent": 80, "promised_minutes": 92 });
        assert_eq!(found["work"], work);
        let time = &found["times"][0];
        assert_eq!(
            (&time["finish"], &time["promised"]),
            (&json!("2026-03-02T09:15:00Z"), &json!("2026-03-02T09:45:00Z"))
        );
        let booking = owner.place(&one, &floor.best, "2026-03-02T08:00:00Z", false).expect(201);
        assert_eq!((&booking["finish"], &booking["promised"]), (&time["finish"], &time["promised"]));
        // The next car may come in when the diary says that the bay is free.
        owner.place(&two, &floor.best, "2026-03-02T09:15:00Z", false).expect(201);
        // Work to closing time: the margin is the first thing on the next day.
        let late = owner.place(&three, &floor.best, "2026-03-02T16:15:00Z", false).expect(201);
        assert_eq!(
            (&late["finish"], &late["promised"]),
            (&json!("2026-03-02T17:30:00Z"), &json!("2026-03-03T08:30:00Z"))
        );
        let there = json!({ "bay_id": floor.plain, "start": "2026-03-03T10:00:00Z" });
        let moved = owner.move_booking(&late, "move", &there).expect(200);
        assert_eq!(moved["promised"], "2026-03-03T11:45:00Z");
    });
}

#[test]
fn a_car_that_stays_longer_is_not_promised_sooner() {
    on_each_engine(|studio| {
        studio.floor();
        let (booking, _) = arrived(studio, &["wash"]);
        assert_eq!(
            (&booking["finish"], &booking["promised"]),
            (&json!("2026-03-02T09:15:00Z"), &json!("2026-03-02T09:45:00Z"))
        );
        let overruns = |finish: &str| json!({ "overruns": [{ "booking_id": booking["id"], "finish": finish }] });
        let accept = |finish: &str| {
            let owner = studio.owner();
            let made = owner.post("/v1/reschedulings", &overruns(finish)).expect(201);
            let path = format!("/v1/reschedulings/{}/accept", made["id"].as_str().unwrap());
            owner.act(&path, &format!("\"{}\"", made["version"]), &json!({})).expect(200);
            owner.get(&format!("/v1/bookings/{}", booking["id"].as_str().unwrap())).expect(200)
        };
        let little = accept("2026-03-02T09:20:00Z");
        assert_eq!(
            (&little["finish"], &little["promised"]),
            (&json!("2026-03-02T09:20:00Z"), &json!("2026-03-02T09:45:00Z"))
        );
        let much = accept("2026-03-02T10:52:00Z");
        assert_eq!(
            (&much["finish"], &much["promised"]),
            (&json!("2026-03-02T10:52:00Z"), &json!("2026-03-02T11:00:00Z"))
        );
    });
}

#[test]
fn a_promise_is_a_time_that_people_say_while_the_shop_is_open() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let owner = studio.owner();
        let promised = |start: &str, step: u32| {
            owner.change_terms(&json!({ "promise_step_minutes": step }));
            let quote = studio.signed_work(&["wash"]);
            let from = format!("/v1/quotes/{quote}/availability?count=1&from={start}");
            let offered = owner.get(&from).expect(200)["times"][0]["promised"].clone();
            let booking = owner.place(&quote, &floor.plain, start, false).expect(201);
            assert_eq!(booking["promised"], offered);
            owner.move_booking(&booking, "cancel", &json!({ "reason": "Only tried" })).expect(200);
            offered.as_str().unwrap().to_owned()
        };
        // 75 minutes by the budgets and 17 beyond them, so 9:32 to the minute.
        let start = "2026-03-02T08:00:00Z";
        assert_eq!(promised(start, 1), "2026-03-02T09:32:00Z");
        assert_eq!(promised(start, 15), "2026-03-02T09:45:00Z");
        assert_eq!(promised(start, 60), "2026-03-02T10:00:00Z");
        // At the end of the day it is closing time, and not 18:00; beyond it, a full step of the next morning.
        assert_eq!(promised("2026-03-02T15:45:00Z", 60), "2026-03-02T17:30:00Z");
        assert_eq!(promised("2026-03-02T16:15:00Z", 30), "2026-03-03T08:30:00Z");
        let seven = {
            let mut shop = owner.get("/v1/shop").expect(200);
            shop["terms"]["promise_step_minutes"] = json!(7);
            let body =
                baywright_tests::make::shop::without(&shop, &["id", "version", "currency", "created_at", "updated_at"]);
            owner.put("/v1/shop", &owner.get("/v1/shop").etag(), &body).problem(422, "invalid-value")
        };
        assert_eq!(seven["errors"][0]["pointer"], "/terms/promise_step_minutes", "{seven}");
    });
}
