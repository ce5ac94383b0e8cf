//! What the customer is shown: their own side of prices and cautions, the studio behind the page, and what changes.

use baywright_tests::make::menu::{small_menu, with};
use baywright_tests::make::quote::tag;
use baywright_tests::on_each_engine;
use baywright_tests::visitor::{Visitor, changed};
use serde_json::{Value, json};

const MAIL: &str = "aoife.byrne@example.com";

fn rows(explanation: &Value) -> Vec<String> {
    let rows = explanation.as_array().unwrap().iter();
    rows.map(|row| row["kind"].as_str().unwrap().to_owned()).collect()
}

#[test]
fn the_customer_sees_what_a_price_depends_on_and_the_studio_sees_how_it_was_made() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        // In fair condition nothing is added for it, so that only a worse one is said.
        let asked = |_: &str| {
            let mut draft = json!({ "condition": "HEAVY", "lines": [{ "item": { "service": "polish-one-step" } }] });
            draft["lines"][0]["discount"] = json!({ "off": { "percent": "10" }, "reason": "Regular customer" });
            draft
        };
        let sent = studio.sent_quote_with(MAIL, asked);
        let latest = &sent.view["latest"];
        let line = &latest["document"]["lines"][0];
        assert_eq!(rows(&line["explanation"]), ["SIZE", "CONDITION", "DISCOUNT"], "{line}");
        let sealed = latest["document"].to_string();
        for inner in ["PER_HOUR", "BASE_MINUTES", "LABOUR", "PRICED_BY"] {
            assert!(!sealed.contains(inner), "{inner}: {sealed}");
        }
        let full = rows(&latest["explanation"][0]["rows"]);
        for kind in ["LABOUR", "PRODUCT", "ROUNDED_UP", "DISCOUNT"] {
            assert!(full.iter().any(|row| row == kind), "{kind}: {full:?}");
        }
        let page = studio.visitor(&sent.token).get("").text;
        for said in
            ["Size: medium, condition: heavy.", "Regular customer: <span class=\"whole\">−EUR", "Working time: about"]
        {
            assert!(page.contains(said), "{said}: {page}");
        }
        for inner in ["an hour", "ml used", "How this price is calculated"] {
            assert!(!page.contains(inner), "{inner}: {page}");
        }
        // What was sent before stays as it was; the next one is shown in full.
        owner.change_terms(&json!({ "price_detail": "FULL" }));
        assert_eq!(owner.get(&format!("/v1/quotes/{}", sent.id)).expect(200)["latest"]["document"], latest["document"]);
        let full = studio.sent_quote_with("nora@example.com", asked);
        let line = &full.view["latest"]["document"]["lines"][0];
        assert_eq!(line["explanation"], full.view["latest"]["explanation"][0]["rows"]);
        let page = studio.visitor(&full.token).get("").text;
        assert!(page.contains("How this price is calculated") && page.contains("an hour"), "{page}");
        assert_eq!(studio.visitor(&full.token).accept(&[], "Nora Quirke").status, 303);
        assert_eq!(studio.in_shop(studio.shop(), baywright_core::seal::usecase::verify_seals), []);
    });
}

#[test]
fn cautions_for_the_crew_stay_off_the_page_and_out_of_the_sealed_document() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let mut menu = small_menu();
        let step = menu["steps"].as_array_mut().unwrap().iter_mut().find(|step| step["code"] == "coat").unwrap();
        *step = with(
            step.clone(),
            json!({ "own_cautions": ["Level within two minutes."], "customer_cautions": ["Don't wash it for a week."] }),
        );
        let shampoo = menu["products"].as_array_mut().unwrap().iter_mut().find(|one| one["code"] == "shampoo").unwrap();
        *shampoo = with(shampoo.clone(), json!({ "customer_cautions": ["It smells of apples for a day."] }));
        owner.publish_menu(&menu);
        let kept = owner.get("/v1/menu/draft").expect(200);
        assert!(kept.to_string().contains("customer_cautions"), "{kept}");
        let sent = studio.sent_quote(MAIL, &["decontamination", "correction-two-step", "coating"], &[]);
        let told: Vec<&str> = sent.view["latest"]["document"]["cautions"]
            .as_array()
            .unwrap()
            .iter()
            .map(|one| one.as_str().unwrap())
            .collect();
        assert_eq!(told.len(), 3, "{told:?}");
        for said in ["Don't wash it for a week.", "It smells of apples for a day."] {
            assert!(told.contains(&said), "{told:?}");
        }
        assert!(told.iter().any(|text| text.contains("too thin") && !text.contains("ask the owner")), "{told:?}");
        let page = studio.visitor(&sent.token).get("").text;
        assert!(page.contains("Good to know about the work") && page.contains("It smells of apples"), "{page}");
        for inner in ["Level within", "poisonous", "gloves", "residual-current", "high-voltage", "storm drain"] {
            assert!(!page.contains(inner), "{inner}: {page}");
        }
        owner.note_yes(&sent.view, &[]).expect(200);
        let plan = owner.get(&format!("/v1/quotes/{}/plan", sent.id)).expect(200).to_string();
        assert!(plan.contains("Level within two minutes.") && plan.contains("storm drain"), "{plan}");
        assert!(!plan.contains("apples") && !plan.contains("for a week"), "{plan}");
    });
}

#[test]
fn a_link_that_opens_nothing_names_the_studio_and_how_to_reach_it() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let now = owner.get("/v1/shop");
        let (tag, mut shop) = (now.etag(), now.expect(200));
        for name in ["id", "version", "currency", "created_at", "updated_at"] {
            shop.as_object_mut().unwrap().remove(name);
        }
        shop["phone"] = json!("+353 20 910 0400");
        shop["email"] = json!("desk@example.com");
        shop["legal_name"] = json!("Test Studio Limited");
        shop["address"] = json!({ "street": "1 Test Quay", "postcode": "D02 X285", "city": "Dublin", "country": "IE" });
        shop["vat_id"] = json!("IE1234567FA");
        owner.put("/v1/shop", &tag, &shop).expect(200);
        let sent = studio.sent_quote(MAIL, &["decontamination"], &[]);
        let page = studio.visitor(&sent.token).get("").text;
        let ways = ["href=\"tel:+353209100400\"", "href=\"mailto:desk@example.com\"", "Test Studio"];
        let imprint = ["Test Studio Limited", "1 Test Quay, D02 X285 Dublin", "VAT number IE1234567FA"];
        for said in ways.iter().chain(&imprint).chain(&["Monday 2 March 2026"]) {
            assert!(page.contains(said), "{said}: {page}");
        }
        let unknown = studio.visitor(&"0".repeat(43)).get("");
        let link = owner.get("/v1/links").expect(200)["items"][0]["id"].as_str().unwrap().to_owned();
        owner.post(&format!("/v1/links/{link}/revoke"), &json!({})).expect(200);
        let revoked = studio.visitor(&sent.token).get("");
        assert_eq!((unknown.status, revoked.status), (404, 410));
        for page in [&unknown, &revoked] {
            for said in ways {
                assert!(page.text.contains(said), "{said}: {}", page.text);
            }
        }
        // With another studio in the same program nobody can tell whose an unknown link was.
        studio.stranger();
        let unknown = studio.visitor(&"1".repeat(43)).get("");
        assert!(!unknown.text.contains("tel:"), "{}", unknown.text);
        assert!(studio.visitor(&sent.token).get("").text.contains("tel:"));
    });
}

fn sums(visitor: &Visitor) -> Vec<(String, String)> {
    let page = visitor.get("").text;
    let (_, sums) = page.split_once("class=\"sums\"").unwrap();
    let sums = sums.split("</dl>").next().unwrap();
    let rows = sums.split("<dt>").skip(1).map(|row| {
        let (name, rest) = row.split_once("</dt>").unwrap();
        let amount = rest.split('>').nth(1).unwrap().split('<').next().unwrap();
        (name.to_owned(), amount.to_owned())
    });
    rows.collect()
}

#[test]
fn a_change_shows_what_was_agreed_what_it_adds_the_new_total_and_the_new_time() {
    on_each_engine(|studio| {
        studio.floor();
        let owner = studio.owner();
        let quote = studio.signed_work(&["wash"]);
        let booking = owner.book_first(&quote);
        let booking = owner.move_booking(&booking, "arrive", &json!({})).expect(200);
        let change = |service: &str| {
            let draft = json!({ "reason": "Deep scratches.", "lines": [{ "item": { "service": service } }] });
            let written = owner.post(&format!("/v1/quotes/{quote}/variations"), &draft).expect(201);
            let path = format!("/v1/variations/{}", written["id"].as_str().unwrap());
            let sent = owner.act(&format!("{path}/send"), "\"1\"", &json!({})).expect(200);
            (sent, studio.visitor(&studio.token_mailed_to(MAIL)))
        };
        let (sent, visitor) = change("polish");
        let shown = &sent["document"]["change"];
        let before = shown["agreed_before"]["amount"].as_str().unwrap().to_owned();
        assert_eq!(shown["ready_before"], booking["promised"]);
        assert!(shown["ready_after"].as_str().unwrap() > booking["promised"].as_str().unwrap(), "{shown}");
        let sum = |rows: &[(String, String)], name: &str| {
            let row = rows.iter().find(|(known, _)| known == name);
            row.unwrap_or_else(|| panic!("{name}: {rows:?}")).1.clone()
        };
        let rows = sums(&visitor);
        assert_eq!(sum(&rows, "This change, including VAT"), "+EUR 290.00");
        assert_eq!(sum(&rows, "Agreed so far"), format!("EUR {before}"));
        let whole = 290.0 + before.parse::<f64>().unwrap();
        assert_eq!(sum(&rows, "New total including VAT"), format!("EUR {whole:.2}"));
        let page = visitor.get("").text;
        assert!(page.contains("With this change your car will be ready by Monday 2 March 2026 at"), "{page}");
        let check = visitor.check(&[]).text;
        assert!(check.contains(&format!("Accept, new total EUR {whole:.2}")), "{check}");
        assert_eq!(visitor.accept(&[], "Aoife Byrne").status, 303);
        // The next change begins from there.
        let (sent, _) = change("coating");
        assert_eq!(sent["document"]["change"]["agreed_before"]["amount"], format!("{whole:.2}"));
    });
}

#[test]
fn a_form_with_faults_leads_to_a_page_of_its_own_that_back_can_return_to() {
    on_each_engine(|studio| {
        let sent = studio.sent_quote(MAIL, &["decontamination"], &["coating"]);
        let visitor = studio.visitor(&sent.token);
        let form = changed(&visitor.form(&[1], "Aoife Byrne"), "intent", "");
        let answer = visitor.post("/accept", &form, &[]);
        assert_eq!(answer.status, 303, "{}", answer.text);
        let below = answer.header("location").strip_prefix(&visitor.path).unwrap().to_owned();
        for _ in 0..2 {
            let page = visitor.get(&below);
            assert_eq!(page.status, 422, "{}", page.text);
            assert!(page.text.contains("href=\"#intent\"") && page.text.contains("value=\"Aoife Byrne\""));
            assert!(page.text.contains("name=\"take\" value=\"1\""), "{}", page.text);
        }
        assert_eq!(visitor.accept(&[1], "Aoife Byrne").status, 303);
        let page = visitor.get(&below);
        assert_eq!(page.status, 200);
        assert!(page.text.contains("is accepted"), "{}", page.text);
    });
}

#[test]
fn answers_say_what_was_tried_and_why_it_can_not_be() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let sent = studio.sent_quote(MAIL, &["decontamination"], &[]);
        let declined = owner.move_quote(&sent.view, "decline", &json!({ "reason": "" })).expect(200);
        let again = owner.move_quote(&declined, "decline", &json!({ "reason": "" })).problem(409, "wrong-state");
        let detail = again["detail"].as_str().unwrap();
        assert!(detail.contains("can't be declined") && !detail.contains("signed"), "{detail}");
        let plan = owner.get(&format!("/v1/quotes/{}/plan", sent.id)).problem(409, "quote-not-signed");
        assert!(plan["detail"].as_str().unwrap().contains("was declined"), "{plan}");
        let other = studio.sent_quote("nora@example.com", &["interior"], &[]);
        let plan = owner.get(&format!("/v1/quotes/{}/plan", other.id)).problem(409, "quote-not-signed");
        assert!(plan["detail"].as_str().unwrap().contains("is not signed yet"), "{plan}");
        owner
            .json("POST", &format!("/v1/quotes/{}/withdraw", other.id), &[("if-match", &tag(&other.view))], &json!({}))
            .expect(200);
        let plan = owner.get(&format!("/v1/quotes/{}/plan", other.id)).problem(409, "quote-not-signed");
        assert!(plan["detail"].as_str().unwrap().contains("was withdrawn"), "{plan}");
    });
}

#[test]
fn browsers_find_our_own_picture_and_title() {
    on_each_engine(|studio| {
        let somebody = studio.nobody();
        let icon = somebody.get("/favicon.ico");
        assert_eq!((icon.status, icon.header("content-type")), (200, "image/x-icon"));
        for path in ["/docs/", "/docs/index.html"] {
            let page = somebody.get(path);
            assert_eq!(page.status, 200);
            assert!(page.text.contains("<title>Baywright: API documentation</title>"), "{}", page.text);
        }
        let sent = studio.sent_quote(MAIL, &["decontamination"], &[]);
        let page = studio.visitor(&sent.token).get("").text;
        assert!(page.contains("<span class=\"whole\">Q-2026-0001</span>") && page.contains("rel=\"icon\""), "{page}");
    });
}
