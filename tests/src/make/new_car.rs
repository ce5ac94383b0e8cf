//! New cars for tests: an enquiry with its customer, car, walk-round and draft of a quote.

use serde_json::json;

use crate::Studio;
use crate::make::menu::with;
use crate::make::quote::{id, tag};
use crate::make::{customer, inspection, media};

/// A new car whose quote can be sent, if somebody says where to.
#[derive(Debug, Clone)]
pub struct NewCar {
    /// The enquiry's id.
    pub enquiry: String,
    /// The id of a photograph of the walk-round.
    pub photo: String,
}

impl Studio {
    /// The new car of the studio, which is made the first time: its customer has no email address, and the small menu is
    /// published.
    #[track_caller]
    pub fn new_car(&self) -> NewCar {
        let owner = self.owner();
        let known = owner.get("/v1/inspections?state=DRAFT").expect(200)["items"][0]["id"].clone();
        if let Some(walked) = known.as_str() {
            let walked = owner.get(&format!("/v1/inspections/{walked}")).expect(200);
            let photo = walked["findings"][0]["photo_ids"][0].as_str().unwrap().to_owned();
            let enquiries = owner.get("/v1/enquiries").expect(200);
            return NewCar { enquiry: id(&enquiries["items"][0]), photo };
        }
        if owner.get("/v1/menu").status == 404 {
            owner.publish_small_menu();
        }
        let person = with(customer::body("Niamh Keane"), json!({ "emails": [], "consents": [] }));
        let customer = owner.post("/v1/customers?confirm=known-customer", &person).expect(201);
        let vehicle = id(&owner.add_vehicle(&id(&customer), "231-D-10101"));
        let call = json!({ "customer_id": id(&customer), "vehicle_id": vehicle, "wish": "Swirl marks out." });
        let enquiry = owner.post("/v1/enquiries", &call).expect(201);
        let photo = id(&owner.post_file("/v1/photos", "image/jpeg", &media::jpeg(64, 48)).expect(201));
        let mut walked = inspection::body(&vehicle);
        walked["findings"][0]["photo_ids"] = json!([photo]);
        owner.post("/v1/inspections", &walked).expect(201);
        let draft = json!({ "condition": "FAIR", "lines": [{ "item": { "service": "decontamination" } }] });
        let quote = owner.write_quote(&vehicle, &draft).expect(201);
        let path = format!("/v1/enquiries/{}/quoted", id(&enquiry));
        owner.act(&path, &tag(&enquiry), &json!({ "quote_id": id(&quote) })).expect(200);
        NewCar { enquiry: id(&enquiry), photo }
    }
}
