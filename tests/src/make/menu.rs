//! Menus for tests: a small one of a studio that washes, polishes, coats and cleans inside.

use serde_json::{Value, json};

use crate::person::Person;

/// A step without anything special: dry and clean, outside, growing with size and condition.
pub fn step(code: &str, stage: u32, minutes: u32, after: &[&str]) -> Value {
    json!({
        "code": code, "name": code.replace('-', " "), "stage": stage, "base_minutes": minutes,
        "by_size": true, "by_condition": true, "two_hands": null, "skills": [], "bay_features": [], "wait": null,
        "split_piece_minutes": null,
        "setup": { "area": "DRY", "side": "OUTSIDE", "zone": null, "tool": null, "masked": false,
            "cleanliness": "CLEAN" },
        "doses": [], "hazards": [], "own_cautions": [], "customer_cautions": [], "after": after, "common_practice": false
    })
}

/// A product in millilitres, neutral and used as it comes.
pub fn product(code: &str, price: &str) -> Value {
    json!({
        "code": code, "name": code.replace('-', " "), "unit": "MILLILITRE", "mix": null,
        "price": { "amount": price, "currency": "EUR" }, "chemistry": ["NEUTRAL"], "never_with": [],
        "dwell_seconds": null, "hazards": [], "own_cautions": [], "customer_cautions": [], "common_practice": false
    })
}

/// Prices by size, in whole euros.
pub fn prices(amounts: [u32; 4]) -> Value {
    let amount = |whole: u32| json!({ "amount": format!("{whole}.00"), "currency": "EUR" });
    let [small, medium, large, extra_large] = amounts.map(amount);
    json!({ "small": small, "medium": medium, "large": large, "extra_large": extra_large })
}

/// A service at fixed prices, or built from time and products where there are none.
pub fn service(code: &str, position: u32, steps: &[&str], amounts: Option<[u32; 4]>) -> Value {
    let steps: Vec<Value> = steps.iter().map(|step| json!({ "step": step, "base_minutes": null })).collect();
    let kind = if amounts.is_some() { "FIXED" } else { "BUILT" };
    json!({
        "code": code, "name": code.replace('-', " "), "summary": "What the customer gets.", "tax": "standard",
        "steps": steps, "price": { "kind": kind, "amounts": amounts.map(prices) },
        "condition": { "priced": false, "at_worst": null }, "excludes": [], "online": true, "largest_quantity": 10,
        "position": position, "common_practice": false
    })
}

/// A value with other values in it.
#[must_use]
pub fn with(mut value: Value, changes: Value) -> Value {
    if let (Some(value), Value::Object(changes)) = (value.as_object_mut(), changes) {
        value.extend(changes);
    }
    value
}

/// Six services of thirteen steps, four products, one package. It needs no skill and no bay feature, so that any
/// bay and anyone will do, but for the coating, which needs a bay with `cover`.
pub fn small_menu() -> Value {
    let wet = json!({
        "area": "WET", "side": "OUTSIDE", "zone": null, "tool": null, "masked": false, "cleanliness": "DIRTY"
    });
    let machine = json!({
        "area": "DRY", "side": "OUTSIDE", "zone": null, "tool": "machine-polisher", "masked": true,
        "cleanliness": "DIRTY"
    });
    let inside =
        json!({ "area": "DRY", "side": "INSIDE", "zone": null, "tool": null, "masked": false, "cleanliness": "DIRTY" });
    let dose = |product: &str, basis: &str, units: &str, rate: &str| json!([{ "product": product, "basis": basis, "units": units, "rate": rate, "by_size": true }]);
    let overnight =
        json!({ "wait_minutes": 720, "when": "ANY", "holds": "CAR", "needs_bay": true, "needs_cover": true });
    let four_hours =
        json!({ "wait_minutes": 240, "when": "ANY", "holds": "CAR", "needs_bay": false, "needs_cover": false });
    let steps = [
        with(
            step("wheels", 10, 30, &[]),
            json!({ "setup": wet, "doses": dose("wheel-acid", "COUNT", "4", "50"), "hazards": ["HOT_OR_BARE_METAL"] }),
        ),
        with(
            step("wash", 20, 50, &["wheels"]),
            json!({ "setup": wet, "doses": dose("shampoo", "AREA", "10", "1000"), "hazards": ["WASH_WATER"] }),
        ),
        with(step("iron", 30, 20, &["wash"]), json!({ "setup": wet })),
        with(step("clay", 40, 20, &["iron"]), json!({ "setup": wet, "two_hands": "0.6" })),
        with(step("inspect", 50, 15, &["wash", "clay"]), json!({ "by_condition": false })),
        with(
            step("compound", 90, 360, &["clay", "inspect"]),
            json!({ "setup": machine, "split_piece_minutes": 60, "hazards": ["THIN_PAINT"] }),
        ),
        with(
            step("polish", 100, 240, &["clay", "inspect", "compound"]),
            json!({ "setup": machine, "split_piece_minutes": 60, "doses": dose("polish", "AREA", "10", "12") }),
        ),
        with(step("wipe-down", 110, 20, &["polish", "compound"]), json!({ "by_condition": false })),
        with(
            step("coat", 130, 120, &["wipe-down"]),
            json!({ "by_condition": false, "wait": overnight, "hazards": ["VENTILATION"] }),
        ),
        with(step("vacuum", 150, 60, &[]), json!({ "setup": inside })),
        with(
            step("extract", 160, 90, &["vacuum"]),
            json!({ "setup": inside, "wait": four_hours, "doses": dose("textile-cleaner", "AREA", "4", "200") }),
        ),
        with(step("glass", 170, 15, &["vacuum", "extract", "coat"]), json!({ "by_condition": false })),
        with(step("final", 190, 15, &[]), json!({ "by_condition": false })),
    ];
    let decontaminated = ["wheels", "wash", "iron", "clay", "inspect"];
    let joined = |more: &[&'static str]| [&decontaminated[..], more].concat();
    let services = [
        with(
            service("maintenance-wash", 10, &["wheels", "wash", "glass", "final"], Some([75, 89, 109, 135])),
            json!({ "condition": { "priced": true, "at_worst": "HEAVY" } }),
        ),
        service("decontamination", 20, &joined(&["final"]), Some([150, 175, 215, 260])),
        service("polish-one-step", 30, &joined(&["polish", "wipe-down", "final"]), None),
        with(
            service("correction-two-step", 40, &joined(&["compound", "polish", "wipe-down", "final"]), None),
            json!({ "excludes": ["polish-one-step"], "online": false }),
        ),
        service("coating", 50, &joined(&["wipe-down", "coat", "final"]), Some([399, 459, 559, 669])),
        service("interior", 60, &["vacuum", "extract", "glass", "final"], Some([150, 180, 220, 260])),
    ];
    json!({
        "checkpoints": [{ "stage": 190, "reason": "the final inspection sees finished work" }],
        "products": [
            product("polish", "36.00"),
            with(product("shampoo", "14.00"), json!({ "mix": "50 ml in 10 l" })),
            product("textile-cleaner", "13.00"),
            with(product("wheel-acid", "20.00"), json!({ "mix": "1:4", "chemistry": ["ACID"], "hazards": ["SKIN_AND_EYES"] })),
        ],
        "steps": steps, "services": services,
        "packages": [{
            "code": "inside-and-out", "name": "Inside and out", "summary": "The wash and the interior.",
            "tax": "standard", "services": ["maintenance-wash", "interior"], "price": prices([205, 245, 299, 359]),
            "by_condition": false, "online": true, "position": 10
        }]
    })
}

impl Person {
    /// Makes that menu the draft; gives its ETag.
    #[track_caller]
    pub fn draft_menu(&self, menu: &Value) -> String {
        let seen = self.get("/v1/menu/draft").etag();
        let answer = self.put("/v1/menu/draft", &seen, menu);
        let tag = answer.etag();
        answer.expect(200);
        tag
    }

    /// Publishes that menu from now on; gives the revision.
    #[track_caller]
    pub fn publish_menu(&self, menu: &Value) -> Value {
        let seen = self.draft_menu(menu);
        self.act("/v1/menu/publish", &seen, &json!({ "from": null, "note": "" })).expect(201)
    }

    /// Publishes [`small_menu`] from now on; gives the revision.
    #[track_caller]
    pub fn publish_small_menu(&self) -> Value {
        self.publish_menu(&small_menu())
    }
}
