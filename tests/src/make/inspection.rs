//! Inspections for tests.

use serde_json::{Value, json};

use crate::person::Person;

/// A car in ordinary use: swirl marks on two panels, slight soil, readings well above the usual floor.
pub fn body(vehicle_id: &str) -> Value {
    json!({
        "vehicle_id": vehicle_id, "odometer": 48_210, "soil_grade": 2, "contamination_grade": 1,
        "findings": [
            { "panel": "BONNET", "kind": "SWIRLS", "severity": "MODERATE", "note": "under the lamp" },
            { "panel": "ROOF", "kind": "SWIRLS", "severity": "MINOR" },
            { "panel": "REAR_BUMPER", "kind": "DENT", "severity": "SERIOUS", "note": "from before" }
        ],
        "readings": [
            { "panel": "BONNET", "micrometres": [120, 118, 125, 131] },
            { "panel": "ROOF", "micrometres": [128, 130, 126] }
        ],
        "beyond_repair": "The dent at the back stays."
    })
}

impl Person {
    /// Inspects a car and completes the inspection; gives the answer's body.
    #[track_caller]
    pub fn inspect(&self, vehicle_id: &str) -> Value {
        self.inspect_with(&body(vehicle_id))
    }

    /// Writes an inspection down as the body says and completes it; gives the answer's body.
    #[track_caller]
    pub fn inspect_with(&self, body: &Value) -> Value {
        let made = self.post("/v1/inspections", body);
        let path = format!("{}/complete", made.header("location"));
        made.expect(201);
        self.json("POST", &path, &[("if-match", "\"1\"")], &json!({})).expect(200)
    }
}
