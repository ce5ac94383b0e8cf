//! What is held on one person: told to them, and erased.

use std::collections::BTreeSet;

use baywright_core::features::holders;
use baywright_core::platform::canonical::hex;
use baywright_core::platform::db::dump;
use baywright_core::platform::fail::Fail;
use baywright_core::platform::identity::Role;
use baywright_core::platform::{record, token};
use baywright_core::seal::usecase::verify_seals;
use baywright_tests::answer::Answer;
use baywright_tests::make::booking::floor_menu;
use baywright_tests::make::menu::with;
use baywright_tests::make::quote::id;
use baywright_tests::make::{customer, enquiry, inspection, vehicle};
use baywright_tests::person::Person;
use baywright_tests::{Studio, on_each_engine};
use serde_json::{Value, json};

/// A word that stands in everything that somebody can write of the customer, and nowhere else.
const MARK: &str = "Zyxomma";
const MAIL: &str = "zyxomma@example.com";
/// Other things by which they are known.
const TRACES: [&str; 5] = [MARK, MAIL, "ZYX-0777", "910 0777", "1G4AH59H45G118341"];

fn marked(what: &str) -> String {
    format!("{what} {MARK}")
}

fn eur(amount: &str) -> Value {
    json!({ "amount": amount, "currency": "EUR" })
}

/// Everything that happens to one customer, up to the paid invoice; gives the customer's id and the photographs'.
fn whole_life(studio: &Studio) -> (String, Vec<String>) {
    let owner = studio.owner();
    studio.floor();
    owner.publish_menu(&floor_menu());
    owner.change_terms(&json!({ "call_tolerance": eur("2000.00") }));
    let known = with(
        customer::body(&marked("Aoife")),
        json!({
            "reference": MARK, "contact_name": marked("Contact"), "emails": [MAIL], "phones": ["+353 20 910 0777"],
            "notes": marked("Note"), "consents": [{ "kind": "MAIL", "how": marked("said") }],
            "address": { "lines": [marked("Row")], "city": marked("City"), "postcode": MARK, "region": MARK, "country": "IE" }
        }),
    );
    let person = owner.post("/v1/customers", &known).expect(201);
    let car = with(
        vehicle::body(&id(&person), "ZYX-0777"),
        json!({ "vin": "1G4AH59H45G118341", "colour": marked("blue"), "notes": marked("Car") }),
    );
    let car = owner.post("/v1/vehicles", &car).expect(201);
    call(&owner, &person, &car);
    let photos = vec![id(&owner.add_photo()), id(&owner.add_photo())];
    let seen = inspected(&owner, &car, &photos[0]);
    offered(studio, &car, &seen);
    worked(studio, &car, &seen, &photos[1]);
    studio.draft_invoice(&person, &[(1_000, 23)]);
    studio.tick();
    (id(&person), photos)
}

fn call(owner: &Person, person: &Value, car: &Value) {
    let body = with(
        enquiry::body(&marked("Caller")),
        json!({ "vehicle": marked("car"), "wish": marked("wish"), "notes": marked("note") }),
    );
    let taken = owner.post("/v1/enquiries", &body).expect(201);
    let mut known = body;
    known["customer_id"] = person["id"].clone();
    known["vehicle_id"] = car["id"].clone();
    let path = format!("/v1/enquiries/{}", id(&taken));
    let linked = owner.put(&path, "\"1\"", &known).expect(200);
    let close = json!({ "reason": "OTHER", "note": marked("closed") });
    owner.act(&format!("{path}/close"), &format!("\"{}\"", linked["version"]), &close).expect(200);
}

fn inspected(owner: &Person, car: &Value, photo: &str) -> Value {
    let mut body = with(inspection::body(&id(car)), json!({ "note": marked("n"), "beyond_repair": marked("b") }));
    body["findings"][0]["note"] = json!(marked("finding"));
    body["findings"][0]["photo_ids"] = json!([photo]);
    body["readings"] = json!([{ "panel": "BONNET", "micrometres": [70, 72, 74] }]);
    let seen = owner.inspect_with(&body);
    let decision = json!({ "go_ahead": true, "reason": marked("decided") });
    let path = format!("/v1/inspections/{}/paint-decision", id(&seen));
    let decided = owner.act(&path, &format!("\"{}\"", seen["version"]), &decision);
    assert!([200, 201].contains(&decided.status), "{}", decided.text);
    seen
}

/// Quotes that nobody signs: one declined, one with the customer, one a draft.
fn offered(studio: &Studio, car: &Value, seen: &Value) {
    let owner = studio.owner();
    let discount = json!({ "off": { "percent": "5" }, "reason": marked("why") });
    let draft = json!({
        "inspection_id": id(seen), "notes": marked("notes"), "discounts": [discount],
        "lines": [
            { "item": { "service": "polish" }, "discount": discount },
            { "item": { "custom": { "name": marked("typed"), "price": eur("20.00") } } }
        ]
    });
    let declined = owner.write_quote(&id(car), &draft).expect(201);
    let declined = owner.move_quote(&declined, "send", &json!({ "message": marked("message") })).expect(200);
    owner.move_quote(&declined, "decline", &json!({ "reason": marked("no") })).expect(200);
    let sent = owner.write_quote(&id(car), &draft).expect(201);
    owner.move_quote(&sent, "send", &json!({})).expect(200);
    owner.write_quote(&id(car), &draft).expect(201);
    studio.tick();
}

/// A quote that is signed, done, changed, invoiced and paid.
fn worked(studio: &Studio, car: &Value, seen: &Value, photo: &str) {
    let owner = studio.owner();
    let draft = json!({ "inspection_id": id(seen), "lines": [{ "item": { "service": "wash" } }] });
    let quote = owner.write_quote(&id(car), &draft).expect(201);
    let quote = owner.move_quote(&quote, "send", &json!({})).expect(200);
    let yes = json!({
        "digest": quote["latest"]["digest"], "name": quote["latest"]["document"]["customer"]["name"], "agreed": true,
        "early_start": false
    });
    let quote = owner.move_quote(&quote, "sign-off", &yes).expect(200);
    let quote = owner.move_quote(&quote, "early-start", &json!({ "agreed": true })).expect(200);
    let times = owner.times(&id(&quote), 1);
    let place = json!({
        "quote_id": id(&quote), "bay_id": times[0]["bay_id"], "start": times[0]["start"], "hold": false,
        "note": marked("booking")
    });
    let booking = owner.post("/v1/bookings", &place).expect(201);
    assert_eq!(studio.guest_mailed_to(MAIL).ask(&marked("Asked")).status, 303);
    let early = owner.move_booking(&booking, "arrive", &json!({})).expect(200);
    let booking = owner.move_booking(&early, "undo", &json!({ "reason": marked("not yet") })).expect(200);
    let booking = owner.move_booking(&booking, "arrive", &json!({})).expect(200);
    let job = owner.get("/v1/jobs").expect(200)["items"][0].clone();
    let note = json!({ "step": null, "text": marked("job"), "photo_ids": [photo] });
    owner.post(&format!("/v1/jobs/{}/notes", id(&job)), &note).expect(201);
    vary(&owner, &id(&quote));
    for step in owner.get(&format!("/v1/jobs/{}", id(&job))).expect(200)["steps"].as_array().unwrap() {
        let path = format!("/v1/jobs/{}/steps/{}", id(&job), step["code"].as_str().unwrap());
        let go = |verb: &str, body: &Value| {
            let etag = owner.get(&path).etag();
            owner.act(&format!("{path}/{verb}"), &etag, body).expect(200)
        };
        if step["code"] == "wash" {
            go("start", &json!({}));
            go("undo", &json!({ "reason": marked("wrong step") }));
            go("start", &json!({}));
            go("finish", &json!({ "used": [{ "product": "shampoo", "amount": "9500" }] }));
        } else {
            go("remove", &json!({ "reason": marked("removed") }));
        }
    }
    // What was signed meanwhile changed whether the booking fits.
    let booking = owner.get(&format!("/v1/bookings/{}", id(&booking))).expect(200);
    let ready = owner.move_booking(&booking, "ready", &json!({})).expect(200);
    let handover = json!({
        "received_by": marked("Aoife"), "odometer": 84_210, "aftercare": marked("dry"), "note": marked("given"),
        "checklist": [{ "what": marked("Keys"), "done": true }]
    });
    owner.move_booking(&ready, "hand-over", &handover).expect(200);
    let invoice = owner.post("/v1/invoices", &json!({ "quote_id": id(&quote), "note": marked("invoice") }));
    let invoice = invoice.expect(201);
    let path = format!("/v1/invoices/{}", id(&invoice));
    let issued = owner.act(&format!("{path}/issue"), "\"1\"", &json!({})).expect(200);
    owner.act(&format!("{path}/send"), &format!("\"{}\"", issued["version"]), &json!({})).expect(200);
    // A little is given up and the rest paid; then a euro is credited, of which half was paid and is given back.
    let seen = || owner.get(&path).etag();
    let given_up = json!({ "reason": marked("given up"), "amount": eur("0.50") });
    owner.act(&format!("{path}/write-off"), &seen(), &given_up).expect(200);
    let open = owner.get(&path).expect(200)["open"].clone();
    let payment = json!({
        "customer_id": issued["customer_id"], "method": "TRANSFER", "amount": open, "invoice_ids": [id(&invoice)],
        "note": marked("payment"), "reference": marked("ref")
    });
    owner.post("/v1/payments", &payment).expect(201);
    let credit = json!({ "reason": marked("credit"), "lines": [{ "line": 0, "amount": eur("1.00") }] });
    owner.act(&format!("{path}/credit-notes"), &seen(), &credit).expect(201);
    let back = json!({
        "customer_id": issued["customer_id"], "method": "CASH", "amount": eur("0.50"), "reason": marked("back")
    });
    owner.post("/v1/refunds", &back).expect(201);
}

/// Variations: one signed, one declined, one a draft. None can be with the customer once the car is ready.
fn vary(owner: &Person, quote: &str) {
    let draft = json!({ "reason": marked("found"), "lines": [{ "item": { "service": "polish" } }] });
    // More of the same than was signed is asked for once more.
    let path = format!("/v1/quotes/{quote}/variations?confirm=service-sold-again");
    let written = || owner.post(&path, &draft).expect(201);
    let go = |variation: &Value, verb: &str, body: &Value| {
        let path = format!("/v1/variations/{}/{verb}", id(variation));
        owner.act(&path, &format!("\"{}\"", variation["version"]), body).expect(200)
    };
    let signed = go(&written(), "send", &json!({}));
    go(
        &signed,
        "sign-off",
        &json!({ "digest": signed["digest"], "name": marked("Aoife"), "agreed": true, "early_start": true }),
    );
    let declined = go(&written(), "send?confirm=service-sold-again", &json!({}));
    go(&declined, "decline", &json!({ "reason": marked("no") }));
    written();
}

/// Tables in which a row has any of the traces, folded as people and search would.
fn tables_that_tell(studio: &Studio) -> BTreeSet<String> {
    let tells = |row: &str| {
        let plain = row.to_lowercase();
        // What came with mails is kept as hex.
        TRACES.iter().any(|trace| plain.contains(&trace.to_lowercase()) || plain.contains(&hex(trace.as_bytes())))
            || plain.contains("zyx0777")
            || plain.contains("353209100777")
    };
    studio.every_row().into_iter().filter(|(_, row)| tells(row)).map(|(table, _)| table).collect()
}

fn erase(person: &Person, customer: &str) -> Answer {
    let path = format!("/v1/customers/{customer}");
    let etag = person.get(&path).etag();
    person.json("POST", &format!("{path}/erase"), &[("if-match", &etag)], &json!({}))
}

#[test]
fn everything_that_is_held_is_told() {
    on_each_engine(|studio| {
        let (customer, photos) = whole_life(studio);
        let told = studio.owner().get(&format!("/v1/customers/{customer}/personal-data")).expect(200);
        let kinds: BTreeSet<&str> =
            told["records"].as_array().unwrap().iter().map(|records| records["kind"].as_str().unwrap()).collect();
        let missing: Vec<&str> = holders()
            .iter()
            .flat_map(|holder| holder.held)
            .map(|held| held.table)
            .filter(|table| !kinds.contains(table))
            .collect();
        assert!(missing == ["reminder"] || missing.is_empty(), "{missing:?}");
        // Whatever table tells of them is told, but for what the program makes anew from the others.
        let mut tell = tables_that_tell(studio);
        for derived in ["search_subject", "search_word", "idempotency"] {
            tell.remove(derived);
        }
        let untold: Vec<&String> = tell.iter().filter(|table| !kinds.contains(table.as_str())).collect();
        assert!(untold.is_empty(), "{untold:?}");
        let text = told.to_string();
        assert!(photos.iter().all(|photo| text.contains(photo.as_str())));
        assert!(!text.contains("token_hash"));
        for link in ["/q/", "/c/"] {
            let secrets = text.split(link).skip(1).filter(|rest| rest.get(..43).is_some_and(token::is_plausible));
            assert!(text.contains(&format!("{link}…")) && secrets.count() == 0, "mails tell no secret of a link");
        }
        let customers = &told["records"][0]["items"];
        assert_eq!((&customers[0]["emails"], customers[0]["created_at"].is_string()), (&json!([MAIL]), true));
    });
}

#[test]
fn an_erased_customer_is_found_nowhere_but_in_what_tax_law_keeps() {
    on_each_engine(|studio| {
        let (customer, photos) = whole_life(studio);
        let owner = studio.owner();
        let before = tables_that_tell(studio);
        for table in
            ["customer", "vehicle", "enquiry", "inspection", "finding", "quote_revision", "message", "handover"]
        {
            assert!(before.contains(table), "{table}: {before:?}");
        }
        let marked_mails = || studio.mails().iter().filter(|mail| format!("{mail:?}").contains(MARK)).count();
        assert!(marked_mails() > 0);
        let files = std::fs::read_dir(studio.folder().join("photos").join(studio.shop().as_str())).unwrap().count();
        assert!(files > 0);
        let erased = erase(&owner, &customer);
        let etag = erased.etag();
        let erased = erased.expect(200);
        let kept: Vec<&str> =
            erased["kept"].as_array().unwrap().iter().map(|kept| kept["record"].as_str().unwrap()).collect();
        assert_eq!(kept, ["SIGNED_QUOTE", "INVOICE", "PAYMENT"]);
        // Ten years from the end of the year, where the shop has set nothing else.
        assert!(erased["kept"].as_array().unwrap().iter().all(|kept| kept["until"] == "2036-12-31"), "{erased}");
        let after: Vec<String> = tables_that_tell(studio).into_iter().collect();
        let by_law =
            ["credit_note", "invoice", "payment", "quote_revision", "refund", "signoff", "variation", "write_off"];
        assert_eq!(after, by_law);
        for (table, row) in studio.every_row() {
            let row: Value = serde_json::from_str(&row).unwrap();
            if ["quote_revision", "variation"].contains(&table.as_str()) && row.to_string().contains(MARK) {
                assert_eq!(row["state"], "SIGNED", "{row}");
            }
            if table == "invoice" && row.to_string().contains(MARK) {
                assert_ne!(row["state"], "DRAFT", "{row}");
            }
        }
        // What is left reads and verifies like any other record.
        let path = format!("/v1/customers/{customer}");
        let left = owner.get(&path);
        assert_eq!(left.etag(), etag);
        let left = left.expect(200);
        assert_eq!(
            (&left["name"], &left["emails"], left["erased_at"].is_string()),
            (&json!("Erased customer"), &json!([]), true)
        );
        for list in
            ["quotes", "bookings", "jobs", "invoices", "payments", "vehicles", "inspections", "enquiries", "messages"]
        {
            for item in owner.get(&format!("/v1/{list}?limit=200")).expect(200)["items"].as_array().unwrap() {
                owner.get(&format!("/v1/{list}/{}", id(item))).expect(200);
            }
        }
        assert_eq!(owner.get("/v1/search?q=zyxomma").expect(200)["items"], json!([]));
        for photo in &photos {
            owner.get(&format!("/v1/photos/{photo}")).problem(404, "not-found");
        }
        let left = walk(&studio.folder().join("photos"));
        assert!(left.is_empty(), "{left:?}");
        assert_eq!(marked_mails(), 0, "no file of a mail is left");
        assert_eq!(studio.in_shop(studio.shop(), verify_seals), []);
        let chain = studio.db.read(|conn| record::walk(conn, studio.shop())).unwrap_or_else(|fail| panic!("{fail:?}"));
        assert!(chain.faults.is_empty(), "{:?}", chain.faults);
        studio.tick();
        erase(&owner, &customer).problem(409, "customer-erased");
        owner.put(&path, &etag, &json!({ "name": "Anew" })).problem(409, "customer-erased");
    });
}

#[test]
fn no_byte_of_an_erased_note_is_left_in_the_file_of_an_embedded_database() {
    on_each_engine(|studio| {
        let Some(file) = studio.db.file() else { return };
        let phrase = "The key hangs behind the third can.";
        let held = || -> usize {
            let log = format!("{}-wal", file.display());
            let files = [std::fs::read(file).unwrap(), std::fs::read(log).unwrap_or_default()];
            files
                .iter()
                .map(|bytes| bytes.windows(phrase.len()).filter(|part| *part == phrase.as_bytes()).count())
                .sum()
        };
        let owner = studio.owner();
        // Short notes lie in a page with others, a long one in pages of its own.
        let people: Vec<String> = [1, 110, 1, 110]
            .iter()
            .map(|times| {
                let noted = with(customer::body("Aoife Byrne"), json!({ "notes": vec![phrase; *times].join(" ") }));
                let person = owner.post("/v1/customers?confirm=known-customer", &noted).expect(201);
                let car = with(vehicle::body(&id(&person), "231-D-10101"), json!({ "notes": phrase }));
                owner.post("/v1/vehicles?confirm=known-vehicle", &car).expect(201);
                id(&person)
            })
            .collect();
        assert!(held() > 100);
        for person in people {
            erase(&owner, &person).expect(200);
        }
        assert_eq!(held(), 0);
    });
}

fn walk(folder: &std::path::Path) -> Vec<std::path::PathBuf> {
    let Ok(entries) = std::fs::read_dir(folder) else { return Vec::new() };
    let each = entries.map(|entry| entry.unwrap().path());
    each.flat_map(|path| if path.is_dir() { walk(&path) } else { vec![path] }).collect()
}

#[test]
fn unfinished_business_stands_in_the_way() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let person = owner.add_customer("Aoife Byrne");
        studio.issued_invoice(&person, &[(1_000, 23)]);
        let told = erase(&owner, &id(&person)).problem(409, "customer-still-open");
        assert!(told["detail"].as_str().unwrap().contains("1 open invoice."), "{told}");
        owner.pay(&person, "15.00", &[]);
        let told = erase(&owner, &id(&person)).problem(409, "customer-still-open");
        assert!(told["detail"].as_str().unwrap().contains("1 credit to give back"), "{told}");
        studio.floor();
        let quote = studio.signed_work(&["wash"]);
        let booking = owner.book_first(&quote);
        let booked = booking["customer_id"].as_str().unwrap();
        let told = erase(&owner, booked).problem(409, "customer-still-open");
        assert!(told["detail"].as_str().unwrap().contains("1 open booking"), "{told}");
        owner.move_booking(&booking, "cancel", &json!({ "reason": "Ill" })).expect(200);
        erase(&owner, booked).expect(200);
    });
}

#[test]
fn a_repeated_request_makes_nothing_twice_and_tells_nothing_of_an_erased_customer() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let body = customer::body("Aoife Byrne").to_string().into_bytes();
        let headers = [("content-type", "application/json"), ("idempotency-key", "once")];
        let made = owner.send("POST", "/v1/customers", &headers, Some(body.clone())).expect(201);
        erase(&owner, &id(&made)).expect(200);
        owner.send("POST", "/v1/customers", &headers, Some(body)).problem(409, "answer-erased");
        assert_eq!(owner.get("/v1/customers").expect(200)["items"].as_array().map(Vec::len), Some(1));
    });
}

#[test]
fn erasing_is_for_the_owner_and_for_the_version_that_was_seen() {
    on_each_engine(|studio| {
        let person = studio.owner().add_customer("Aoife Byrne");
        let path = format!("/v1/customers/{}", id(&person));
        let told = format!("{path}/personal-data");
        for role in [Role::Desk, Role::Technician, Role::Accountant] {
            let other = studio.colleague(role);
            other.act(&format!("{path}/erase"), "\"1\"", &json!({})).problem(403, "not-allowed");
            if role == Role::Desk {
                other.get(&told).expect(200);
            } else {
                other.get(&told).problem(403, "not-allowed");
            }
        }
        let stranger = studio.stranger();
        stranger.get(&told).problem(404, "not-found");
        stranger.act(&format!("{path}/erase"), "\"1\"", &json!({})).problem(404, "not-found");
        let owner = studio.owner();
        owner.act(&format!("{path}/erase"), "\"7\"", &json!({})).problem(412, "changed-meanwhile");
        owner.json("POST", &format!("{path}/erase"), &[], &json!({})).problem(428, "if-match-required");
        assert_eq!(owner.get(&path).expect(200)["erased_at"], json!(null));
    });
}

#[test]
fn no_table_that_speaks_of_a_customer_is_without_a_holder() {
    on_each_engine(|studio| {
        let read = studio.db.read(|conn| dump::every_table(conn).map_err(Fail::from));
        let tables = read.unwrap_or_else(|fail| panic!("{fail:?}"));
        let held: BTreeSet<&str> = holders().iter().flat_map(|holder| holder.held).map(|held| held.table).collect();
        let of_a_customer = [
            "customer_id",
            "vehicle_id",
            "quote_id",
            "inspection_id",
            "booking_id",
            "job_id",
            "invoice_id",
            "message_id",
        ];
        let forgotten: Vec<&str> = tables
            .iter()
            .filter(|table| of_a_customer.iter().any(|column| table.has(column)))
            .map(|table| table.name.as_str())
            .filter(|table| !held.contains(table))
            .collect();
        assert!(forgotten.is_empty(), "add these to a feature's HOLDER: {forgotten:?}");
        assert!(tables.len() > held.len());
    });
}

#[test]
fn a_photograph_that_another_customers_inspection_shows_stays() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let (leaving, car) = owner.add_customer_with_car();
        let (_, other) = owner.add_customer_with_car();
        let photo = id(&owner.add_photo());
        let seen = [&car, &other].map(|car| {
            let mut body = inspection::body(&id(car));
            body["findings"][0]["photo_ids"] = json!([photo]);
            owner.inspect_with(&body)
        });
        erase(&owner, &id(&leaving)).expect(200);
        assert_eq!(owner.get(&format!("/v1/photos/{photo}")).status, 200);
        let shown = |seen: &Value| {
            let read = owner.get(&format!("/v1/inspections/{}", id(seen))).expect(200);
            read["findings"][0]["photo_ids"].clone()
        };
        assert_eq!((shown(&seen[0]), shown(&seen[1])), (json!([]), json!([photo])));
    });
}

/// Every number that stands anywhere in a value, with the name of its field.
fn numbers(name: &str, value: &Value, found: &mut Vec<(String, i64)>) {
    match value {
        Value::Number(number) => found.extend(number.as_i64().map(|number| (name.to_owned(), number))),
        Value::Array(all) => all.iter().for_each(|one| numbers(name, one, found)),
        Value::Object(fields) => fields.iter().for_each(|(name, one)| numbers(name, one, found)),
        _ => {}
    }
}

#[test]
fn amounts_and_times_are_told_as_people_read_them() {
    on_each_engine(|studio| {
        let (customer, _) = whole_life(studio);
        let told = studio.owner().get(&format!("/v1/customers/{customer}/personal-data")).expect(200);
        let rows = |kind: &str| -> Vec<Value> {
            let all = told["records"].as_array().unwrap().iter().filter(|records| records["kind"] == kind);
            all.flat_map(|records| records["items"].as_array().unwrap().clone()).collect()
        };
        let (invoices, places, payments) = (rows("invoice"), rows("placement"), rows("payment"));
        assert!(invoices.iter().all(|row| row["payable"].as_str().unwrap().starts_with("EUR ")), "{invoices:?}");
        assert!(payments.iter().all(|row| row["amount"].as_str().unwrap().starts_with("EUR ")), "{payments:?}");
        assert!(places.iter().all(|row| row["starts"].as_str().unwrap().contains(" March 2026, ")), "{places:?}");
        assert_eq!(told["zone"], "Europe/Dublin");
        let paid = rows("record").into_iter().find(|entry| entry["action"] == "payment.recorded").unwrap();
        assert!(paid["detail"]["amount"].as_str().unwrap().starts_with("EUR "), "{paid}");
        let finished = rows("job_move").into_iter().find(|step| step["what"] == "FINISH").unwrap();
        assert!(finished["was"]["pieces"][0][1].as_str().unwrap().contains(" March 2026, "), "{finished}");
        for records in told["records"].as_array().unwrap() {
            for row in records["items"].as_array().unwrap() {
                let mut found = Vec::new();
                numbers("", row, &mut found);
                let moments: Vec<_> = found.iter().filter(|(_, number)| *number > 20_000_000).collect();
                assert!(moments.is_empty(), "{} has {moments:?}", records["kind"]);
            }
        }
    });
}

#[test]
fn an_erasure_is_shown_before_it_is_made() {
    on_each_engine(|studio| {
        let (customer, photos) = whole_life(studio);
        let owner = studio.owner();
        let path = format!("/v1/customers/{customer}");
        let before = studio.every_row();
        let etag = owner.get(&path).etag();
        let look = || owner.act(&format!("{path}/erase?validate_only=true"), &etag, &json!({}));
        let would = look().expect(200);
        assert!(studio.every_row() == before, "looking changes nothing");
        owner.get(&format!("/v1/photos/{}", photos[0])).expect(200);
        let kinds = |answer: &Value, list: &str| -> Vec<String> {
            let all = answer[list].as_array().unwrap().iter();
            all.map(|one| one["record"].as_str().unwrap().to_owned()).collect()
        };
        for kind in ["CONTACT", "VEHICLE", "ENQUIRY", "INSPECTION", "PHOTO", "OPEN_QUOTE", "JOB", "MESSAGE"] {
            assert!(kinds(&would, "removed").contains(&kind.to_owned()), "{kind}: {would}");
        }
        assert_eq!(kinds(&would, "kept"), ["SIGNED_QUOTE", "INVOICE", "PAYMENT"]);
        for kept in would["kept"].as_array().unwrap() {
            assert!(kept["why"].as_str().unwrap().contains("article 17(3)"), "{kept}");
        }
        let is = owner.act(&format!("{path}/erase"), &etag, &json!({})).expect(200);
        assert_eq!((&is["removed"], &is["kept"]), (&would["removed"], &would["kept"]));
        look().problem(409, "customer-erased");
    });
}

#[test]
fn enquiries_of_the_same_caller_that_name_no_customer_are_named_before_and_after_the_erasure() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let contacts = json!({ "emails": ["niamh.keane@example.com"], "phones": ["+353 20 910 0777"] });
        let person = owner.post("/v1/customers", &with(customer::body("Niamh Keane"), contacts)).expect(201);
        // The first has the address, the second the number in another form, the third neither.
        let mut calls = [enquiry::body("Niamh"), enquiry::body("Keane"), enquiry::body("Brendan")];
        calls[0]["caller"]["phone"] = json!(null);
        calls[1]["caller"]["email"] = json!(null);
        calls[1]["caller"]["phone"] = json!("+353 209100777");
        calls[2]["caller"]["email"] = json!("brendan@example.com");
        for call in &mut calls {
            call["caller"]["may_phone"] = json!(false);
        }
        let taken = calls.map(|call| id(&owner.post("/v1/enquiries", &call).expect(201)));
        let path = format!("/v1/customers/{}", id(&person));
        let etag = owner.get(&path).etag();
        for query in ["?validate_only=true", ""] {
            let answer = owner.act(&format!("{path}/erase{query}"), &etag, &json!({})).json();
            let warnings: Vec<(&str, &str)> = answer["warnings"]
                .as_array()
                .unwrap()
                .iter()
                .map(|one| (one["code"].as_str().unwrap(), one["detail"].as_str().unwrap()))
                .collect();
            assert_eq!(warnings.len(), 2, "{answer}");
            for (enquiry, (code, detail)) in taken.iter().zip(&warnings) {
                assert_eq!((*code, detail.contains(enquiry.as_str())), ("caller-not-erased", true), "{answer}");
            }
        }
    });
}

#[test]
fn an_erasure_whose_answer_was_lost_is_sent_again_with_its_key() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let made = owner.post("/v1/customers", &customer::body("Aoife Byrne")).expect(201);
        let path = format!("/v1/customers/{}", id(&made));
        let etag = owner.get(&path).etag();
        let headers = [("if-match", etag.as_str()), ("idempotency-key", "lost")];
        let ask = || owner.json("POST", &format!("{path}/erase"), &headers, &json!({}));
        let (first, again) = (ask(), ask());
        assert_eq!((first.status, first.json()["warnings"].clone()), (200, json!([])));
        assert_eq!((again.header("idempotency-replayed"), &again.text), ("true", &first.text));
        // Without the key, the same request counts as a second erasure, which is refused.
        erase(&owner, &id(&made)).problem(409, "customer-erased");
    });
}

#[test]
fn an_old_list_does_not_bring_erased_people_back() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let list =
            "name,emails,phones\nAoife Zyxomma,zyxomma@example.com,+353 20 910 0777\nBrendan Walsh,,+353 20 910 0778\n";
        let import = |confirm: &str| {
            owner.post_file(&format!("/v1/imports/customers{confirm}"), "text/csv", list.as_bytes()).expect(200)
        };
        assert_eq!(import("")["added"], 2);
        let listed = owner.get("/v1/customers?email=zyxomma@example.com").expect(200);
        erase(&owner, &id(&listed["items"][0])).expect(200);
        assert!(tables_that_tell(studio).is_empty(), "the digests name nobody");
        let report = import("");
        assert_eq!(
            (&report["added"], report["already_here"].as_array().map(Vec::len)),
            (&json!(0), Some(1)),
            "{report}"
        );
        assert_eq!(
            (&report["refused"][0]["line"], &report["refused"][0]["faults"][0]["code"]),
            (&json!(2), &json!("erased-customer"))
        );
        let report = import("?confirm=erased-customer");
        assert_eq!(report["added"], 1, "{report}");
        // Another shop knows nothing of it.
        let stranger = studio.stranger();
        assert_eq!(stranger.post_file("/v1/imports/customers", "text/csv", list.as_bytes()).expect(200)["added"], 2);
    });
}

#[test]
fn digests_of_erased_people_are_dropped_after_the_years_that_the_shop_keeps_its_records() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let person = owner.add_customer("Aoife Byrne");
        erase(&owner, &id(&person)).expect(200);
        let kept = || studio.every_row().iter().filter(|(table, _)| table == "erased_key").count();
        assert_eq!(kept(), 2);
        studio.in_shop(studio.shop(), baywright_core::customer::usecase::forget_erased);
        assert_eq!(kept(), 2);
        studio.pass_minutes(11 * 366 * 24 * 60);
        studio.in_shop(studio.shop(), baywright_core::customer::usecase::forget_erased);
        assert_eq!(kept(), 0);
    });
}
