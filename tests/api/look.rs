//! What is odd at the car and on its bill is pointed out, and never refused.

use baywright_tests::answer::Answer;
use baywright_tests::make::inspection::body;
use baywright_tests::make::menu::with;
use baywright_tests::make::quote::id;
use baywright_tests::on_each_engine;
use baywright_tests::person::Person;
use baywright_tests::studio::Studio;
use serde_json::{Value, json};

use crate::job::{act, arrived, pass};

/// The body of a good answer with its warnings, which [`Answer::expect`] leaves out.
trait Whole {
    fn whole(self) -> Value;
}

impl Whole for Answer {
    #[track_caller]
    fn whole(self) -> Value {
        assert!(self.status < 300, "{}: {}", self.asked, self.text);
        self.json()
    }
}

/// Codes, pointers and texts of an answer's warnings.
fn warnings(answer: &Value) -> Vec<(&str, &str, &str)> {
    let each = answer["warnings"].as_array().unwrap().iter();
    each.map(|one| (text(&one["code"]), text(&one["pointer"]), text(&one["detail"]))).collect()
}

fn text(value: &Value) -> &str {
    value.as_str().unwrap()
}

#[test]
fn whoever_lacks_a_steps_skill_is_named_unless_somebody_with_it_is_there() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let (_, job) = arrived(studio, &["polish"]);
        let owner = studio.owner();
        pass(&owner, &job, "wash");
        let helper = json!({ "person_id": floor.helper });
        let started = act(&owner, &job, "machine", "start", &helper).whole();
        assert_eq!(
            warnings(&started),
            [(
                "skill-missing",
                "/person_id",
                "machine needs the skill correction, which Orla Shea doesn't have. Let somebody with the skill do it, or add \
                 the skill to this person."
            )]
        );
        act(&owner, &job, "machine", "undo", &json!({})).whole();
        let started = act(&owner, &job, "machine", "start", &json!({ "person_id": floor.polisher })).whole();
        assert_eq!(warnings(&started), []);
        let joined = act(&owner, &job, "machine", "start", &helper).whole();
        assert_eq!(warnings(&joined), []);
    });
}

#[test]
fn far_more_of_a_product_than_planned_is_pointed_out() {
    on_each_engine(|studio| {
        studio.floor();
        let (_, job) = arrived(studio, &["wash"]);
        let owner = studio.owner();
        act(&owner, &job, "wash", "start", &json!({})).whole();
        // 10 l of shampoo are planned, ready to use.
        let used = |amount: &str| json!({ "used": [{ "product": "shampoo", "amount": amount }] });
        let done = act(&owner, &job, "wash", "finish", &used("99000")).whole();
        let (code, pointer, detail) = warnings(&done)[0];
        assert_eq!((code, pointer), ("used-far-more", "/used"));
        assert!(detail.contains("99000 ml of shampoo is far more than the 10000 ml planned for wash"), "{detail}");
        assert_eq!(done["used"][0]["amount"], "99000");
        act(&owner, &job, "wash", "undo", &json!({})).whole();
        assert_eq!(warnings(&act(&owner, &job, "wash", "finish", &used("30000")).whole()), []);
        act(&owner, &job, "final", "start", &json!({})).whole();
        let done = act(&owner, &job, "final", "finish", &used("1")).whole();
        assert_eq!(warnings(&done)[0].0, "product-not-planned");
    });
}

#[test]
fn an_odometer_that_shows_less_than_before_is_pointed_out() {
    on_each_engine(|studio| {
        studio.floor();
        let (booking, job) = arrived(studio, &["wash"]);
        let owner = studio.owner();
        let car = body(booking["vehicle_id"].as_str().unwrap());
        let shown = |odometer: u32| with(car.clone(), json!({ "odometer": odometer }));
        assert_eq!(warnings(&owner.post("/v1/inspections", &shown(61_234)).whole()), []);
        let second = owner.post("/v1/inspections", &shown(12)).whole();
        let (code, pointer, detail) = warnings(&second)[0];
        assert_eq!((code, pointer), ("odometer-lower", "/odometer"));
        assert_eq!(detail, "Check the odometer: it showed 61234 km before, and now 12 km.");
        let path = format!("/v1/inspections/{}", id(&second));
        let put = owner.put(&path, "\"1\"", &shown(61_240)).whole();
        assert_eq!(warnings(&put), []);
        for code in ["wash", "final"] {
            pass(&owner, &job, code);
        }
        let ready = owner.move_booking(&booking, "ready", &json!({})).whole();
        let handover = |odometer: u32| json!({ "received_by": "Aoife Byrne", "odometer": odometer, "aftercare": "", "note": "", "checklist": [] });
        let gone = owner.move_booking(&ready, "hand-over", &handover(6_124)).whole();
        assert_eq!(warnings(&gone)[0].0, "odometer-lower");
        let back = owner.move_booking(&gone, "undo", &json!({})).whole();
        assert_eq!(warnings(&owner.move_booking(&back, "hand-over", &handover(61_240)).whole()), []);
    });
}

#[test]
fn readings_where_there_is_no_paint_are_pointed_out() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let (_, vehicle) = owner.add_customer_with_car();
        let read = json!([
            { "panel": "BONNET", "micrometres": [120, 118, 125] }, { "panel": "GLASS", "micrometres": [120, 118, 125] }
        ]);
        let body = with(body(vehicle["id"].as_str().unwrap()), json!({ "readings": read }));
        let made = owner.post("/v1/inspections", &body).whole();
        assert_eq!(
            warnings(&made),
            [(
                "reading-not-on-paint",
                "/readings/1/panel",
                "There is no paint to measure on: glass. Check that the right panel was chosen."
            )]
        );
    });
}

/// A car that was washed and whose polish was removed: the owner, its booking and its job.
fn polish_is_removed(studio: &Studio) -> (Person, Value, Value) {
    studio.floor();
    let (booking, job) = arrived(studio, &["polish"]);
    let owner = studio.owner();
    pass(&owner, &job, "wash");
    act(&owner, &job, "machine", "remove", &json!({ "reason": "Paint too thin" })).whole();
    (owner, booking, job)
}

#[test]
fn while_the_car_is_in_the_bay_nothing_is_to_be_undone_about_removed_work() {
    on_each_engine(|studio| {
        let (owner, booking, _) = polish_is_removed(studio);
        let draft = owner.post("/v1/invoices", &json!({ "quote_id": booking["quote_id"] })).whole();
        let (code, _, detail) = warnings(&draft)[0];
        assert_eq!(code, "removed-but-billed");
        assert!(detail.contains("agree a variation") && !detail.contains("undo"), "{detail}");
    });
}

#[test]
fn removed_work_that_is_still_billed_is_named_until_the_invoice_is_issued() {
    on_each_engine(|studio| {
        let (owner, booking, job) = polish_is_removed(studio);
        pass(&owner, &job, "final");
        let says = |answer: &Value, then: &str| {
            let all = warnings(answer);
            assert_eq!(all.len(), 1, "{answer}");
            let (code, _, detail) = all[0];
            assert_eq!(code, "removed-but-billed");
            let named = "machine was removed, but polish is still billed in full. If the customer should pay less, ";
            assert!(detail.starts_with(named) && detail.contains(then), "{detail}");
        };
        let body = json!({ "received_by": "Aoife Byrne", "aftercare": "", "note": "", "checklist": [] });
        let soon = owner.move_booking(&booking, "hand-over", &body).problem(409, "wrong-state");
        assert!(soon["detail"].as_str().unwrap().contains("declare it ready first"), "{soon}");
        let ready = owner.move_booking(&booking, "ready", &json!({})).whole();
        says(&ready, "undo \"ready\"");
        let handover = json!({ "received_by": "Aoife Byrne", "aftercare": "", "note": "", "checklist": [] });
        let gone = owner.move_booking(&ready, "hand-over", &handover).whole();
        says(&gone, "undo the hand-over");
        let draft = owner.post("/v1/invoices", &json!({ "quote_id": booking["quote_id"] })).whole();
        says(&draft, "before the invoice is issued");
        let path = format!("/v1/invoices/{}", id(&draft));
        let again = owner.put(&path, "\"1\"", &json!({})).whole();
        says(&again, "before the invoice is issued");
        let issued = owner.act(&format!("{path}/issue"), &format!("\"{}\"", again["version"]), &json!({})).whole();
        says(&issued, "agree with the customer how it is credited");
    });
}

#[test]
fn nothing_is_said_where_all_work_was_done() {
    on_each_engine(|studio| {
        studio.floor();
        let (booking, job) = arrived(studio, &["wash"]);
        let owner = studio.owner();
        for code in ["wash", "final"] {
            pass(&owner, &job, code);
        }
        let ready = owner.move_booking(&booking, "ready", &json!({})).whole();
        assert_eq!(warnings(&ready), []);
        let draft = owner.post("/v1/invoices", &json!({ "quote_id": booking["quote_id"] })).whole();
        assert_eq!(warnings(&draft), []);
    });
}

#[test]
fn once_the_invoice_is_issued_no_variation_is_advised_about_removed_work() {
    on_each_engine(|studio| {
        let (owner, booking, job) = polish_is_removed(studio);
        pass(&owner, &job, "final");
        let draft = owner.post("/v1/invoices", &json!({ "quote_id": booking["quote_id"] })).whole();
        owner.act(&format!("/v1/invoices/{}/issue", id(&draft)), "\"1\"", &json!({})).whole();
        let ready = owner.move_booking(&booking, "ready", &json!({})).whole();
        let handover = json!({ "received_by": "Aoife Byrne", "aftercare": "", "note": "", "checklist": [] });
        let gone = owner.move_booking(&ready, "hand-over", &handover).whole();
        for answer in [&ready, &gone] {
            let (code, _, detail) = warnings(answer)[0];
            assert_eq!(code, "removed-but-billed");
            assert!(detail.contains("agree with the customer how it is credited"), "{detail}");
            assert!(!detail.contains("agree a variation"), "{detail}");
        }
        let less = json!({ "reason": "Not polished", "dropped": [0] });
        let path = format!("/v1/quotes/{}/variations", booking["quote_id"].as_str().unwrap());
        let problem = owner.post(&path, &less).problem(409, "invoiced-already");
        let said = problem["detail"].as_str().unwrap();
        assert!(said.contains("for work that was taken off, agree with the customer"), "{said}");
    });
}

#[test]
fn a_service_of_which_several_steps_were_removed_is_named_once() {
    on_each_engine(|studio| {
        studio.floor();
        let (booking, job) = arrived(studio, &["polish"]);
        let owner = studio.owner();
        for code in ["wash", "machine", "final"] {
            act(&owner, &job, code, "remove", &json!({ "reason": "Not wanted any more" })).whole();
        }
        let ready = owner.move_booking(&booking, "ready", &json!({})).whole();
        let all = warnings(&ready);
        assert_eq!(all.len(), 1, "{ready}");
        assert!(all[0].2.starts_with("wash, machine, final were removed, but polish is still billed"), "{ready}");
    });
}

#[test]
fn an_invoice_for_a_car_on_which_no_work_has_begun_is_pointed_out() {
    on_each_engine(|studio| {
        studio.floor();
        let (booking, job) = arrived(studio, &["wash"]);
        let owner = studio.owner();
        let codes = |answer: &Value| -> Vec<String> {
            warnings(answer).into_iter().map(|(code, _, _)| code.to_owned()).collect()
        };
        let draft = owner.post("/v1/invoices", &json!({ "quote_id": booking["quote_id"] })).whole();
        assert_eq!(codes(&draft), ["invoiced-before-work"]);
        let path = format!("/v1/invoices/{}", id(&draft));
        act(&owner, &job, "wash", "start", &json!({})).whole();
        let again = owner.put(&path, "\"1\"", &json!({})).whole();
        assert_eq!(codes(&again), [""; 0]);
    });
}
