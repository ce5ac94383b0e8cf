//! The customer's page: what it shows, what it loads, and what reading it does.

use baywright_core::platform::fail::DbError;
use baywright_core::schema::{link, record};
use baywright_tests::make::media::jpeg;
use baywright_tests::make::menu::with;
use baywright_tests::make::quote::{draft, id};
use baywright_tests::make::{customer, inspection};
use baywright_tests::on_each_engine;
use baywright_tests::visitor::{changed, fields_of, hidden};
use diesel::prelude::*;
use serde_json::json;

const MAIL: &str = "aoife.byrne@example.com";

#[test]
fn the_page_shows_the_offer_the_damage_and_the_conditions() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        owner.change_terms(&json!({
            "conditions_text": "Cash on collection.\nNo liability for stone chips.", "price_detail": "FULL"
        }));
        let sent = studio.sent_quote_with(MAIL, |inspection| {
            with(draft(inspection, &["decontamination"], &["polish-one-step"]), json!({ "notes": "Bring both keys." }))
        });
        let page = studio.visitor(&sent.token).get("");
        assert_eq!((page.status, page.header("content-type")), (200, "text/html; charset=utf-8"));
        for said in [
            "Quote Q-2026-0001",
            "Test Studio",
            "Aoife Byrne",
            "231-D-10101",
            "Bring both keys.",
            "Monday 16 March 2026",
            "Monday 2 March 2026",
            "decontamination",
            "EUR 175.00",
            "rear bumper",
            "The dent at the back stays.",
            "48210 km",
            "Cash on collection.",
            "How this price is calculated",
        ] {
            assert!(page.text.contains(said), "{said}: {}", page.text);
        }
        // What is signed for is before the eyes of whoever signs.
        let check = studio.visitor(&sent.token).check(&[]).text;
        for said in ["EUR 175.00", "rear bumper", "The dent at the back stays.", "Cash on collection."] {
            assert!(check.contains(said), "{said}: {check}");
        }
    });
}

#[test]
fn ticking_options_recalculates_without_scripts() {
    on_each_engine(|studio| {
        let sent = studio.sent_quote(MAIL, &["decontamination"], &["coating", "interior"]);
        let visitor = studio.visitor(&sent.token);
        let sum = |query: &str| {
            let page = visitor.get(query);
            assert_eq!(page.status, 200, "{}", page.text);
            let from = page.text.find("class=\"payable\"").unwrap();
            let rest = &page.text[from..];
            rest[rest.find("EUR ").unwrap()..].split('<').next().unwrap().to_owned()
        };
        assert_eq!(sum(""), "EUR 175.00");
        assert_eq!(sum("?take=1"), "EUR 634.00");
        assert_eq!(sum("?take=1&take=2"), "EUR 814.00");
        assert_eq!(sum("/check?take=2"), "EUR 355.00");
        let page = visitor.get("?take=2").text;
        assert_eq!(page.matches(" checked").count(), 1);
    });
}

#[test]
fn the_page_loads_our_own_files_only_and_says_so_to_browsers() {
    on_each_engine(|studio| {
        let sent = studio.sent_quote(MAIL, &["decontamination"], &["coating"]);
        let visitor = studio.visitor(&sent.token);
        let (offer, check, decline) = (visitor.get(""), visitor.check(&[1]), visitor.get("/decline"));
        assert_eq!(visitor.accept(&[1], "Aoife Byrne").status, 303);
        let done = visitor.get("/done");
        for page in [&offer, &check, &decline, &done] {
            let policy = page.header("content-security-policy");
            for part in [
                "default-src 'none'",
                "style-src 'self'",
                "script-src 'self'",
                "form-action 'self'",
                "frame-ancestors 'none'",
            ] {
                assert!(policy.contains(part), "{part}: {policy}");
            }
            assert!(!policy.contains("unsafe") && !policy.contains("http"), "{policy}");
            assert_eq!(page.header("referrer-policy"), "no-referrer");
            assert_eq!((page.header("cache-control"), page.header("x-robots-tag")), ("no-store", "noindex"));
            for word in ["src=\"", "href=\"", "action=\""] {
                for rest in page.text.split(word).skip(1) {
                    let own = (rest.starts_with('/') && !rest.starts_with("//"))
                        || rest.starts_with('#')
                        || (word == "href=\"" && (rest.starts_with("tel:") || rest.starts_with("mailto:")));
                    assert!(own, "{}", rest.chars().take(80).collect::<String>());
                }
            }
            let handler =
                |rest: &str| rest.split_once('=').is_some_and(|(name, _)| name.bytes().all(|b| b.is_ascii_lowercase()));
            assert!(!page.text.contains("style=") && !page.text.split(" on").skip(1).any(handler), "{}", page.text);
        }
        let names: Vec<&str> =
            offer.text.split("\"/assets/").skip(1).map(|rest| rest.split('"').next().unwrap()).collect();
        assert_eq!(names.len(), 3, "{names:?}");
        let somebody = studio.nobody();
        for name in names {
            let asset = somebody.get(&format!("/assets/{name}"));
            assert_eq!((asset.status, asset.header("cache-control")), (200, "public, max-age=31536000, immutable"));
            assert!(asset.bytes.len() < 15 * 1024, "{name}: {} bytes", asset.bytes.len());
            let known = asset.header("etag").to_owned();
            let again = somebody.send("GET", &format!("/assets/{name}"), &[("if-none-match", &known)], None);
            assert_eq!((again.status, again.bytes.len()), (304, 0));
        }
        assert_eq!(somebody.get("/assets/app-000000000000.css").status, 404);
    });
}

#[test]
fn reading_changes_nothing_and_the_first_look_is_noted_once() {
    on_each_engine(|studio| {
        let sent = studio.sent_quote(MAIL, &["decontamination"], &[]);
        let visitor = studio.visitor(&sent.token);
        let state = || {
            studio.in_shop(studio.shop(), |tx| {
                let opened: Option<i64> =
                    link::table.select(link::first_opened_at).first(tx.conn).map_err(DbError::from)?;
                let records: i64 = record::table.count().get_result(tx.conn).map_err(DbError::from)?;
                Ok((opened, records))
            })
        };
        let before = state();
        for _ in 0..20 {
            for page in ["", "?take=1", "/check", "/decline", "/done"] {
                visitor.get(page);
            }
        }
        assert_eq!(state(), before);
        let code = fields_of(&[("code", &hidden(&visitor.check(&[]).text)[0].1)]);
        studio.pass_minutes(1);
        assert_eq!(visitor.post("/opened", &code, &[]).status, 204);
        let noted = (Some(studio.clock.now().ms()), before.1 + 1);
        assert_eq!(state(), noted);
        studio.pass_minutes(1);
        assert_eq!(visitor.post("/opened", &code, &[]).status, 204);
        assert_eq!(state(), noted);
    });
}

#[test]
fn a_form_from_elsewhere_is_refused() {
    on_each_engine(|studio| {
        let (sent, other) = (
            studio.sent_quote(MAIL, &["decontamination"], &[]),
            studio.sent_quote("niamh@example.com", &["interior"], &[]),
        );
        let visitor = studio.visitor(&sent.token);
        let form = visitor.form(&[], "Aoife Byrne");
        let others = hidden(&studio.visitor(&other.token).check(&[]).text);
        let other_code = &others.iter().find(|(name, _)| name == "code").unwrap().1;
        for code in ["", "AAAAAAAAAAAAAAAAAAAAAAAA", "nonsense", other_code.as_str()] {
            let answer = visitor.post("/accept", &changed(&form, "code", code), &[]);
            assert_eq!(answer.status, 403, "{code}: {}", answer.text);
            assert!(answer.text.contains("This form can"), "{}", answer.text);
            assert_eq!(visitor.post("/decline", &changed(&form, "code", code), &[]).status, 403);
            visitor.post("/opened", &changed(&form, "code", code), &[]).problem(403, "not-allowed");
        }
        assert_eq!(visitor.post("/accept", &form, &[("sec-fetch-site", "cross-site")]).status, 403);
        assert_eq!(visitor.post("/accept", &form, &[("sec-fetch-site", "same-origin")]).status, 303);
    });
}

#[test]
fn guessing_links_gets_nowhere_and_is_slowed_down() {
    on_each_engine(|studio| {
        let sent = studio.sent_quote(MAIL, &["decontamination"], &[]);
        assert_eq!(studio.visitor(&sent.token[..42]).get("").status, 404);
        let mut answers = Vec::new();
        for number in 0..40 {
            let token = format!("{number:043}");
            let answer = studio.visitor(&token).get("");
            assert!(answer.header("content-type").starts_with("text/html"));
            answers.push(answer.status);
        }
        assert!(answers.iter().all(|status| [404, 429].contains(status)), "{answers:?}");
        assert!(answers.iter().filter(|status| **status == 429).count() >= 5, "{answers:?}");
        assert_eq!(studio.visitor(&sent.token).get("").status, 200, "who has a link is not slowed down");
    });
}

#[test]
fn photographs_are_those_that_the_document_names() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        owner.publish_small_menu();
        let (shown, hidden) =
            (owner.add_photo(), owner.post_file("/v1/photos", "image/jpeg", &jpeg(80, 60)).expect(201));
        let customer = owner.add_customer("Aoife Byrne");
        let car = owner.add_vehicle(&id(&customer), "231-D-10101");
        let mut seen = inspection::body(&id(&car));
        seen["findings"][2]["photo_ids"] = json!([id(&shown)]);
        let inspected = owner.inspect_with(&seen);
        let written = owner.write_quote(&id(&car), &draft(&id(&inspected), &["decontamination"], &[])).expect(201);
        owner.move_quote(&written, "send", &json!({})).expect(200);
        let visitor = studio.visitor(&studio.token_mailed_to(MAIL));
        let page = visitor.get("").text;
        let small = format!("/photos/{}?size=small", id(&shown));
        assert!(page.contains(&small) && page.contains("alt=\"Photograph 1 of"), "{page}");
        let photo = visitor.get(&small);
        assert_eq!((photo.status, photo.header("content-type")), (200, "image/jpeg"));
        assert_eq!(visitor.get(&format!("/photos/{}", id(&shown))).status, 200);
        assert_eq!(visitor.get(&format!("/photos/{}", id(&hidden))).status, 404);
        let stranger = studio.stranger();
        let theirs = stranger.add_photo();
        assert_eq!(visitor.get(&format!("/photos/{}", id(&theirs))).status, 404);
    });
}

#[test]
fn what_people_wrote_stays_text() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        owner.publish_small_menu();
        let name = "<script>alert(1)</script> & \"O'Brien\"";
        let customer = owner
            .post("/v1/customers?confirm=known-customer", &with(customer::body(name), json!({ "emails": [MAIL] })))
            .expect(201);
        let car = owner.add_vehicle(&id(&customer), "231-D-10101");
        let asked = json!({ "condition": "FAIR", "notes": "<img src=x onerror=alert(1)>",
            "lines": [{ "item": { "custom": { "name": "<b>Odd</b> job", "price": { "amount": "20.00", "currency": "EUR" } } } }] });
        let written = owner.write_quote(&id(&car), &asked).expect(201);
        owner.move_quote(&written, "send", &json!({})).expect(200);
        let visitor = studio.visitor(&studio.token_mailed_to(MAIL));
        let answer = visitor.try_accept(&changed(&visitor.form(&[], "\"><script>alert(2)</script>"), "intent", ""));
        for page in [visitor.get("").text, visitor.check(&[]).text, answer.text] {
            for bad in ["<script>alert", "<img src=x", "<b>Odd"] {
                assert!(!page.contains(bad), "{bad}: {page}");
            }
        }
        assert_eq!(visitor.accept(&[], name).status, 303);
        assert!(!visitor.get("/done").text.contains("<script>alert"));
    });
}

#[test]
fn a_tick_beyond_all_lines_and_a_name_of_many_lines_are_told_and_break_nothing() {
    on_each_engine(|studio| {
        let sent = studio.sent_quote("aoife@example.com", &["decontamination"], &[]);
        let visitor = studio.visitor(&sent.token);
        for _ in 0..9 {
            let page = visitor.get("?take=18446744073709551615");
            assert!((400..500).contains(&page.status) || page.status == 200, "{}: {}", page.status, page.text);
        }
        for name in ["Aoife\nThe price is void", "Aoife \u{202e}enrybB"] {
            let form = changed(&visitor.form(&[], "Aoife Byrne"), "name", name);
            let page = visitor.try_accept(&form);
            assert_eq!(page.status, 422, "{}", page.text);
            assert!(page.text.contains("ype your name on one line"), "{}", page.text);
        }
        assert_eq!(visitor.accept(&[], "Aoife Byrne").status, 303);
    });
}
