//! Withdrawing a published revision of the menu.

use baywright_core::platform::identity::Role;
use baywright_tests::make::menu::{small_menu, with};
use baywright_tests::on_each_engine;
use serde_json::{Value, json};

use super::{detail, text};

fn renamed(name: &str) -> Value {
    let mut menu = small_menu();
    menu["services"][0] = with(menu["services"][0].clone(), json!({ "name": name }));
    menu
}

#[test]
fn a_publication_is_undone_and_the_revision_before_is_in_force_again() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let first = owner.publish_menu(&renamed("First"));
        let withdraw = |revision: &Value, reason: Option<&str>| {
            let path = format!("/v1/menu/revisions/{}/withdraw", text(&revision["id"]));
            studio.owner().post(&path, &json!({ "reason": reason }))
        };
        studio.pass_minutes(1);
        let owner = studio.owner();
        let second = owner.publish_menu(&renamed("Second"));
        assert_eq!(owner.get("/v1/menu").expect(200)["revision"]["number"], 2);
        let problem = withdraw(&first, None).problem(409, "undo-first");
        assert!(detail(&problem).contains("A later revision replaced revision 1"), "{problem}");
        let draft = owner.get("/v1/menu/draft").expect(200);
        studio.pass_minutes(11);
        withdraw(&second, None).problem(422, "undo-reason-needed");
        let gone = withdraw(&second, Some("Last year's prices")).expect(200);
        assert_eq!((&gone["in_force"], gone["withdrawn_at"].is_string()), (&json!(false), true));
        let owner = studio.owner();
        let now = owner.get("/v1/menu").expect(200);
        assert_eq!((&now["revision"]["id"], &now["revision"]["withdrawn_at"]), (&first["id"], &Value::Null));
        assert_eq!(owner.get("/v1/menu/draft").expect(200), draft);
        // It stays readable, and the next one has a number of its own.
        let list = owner.get("/v1/menu/revisions").expect(200);
        assert!(list["items"][0]["withdrawn_at"].is_string() && list["items"][1]["withdrawn_at"].is_null(), "{list}");
        let path = format!("/v1/menu/revisions/{}", text(&second["id"]));
        assert_eq!(owner.get(&path).expect(200)["revision"]["in_force"], false);
        assert_eq!(owner.publish_menu(&renamed("Third"))["number"], 3);
        withdraw(&second, Some("Twice")).problem(409, "nothing-to-undo");
        studio.colleague(Role::Desk).post(&format!("{path}/withdraw"), &json!({})).problem(403, "not-allowed");
        studio.stranger().post(&format!("{path}/withdraw"), &json!({})).problem(404, "not-found");
    });
}

#[test]
fn a_revision_is_not_withdrawn_while_quotes_with_its_prices_wait() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        owner.publish_small_menu();
        studio.pass_minutes(1);
        let owner = studio.owner();
        let revision = owner.publish_menu(&renamed("Second"));
        let path = format!("/v1/menu/revisions/{}/withdraw", text(&revision["id"]));
        let (_, vehicle) = owner.add_customer_with_car();
        let draft = json!({ "condition": "FAIR", "lines": [{ "item": { "service": "maintenance-wash" } }] });
        let written = owner.write_quote(text(&vehicle["id"]), &draft).expect(201);
        let sent = owner.move_quote(&written, "send", &json!({ "by_mail": false })).expect(200);
        let problem = owner.post(&path, &json!({})).problem(409, "undo-first");
        assert!(detail(&problem).contains(text(&sent["number"])), "{problem}");
        owner.move_quote(&sent, "withdraw", &json!({ "reason": "Wrong prices" })).expect(200);
        owner.post(&path, &json!({})).expect(200);
        // One that is still to come is withdrawn before anybody sees it.
        let seen = owner.get("/v1/menu/draft").etag();
        let body = json!({ "from": "2026-04-01T08:00:00Z", "note": "" });
        let later = owner.act("/v1/menu/publish", &seen, &body).expect(201);
        let path = format!("/v1/menu/revisions/{}/withdraw", text(&later["id"]));
        owner.post(&path, &json!({})).expect(200);
        studio.pass_minutes(31 * 24 * 60);
        assert_eq!(studio.owner().get("/v1/menu").expect(200)["revision"]["number"], 1);
    });
}
