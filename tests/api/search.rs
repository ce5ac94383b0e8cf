//! Search over HTTP.

use baywright_core::platform::identity::Role;
use baywright_tests::make::customer;
use baywright_tests::on_each_engine;
use baywright_tests::person::Person;
use serde_json::json;

fn found(person: &Person, typed: &str) -> Vec<String> {
    let typed = typed.replace('+', "%2B").replace(' ', "%20").replace('á', "%C3%A1");
    let answer = person.get(&format!("/v1/search?q={typed}")).expect(200);
    answer["items"].as_array().unwrap().iter().map(|hit| hit["title"].as_str().unwrap().to_owned()).collect()
}

#[test]
fn names_registrations_telephones_and_mails_are_found_by_their_start() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let mut other = customer::body("Siobhán O'Brien");
        other["phones"] = json!(["+353 20 910 0123"]);
        other["emails"] = json!(["s.obrien@mail.example"]);
        let made = owner.post("/v1/customers", &other);
        let location = made.header("location").to_owned();
        let siobhan = made.expect(201);
        owner.add_customer("Aoife Byrne");
        owner.add_vehicle(siobhan["id"].as_str().unwrap(), "AB12 CDE");
        for typed in ["siob", "Siobhán", "obrien", "o'br", "brien siob", "020 910 0123", "+353 20 910 01", "s.obrien@"]
        {
            assert_eq!(found(&owner, typed), ["Siobhán O'Brien"], "{typed}");
        }
        for typed in ["ab12c", "AB 12", "cde", "corrig est"] {
            assert_eq!(found(&owner, typed), ["AB12 CDE"], "{typed}");
        }
        assert_eq!(found(&owner, "910"), ["Aoife Byrne", "Siobhán O'Brien"], "newest first");
        for typed in ["iobh", "911", "siob xyz", "%", "-"] {
            assert!(found(&owner, typed).is_empty(), "{typed}");
        }
        let mut renamed = other;
        renamed["name"] = json!("Siobhán Walsh");
        owner.put(&location, "\"1\"", &renamed).expect(200);
        assert!(found(&owner, "brien").is_empty(), "the old name is forgotten");
        assert_eq!(found(&owner, "walsh"), ["Siobhán Walsh"]);
        assert!(found(&studio.stranger(), "siob").is_empty());
    });
}

#[test]
fn an_answer_is_bounded_and_says_that_there_is_more() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        for number in 0..4 {
            owner.add_customer(&format!("Customer {number}"));
        }
        let some = owner.get("/v1/search?q=cust&limit=3").expect(200);
        assert_eq!((some["items"].as_array().map(Vec::len), &some["more"]), (Some(3), &json!(true)));
        let all = owner.get("/v1/search?q=cust&limit=4").expect(200);
        assert_eq!((all["items"].as_array().map(Vec::len), &all["more"]), (Some(4), &json!(false)));
        for bad in ["q=", "", "q=a&limit=0", "q=a&limit=51", "q=a&b=c"] {
            assert_eq!(owner.get(&format!("/v1/search?{bad}")).status, 400, "{bad}");
        }
        studio.colleague(Role::Technician).get("/v1/search?q=cust").problem(403, "not-allowed");
        studio.nobody().get("/v1/search?q=cust").problem(401, "not-signed-in");
    });
}

#[test]
fn a_name_a_telephone_and_a_plate_lead_to_the_visits_with_booking_and_job() {
    on_each_engine(|studio| {
        studio.floor();
        let (booking, job) = crate::job::arrived(studio, &["wash"]);
        let owner = studio.owner();
        for typed in ["byrne", "Aoife", "020 910", "231-D-10101", "231 d", "Q-2026-0001"] {
            let typed = typed.replace(' ', "%20");
            let answer = owner.get(&format!("/v1/search?q={typed}")).expect(200);
            let visits = answer["visits"].as_array().unwrap();
            assert_eq!(visits.len(), 1, "{typed}: {answer}");
            assert_eq!((&visits[0]["id"], &visits[0]["booking"]["id"]), (&booking["quote_id"], &booking["id"]));
            assert_eq!((&visits[0]["job"]["id"], &visits[0]["next"]["act"]), (&job["id"], &json!("START_STEP")));
        }
        let nothing = owner.get("/v1/search?q=nobody").expect(200);
        assert_eq!((&nothing["items"], &nothing["visits"]), (&json!([]), &json!([])));
        let elsewhere = studio.stranger().get("/v1/search?q=byrne").expect(200);
        assert_eq!(elsewhere["visits"], json!([]));
    });
}

#[test]
fn quotes_and_invoices_are_found_by_their_numbers() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        studio.sent_quote("aoife@example.com", &["decontamination"], &[]);
        for typed in ["q-2026-0001", "Q2026", "q"] {
            assert_eq!(found(&owner, typed), ["Q-2026-0001"], "{typed}");
        }
        let customer = owner.add_customer("Nora Keane");
        let invoice = studio.issued_invoice(&customer, &[(12_300, 23)]);
        let number = invoice["number"].as_str().unwrap();
        assert_eq!(found(&owner, number), [number]);
        assert!(found(&studio.stranger(), "2026").is_empty());
    });
}
