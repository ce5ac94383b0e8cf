//! Enquiries for tests.

use serde_json::{Value, json};

use crate::person::Person;

/// A call from somebody who is no customer yet and may be called back.
pub fn body(name: &str) -> Value {
    json!({
        "channel": "PHONE",
        "caller": {
            "name": name, "email": "niamh.keane@example.com", "phone": "+353 20 910 0042",
            "may_mail": false, "may_phone": true
        },
        "vehicle": "dark blue estate", "wish": "Swirl marks out before it is sold.", "wanted_by": "2026-03-20",
        "notes": "Rings back after five."
    })
}

impl Person {
    /// Takes down a call from somebody who is no customer yet; gives the answer's body.
    #[track_caller]
    pub fn take_enquiry(&self, name: &str) -> Value {
        self.post("/v1/enquiries", &body(name)).expect(201)
    }
}
