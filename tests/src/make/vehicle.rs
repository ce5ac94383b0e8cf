//! Vehicles for tests.

use serde_json::{Value, json};

use crate::person::Person;

/// A medium metallic car with an engine.
pub fn body(customer_id: &str, registration: &str) -> Value {
    json!({
        "customer_id": customer_id, "registration": registration, "registration_country": "IE", "make": "Corrigan",
        "model": "Estate 2.0", "year": 2023, "colour": "dark blue", "size_class": "MEDIUM", "paint_type": "METALLIC",
        "powertrain": "COMBUSTION", "odometer_unit": "KM"
    })
}

impl Person {
    /// Adds a car to a customer, though another has its plate; gives the answer's body.
    #[track_caller]
    pub fn add_vehicle(&self, customer_id: &str, registration: &str) -> Value {
        self.post("/v1/vehicles?confirm=known-vehicle", &body(customer_id, registration)).expect(201)
    }

    /// Adds a private customer with a car; gives both bodies.
    #[track_caller]
    pub fn add_customer_with_car(&self) -> (Value, Value) {
        let customer = self.add_customer("Aoife Byrne");
        let vehicle = self.add_vehicle(customer["id"].as_str().unwrap(), "231-D-10101");
        (customer, vehicle)
    }
}
