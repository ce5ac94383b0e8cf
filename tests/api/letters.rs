//! What mails say of money: every table adds up to its totals, and what can be added stands apart.

use std::collections::BTreeSet;
use std::path::PathBuf;

use baywright_tests::engine::Engine;
use baywright_tests::make::menu::with;
use baywright_tests::make::quote::{draft, id};
use baywright_tests::{Studio, on_each_engine};
use rust_decimal::Decimal;
use serde_json::{Value, json};

const MAIL: &str = "aoife@example.com";

/// A line of a mail's table: whether it is a total, what it is, how much it is.
type Line = (bool, String, Decimal);

/// The tables of a mail's text; lines of a table stand together, and notes are set in.
fn tables(text: &str) -> Vec<Vec<Line>> {
    let mut tables: Vec<Vec<Line>> = vec![Vec::new()];
    for line in text.lines() {
        let entry =
            line.strip_prefix("- ").map(|rest| (false, rest)).or(line.strip_prefix("= ").map(|rest| (true, rest)));
        match entry.and_then(|(total, rest)| Some((total, rest.rsplit_once(": ")?))) {
            Some((total, (what, amount))) if amount.contains("EUR ") => {
                tables.last_mut().unwrap().push((total, what.to_owned(), amount_of(amount)));
            }
            _ if line.starts_with("  ") => {}
            _ => tables.push(Vec::new()),
        }
    }
    tables.retain(|table| !table.is_empty());
    tables
}

fn amount_of(text: &str) -> Decimal {
    let digits: String = text.chars().filter(|c| c.is_ascii_digit() || *c == '.').collect();
    let amount: Decimal = digits.parse().unwrap();
    if text.starts_with('−') { -amount } else { amount }
}

/// Says that the lines before each total come to it; gives the last total.
#[track_caller]
fn adds_up(table: &[Line]) -> Decimal {
    let (mut sum, mut last) = (Decimal::ZERO, None);
    for (total, what, amount) in table {
        if *total {
            assert_eq!(sum, *amount, "{what}: {table:?}");
            last = Some(sum);
        } else {
            sum += amount;
        }
    }
    last.unwrap_or_else(|| panic!("no total: {table:?}"))
}

fn names(table: &[Line]) -> Vec<&str> {
    table.iter().map(|(_, what, _)| what.as_str()).collect()
}

fn payable(totals: &Value) -> Decimal {
    totals["payable"]["amount"].as_str().unwrap().parse().unwrap()
}

/// Two washes at a discount and three of something typed, less a percentage of the whole; two options that can't go
/// together, one of them twice.
fn rich(inspection: &str) -> Value {
    let typed = json!({ "custom": { "name": "Badge removal", "price": { "amount": "40.10", "currency": "EUR" } } });
    let mut asked = draft(inspection, &["decontamination"], &["polish-one-step", "correction-two-step", "interior"]);
    asked["lines"][0] = with(
        asked["lines"][0].clone(),
        json!({ "quantity": "2", "discount": { "off": { "percent": "10" }, "reason": "Regular customer" } }),
    );
    asked["lines"][3]["quantity"] = json!("2");
    asked["lines"].as_array_mut().unwrap().insert(1, json!({ "item": typed, "quantity": "3", "required": true }));
    let off = json!([{ "off": { "percent": "5" }, "reason": "Opening week" }]);
    with(asked, json!({ "discounts": off, "deposit": { "percent": "20" } }))
}

#[test]
fn the_mail_of_a_quote_adds_up_and_sets_options_apart() {
    on_each_engine(|studio| {
        let sent = studio.sent_quote_with(MAIL, rich);
        let mail = studio.mails_to(MAIL).pop().unwrap();
        let all = tables(&mail.text);
        let [included, optional] = &all[..] else { panic!("{all:?}\n{}", mail.text) };
        assert_eq!(adds_up(included), payable(&sent.view["latest"]["document"]["required_totals"]), "{}", mail.text);
        assert_eq!(
            names(included),
            [
                "2 × decontamination",
                "3 × Badge removal",
                "Discount: Opening week",
                "Total, including VAT",
                "Deposit, included in the total"
            ]
        );
        assert_eq!(names(optional), ["polish one step", "correction two step", "2 × interior"]);
        // 2 × 175 less a tenth.
        for said in [
            "  EUR 175.00 each",
            "  After a discount of EUR 35.00: Regular customer",
            "  EUR 40.10 each",
            "  EUR 180.00 each",
            "You can add:",
            "  Choose this or correction two step, not both",
            "  Choose this or polish one step, not both",
            "Valid until: Monday 16 March 2026",
        ] {
            assert!(mail.text.lines().any(|line| line == said), "{said}: {}", mail.text);
            assert!(mail.html.contains(said.trim().split(": ").last().unwrap().trim_end_matches(':')), "{said}");
        }
    });
}

#[test]
fn the_mail_to_a_trade_customer_adds_vat_to_its_lines() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        owner.publish_small_menu();
        let dealer = owner.add_trade_customer("Quay Cars");
        let car = owner.add_vehicle(&id(&dealer), "231-G-30303");
        let inspection = owner.inspect(&id(&car));
        let written = owner.write_quote(&id(&car), &rich(&id(&inspection))).expect(201);
        let sent = owner.move_quote(&written, "send", &json!({ "email": MAIL })).expect(200);
        studio.tick();
        let mail = studio.mails_to(MAIL).pop().unwrap();
        let all = tables(&mail.text);
        assert_eq!(adds_up(&all[0]), payable(&sent["latest"]["document"]["required_totals"]), "{}", mail.text);
        assert!(names(&all[0]).contains(&"VAT at 23 %"), "{}", mail.text);
    });
}

#[test]
fn the_signed_copy_adds_up_with_what_was_chosen_and_says_each_condition_by_itself() {
    on_each_engine(|studio| {
        let sent = studio.sent_quote_with(MAIL, rich);
        assert_eq!(studio.visitor(&sent.token).accept(&[2, 4], "Aoife Byrne").status, 303);
        studio.tick();
        let mail = studio.mails_to(MAIL).pop().unwrap();
        let signed = studio.owner().get(&format!("/v1/quotes/{}", sent.id)).expect(200);
        let all = tables(&mail.text);
        let evidence = signed["latest"]["signoff"]["evidence"].as_str().unwrap();
        let agreed = payable(&serde_json::from_str::<Value>(evidence).unwrap()["agreed"]);
        assert_eq!((all.len(), adds_up(&all[0])), (1, agreed), "{}", mail.text);
        assert!(names(&all[0]).contains(&"2 × interior") && !mail.text.contains("correction"), "{}", mail.text);
        let conditions = sent.view["latest"]["document"]["conditions"].as_str().unwrap();
        assert!(conditions.lines().count() > 2);
        for condition in conditions.lines() {
            assert!(mail.text.lines().any(|line| line == format!("- {condition}")), "{condition}: {}", mail.text);
            assert!(mail.html.contains(&format!("{condition}</li>")), "{condition}: {}", mail.html);
        }
    });
}

#[test]
fn the_mail_of_an_invoice_adds_up_whichever_way_it_is_priced() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let sent = studio.sent_quote_with(MAIL, rich);
        owner.note_yes(&sent.view, &[4]).expect(200);
        let send = |quote: &str| {
            let invoice = owner.post("/v1/invoices", &json!({ "quote_id": quote })).expect(201);
            let path = format!("/v1/invoices/{}", id(&invoice));
            owner.act(&format!("{path}/issue"), "\"1\"", &json!({})).expect(200);
            owner.act(&format!("{path}/send"), "\"2\"", &json!({})).expect(200);
            owner.get(&path).expect(200)
        };
        let invoice = send(&sent.id);
        studio.tick();
        let mail = studio.mails_to(MAIL).pop().unwrap();
        assert_eq!(invoice["document"]["prices"], "GROSS");
        assert_eq!(adds_up(&tables(&mail.text)[0]), payable(&invoice), "{}", mail.text);
        let discount = "After a discount of EUR 35.00: Regular customer";
        for said in ["2 × decontamination", "EUR 175.00 each", discount, "Total without VAT"] {
            assert!(mail.text.contains(said) && mail.html.contains(said), "{said}: {}", mail.text);
        }
        let without_vat = with(rich(&sent.inspection), json!({ "prices": "NET" }));
        let written = owner.write_quote(&sent.vehicle, &without_vat).expect(201);
        let quote = owner.move_quote(&written, "send", &json!({ "by_mail": false })).expect(200);
        owner.note_yes(&quote, &[]).expect(200);
        let invoice = send(&id(&quote));
        studio.tick();
        let mail = studio.mails().pop().unwrap();
        assert_eq!((mail.subject.as_str(), &invoice["document"]["prices"]), ("Invoice INV-2026-0002", &json!("NET")));
        assert_eq!(adds_up(&tables(&mail.text)[0]), payable(&invoice), "{}", mail.text);
    });
}

/// The kinds of mail that the program's sources name: words such as `quote.sent` in the files that write notices.
fn kinds_in_the_sources() -> BTreeSet<String> {
    let top = concat!(env!("CARGO_MANIFEST_DIR"), "/../api/core/src");
    let mut kinds = BTreeSet::new();
    let mut folders = vec![PathBuf::from(top)];
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
                continue;
            }
            let text = std::fs::read_to_string(&path).unwrap_or_default();
            let code = text.split("#[cfg(test)]").next().unwrap_or_default();
            if !code.contains("Notice {") || path.ends_with("mail/compose.rs") {
                continue;
            }
            for line in code.lines().filter(|line| !line.contains("record::write") && !line.trim().starts_with("//")) {
                kinds.extend(line.split('"').skip(1).step_by(2).filter(|word| is_kind(word)).map(str::to_owned));
            }
        }
    }
    kinds
}

fn is_kind(word: &str) -> bool {
    let plain = |part: &str| !part.is_empty() && part.chars().all(|c| c.is_ascii_lowercase() || c == '-');
    word.split_once('.').is_some_and(|(record, what)| plain(record) && plain(what))
}

/// What the browser looks at is complete, and none of it begins a sentence without a capital or says a fact twice.
#[test]
fn a_mail_of_every_kind_is_written_and_reads_well() {
    let studio = Studio::start(Engine::Sqlite);
    let mails = studio.every_mail();
    let written: BTreeSet<String> = mails.iter().map(|mail| mail.kind.clone()).collect();
    assert_eq!(written, kinds_in_the_sources());
    for mail in &mails {
        for paragraph in mail.html.split("<p>").skip(1) {
            let first = paragraph.chars().next().unwrap();
            assert!(!first.is_lowercase(), "{}: {paragraph}", mail.kind);
        }
        for stiff in ["counts no more", "Digest of", "with tax", "Holds until", "We expect", "we look forward"] {
            assert!(!mail.html.contains(stiff), "{}: {stiff}", mail.kind);
        }
        // Days are written in full, but for what the desk reads in the same words in its answers.
        if mail.kind == "booking.no-longer-fits" {
            continue;
        }
        for short in ["Mon ", "Tue ", "Wed ", "Thu ", "Fri ", "Sat ", "Sun "] {
            assert!(!mail.html.contains(short), "{}: {short}: {}", mail.kind, mail.html);
        }
    }
}
