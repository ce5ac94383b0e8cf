//! People for tests.

use serde_json::{Value, json};

use crate::make::shop::day_before;
use crate::person::Person;

/// Someone with that role who works Monday to Friday from 8:00 to 17:30 where they are a technician; each has an
/// address of their own.
pub fn body(name: &str, role: &str, skills: &[&str]) -> Value {
    let email = format!("{}@example.com", baywright_core::platform::ids::new::<String>());
    let days: &[&str] = match role {
        "TECHNICIAN" => &["MONDAY", "TUESDAY", "WEDNESDAY", "THURSDAY", "FRIDAY"],
        _ => &[],
    };
    let shifts: Vec<Value> =
        days.iter().map(|day| json!({ "weekday": day, "from": "08:00", "until": "17:30" })).collect();
    json!({ "name": name, "email": email, "role": role, "skills": skills, "shifts": shifts })
}

impl Person {
    /// Adds a technician with those skills and a usual week; gives the answer's body. Nobody signs in as them.
    #[track_caller]
    pub fn add_technician(&self, name: &str, skills: &[&str]) -> Value {
        self.post("/v1/people", &body(name, "TECHNICIAN", skills)).expect(201)
    }

    /// Notes that someone is away for whole days, up to, not including, the second; gives the answer's body.
    #[track_caller]
    pub fn away(&self, person: &str, from: &str, until: &str) -> Value {
        let path = format!("/v1/people/{person}/absences");
        self.post(&path, &json!({ "first_day": from, "last_day": day_before(until) })).expect(201)
    }
}
