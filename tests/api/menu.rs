//! The menu over HTTP.

mod basis;
mod first;
mod look;

use baywright_core::platform::identity::Role;
use baywright_tests::make::menu::{product, service, small_menu, step, with};
use baywright_tests::on_each_engine;
use serde_json::{Value, json};

fn pointers(problem: &Value) -> Vec<(String, String)> {
    let text = |value: &Value| value.as_str().unwrap().to_owned();
    problem.as_array().unwrap().iter().map(|fault| (text(&fault["pointer"]), text(&fault["code"]))).collect()
}

fn at(pointer: &str, code: &str) -> (String, String) {
    (pointer.to_owned(), code.to_owned())
}

fn ask(source: &str, lines: &[(&str, &str)], size: &str, condition: &str) -> Value {
    let lines: Vec<Value> = lines.iter().map(|(kind, code)| json!({ "kind": kind, "code": code })).collect();
    json!({ "source": source, "lines": lines, "size": size, "condition": condition, "powertrain": "COMBUSTION" })
}

#[test]
fn a_draft_is_read_replaced_and_stale_changes_are_refused() {
    on_each_engine(|studio| {
        let desk = studio.colleague(Role::Desk);
        let empty = desk.get("/v1/menu/draft");
        assert_eq!(empty.etag(), "\"0\"");
        assert_eq!(empty.expect(200)["menu"]["services"], json!([]));
        let written = desk.put("/v1/menu/draft", "\"0\"", &small_menu());
        assert_eq!(written.etag(), "\"1\"");
        assert_eq!(written.expect(200)["menu"], small_menu());
        let read = desk.get("/v1/menu/draft").expect(200);
        assert_eq!((&read["menu"], &read["version"]), (&small_menu(), &json!(1)));
        desk.put("/v1/menu/draft", "\"0\"", &small_menu()).problem(412, "changed-meanwhile");
        desk.json("PUT", "/v1/menu/draft", &[], &small_menu()).problem(428, "if-match-required");
        let unchanged = desk.send("GET", "/v1/menu/draft", &[("if-none-match", "\"1\"")], None);
        assert_eq!(unchanged.status, 304);
    });
}

#[test]
fn items_are_written_and_removed_one_by_one() {
    on_each_engine(|studio| {
        let desk = studio.colleague(Role::Desk);
        let seen = desk.draft_menu(&small_menu());
        let clay = with(product("clay", "60.00"), json!({ "unit": "GRAM" }));
        let made = desk.put("/v1/menu/draft/products/clay", &seen, &clay);
        let seen = made.etag();
        assert_eq!(made.expect(200), json!({ "version": 2, "item": clay }));
        let odour = step("odour", 165, 20, &["extract"]);
        let seen = desk.put("/v1/menu/draft/steps/odour", &seen, &odour).etag();
        let fresh = service("fresh-air", 55, &["vacuum", "odour", "final"], Some([90, 95, 100, 110]));
        let seen = desk.put("/v1/menu/draft/services/fresh-air", &seen, &fresh).etag();
        let checkpoints = json!({ "checkpoints": [{ "stage": 80, "reason": "nothing wet after masking" }] });
        let answer = desk.put("/v1/menu/draft/checkpoints", &seen, &checkpoints);
        let seen = answer.etag();
        let draft = answer.expect(200);
        assert_eq!(draft["menu"]["checkpoints"], checkpoints["checkpoints"]);
        assert_eq!(draft["menu"]["products"][0]["code"], "clay", "products stand by code");
        assert_eq!(draft["menu"]["steps"][11]["code"], "odour", "steps stand by stage");
        assert_eq!(draft["menu"]["services"][5]["code"], "fresh-air", "services stand by place");
        let changed = with(fresh.clone(), json!({ "name": "Fresh air" }));
        let seen = desk.put("/v1/menu/draft/services/fresh-air", &seen, &changed).etag();
        let draft = desk.get("/v1/menu/draft").expect(200);
        assert_eq!(draft["menu"]["services"].as_array().map(Vec::len), Some(7), "a known code is replaced");
        assert_eq!(draft["menu"]["services"][5]["name"], "Fresh air");
        let bundle = with(small_menu()["packages"][0].clone(), json!({ "code": "all-in", "position": 5 }));
        let seen = desk.put("/v1/menu/draft/packages/all-in", &seen, &bundle).etag();

        let remove = |path: &str, seen: &str| desk.send("DELETE", path, &[("if-match", seen)], None);
        let gone = remove("/v1/menu/draft/packages/all-in", &seen);
        let seen = gone.etag();
        gone.expect(200);
        let seen = remove("/v1/menu/draft/services/fresh-air", &seen).etag();
        let seen = remove("/v1/menu/draft/steps/odour", &seen).etag();
        let seen = remove("/v1/menu/draft/products/clay", &seen).etag();
        remove("/v1/menu/draft/products/clay", &seen).problem(404, "not-found");
        remove("/v1/menu/draft/products/polish", "\"1\"").problem(412, "changed-meanwhile");
        let left = desk.get("/v1/menu/draft").expect(200)["menu"].clone();
        assert_eq!(with(left, json!({ "checkpoints": [] })), with(small_menu(), json!({ "checkpoints": [] })));
    });
}

#[test]
fn what_can_not_be_read_is_pointed_at() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let put = |path: &str, body: &Value| owner.put(path, "\"0\"", body);
        let shampoo = product("shampoo", "14.00");
        let faulty = with(shampoo.clone(), json!({ "mix": "four parts" }));
        let problem = put("/v1/menu/draft/products/shampoo", &faulty).problem(422, "invalid-value");
        assert_eq!(problem["errors"][0]["pointer"], "/mix");
        let dollars = json!({ "price": { "amount": "1.00", "currency": "USD" } });
        let problem = put("/v1/menu/draft/products/shampoo", &with(shampoo.clone(), dollars.clone()))
            .problem(422, "invalid-value");
        assert_eq!(problem["errors"][0]["pointer"], "/price/currency");
        let mut whole = small_menu();
        whole["products"][2] = with(whole["products"][2].clone(), dollars);
        let problem = put("/v1/menu/draft", &whole).problem(422, "invalid-value");
        assert_eq!(problem["errors"][0]["pointer"], "/products/2/price/currency");
        let problem = put("/v1/menu/draft/products/other", &shampoo).problem(422, "invalid-value");
        assert_eq!(problem["errors"][0]["pointer"], "/code");
        let built = service("odd", 1, &["wash"], Some([1, 2, 3, 4]));
        let built = with(built.clone(), json!({ "price": { "kind": "BUILT", "amounts": built["price"]["amounts"] } }));
        let problem = put("/v1/menu/draft/services/odd", &built).problem(422, "invalid-value");
        assert_eq!(problem["errors"][0]["pointer"], "/price/amounts");

        let mut long = small_menu();
        long["steps"][0]["base_minutes"] = json!(43_201);
        let problem = put("/v1/menu/draft", &long).problem(400, "invalid-body");
        assert_eq!(problem["errors"][0]["pointer"], "/steps/0/base_minutes");
        let mut unknown = small_menu();
        unknown["steps"][1]["colour"] = json!("red");
        put("/v1/menu/draft", &unknown).problem(400, "invalid-body");
        let mut many = small_menu();
        many["packages"] = Value::Array(vec![many["packages"][0].clone(); 41]);
        let problem = put("/v1/menu/draft", &many).problem(400, "invalid-body");
        assert_eq!(problem["errors"][0]["pointer"], "/packages");
        assert_eq!(owner.get("/v1/menu/draft").etag(), "\"0\"", "nothing of it was kept");
    });
}

#[test]
fn every_fault_is_listed_with_its_place_and_keeps_the_menu_from_being_published() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let mut menu = small_menu();
        menu["steps"][1]["after"] = json!(["wheels", "nowhere"]);
        menu["steps"][3]["two_hands"] = json!("0.4");
        menu["services"][0]["price"]["amounts"]["large"] = json!(null);
        menu["services"][1]["tax"] = json!("reduced");
        menu["services"][4]["steps"][0]["step"] = json!("nothing");
        menu["packages"][0]["price"]["small"] = json!({ "amount": "-1.00", "currency": "EUR" });
        let seen = owner.draft_menu(&menu);
        let found = owner.get("/v1/menu/draft/validation").expect(200);
        let expected = [
            at("/steps/1/after/1", "unknown"),
            at("/steps/3/two_hands", "bad_factor"),
            at("/services/0/price/amounts/large", "missing"),
            at("/services/4/steps/0", "unknown"),
            at("/packages/0/price/small", "negative"),
            at("/services/1/tax", "unknown"),
        ];
        assert_eq!(pointers(&found["faults"]), expected);
        assert_eq!((&found["publishable"], &found["fault_count"]), (&json!(false), &json!(6)));
        for (pointer, _) in pointers(&found["faults"]) {
            assert!(menu.pointer(&pointer).is_some(), "{pointer} leads to a place in the draft");
        }
        let refused = owner.act("/v1/menu/publish", &seen, &json!({})).problem(422, "menu-faulty");
        assert_eq!(pointers(&refused["errors"]), expected);
        owner.get("/v1/menu").problem(404, "not-found");
        let asked = ask("DRAFT", &[("SERVICE", "coating")], "SMALL", "FAIR");
        owner.post("/v1/menu/price", &asked).problem(409, "menu-faulty");
        let seen = owner
            .draft_menu(&json!({ "checkpoints": [], "products": [], "steps": [], "services": [], "packages": [] }));
        let refused = owner.act("/v1/menu/publish", &seen, &json!({})).problem(422, "menu-faulty");
        assert_eq!(pointers(&refused["errors"]), [at("/services", "missing")]);
    });
}

#[test]
fn a_circle_of_steps_is_told_by_name() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let mut menu = small_menu();
        menu["steps"][0]["after"] = json!(["clay"]);
        owner.draft_menu(&menu);
        let found = owner.get("/v1/menu/draft/validation").expect(200);
        assert_eq!(pointers(&found["faults"]), [at("/steps/0/after", "cycle")]);
        let detail = found["faults"][0]["detail"].as_str().unwrap();
        assert!(detail.contains("wheels → wash → iron → clay → wheels"), "{detail}");
    });
}

#[test]
fn a_menu_is_in_force_from_its_moment_and_never_changes() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        owner.get("/v1/menu").problem(404, "not-found");
        let first = owner.publish_small_menu();
        assert_eq!((&first["number"], &first["in_force"]), (&json!(1), &json!(true)));
        let mut dearer = small_menu();
        dearer["services"][0]["price"]["amounts"]["medium"]["amount"] = json!("95.00");
        let seen = owner.draft_menu(&dearer);
        let past = json!({ "from": "2026-03-01T00:00:00Z", "note": "" });
        let problem = owner.act("/v1/menu/publish", &seen, &past).problem(422, "invalid-value");
        assert_eq!(problem["errors"][0]["pointer"], "/from");
        let later = json!({ "from": "2026-03-02T08:05:00Z", "note": "Spring prices" });
        owner.act("/v1/menu/publish", "\"1\"", &later).problem(412, "changed-meanwhile");
        let second = owner.act("/v1/menu/publish", &seen, &later).expect(201);
        assert_eq!((&second["number"], &second["in_force"]), (&json!(2), &json!(false)));

        let price = |source: &str| {
            let asked = ask(source, &[("SERVICE", "maintenance-wash")], "MEDIUM", "FAIR");
            owner.post("/v1/menu/price", &asked).expect(200)["total"]["amount"].clone()
        };
        let now = owner.get("/v1/menu").expect(200);
        assert_eq!((&now["revision"], &now["menu"]), (&first, &small_menu()));
        assert_eq!((price("IN_FORCE"), price("DRAFT")), (json!("89.00"), json!("95.00")));
        studio.clock.set(studio.clock.now().plus_minutes(5));
        let now = owner.get("/v1/menu").expect(200);
        assert_eq!((&now["revision"]["number"], &now["menu"]), (&json!(2), &dearer));
        assert_eq!(price("IN_FORCE"), json!("95.00"));

        let list = owner.get("/v1/menu/revisions").expect(200);
        let numbers: Vec<&Value> = list["items"].as_array().unwrap().iter().map(|one| &one["number"]).collect();
        assert_eq!(numbers, [&json!(2), &json!(1)]);
        let old = owner.get(&format!("/v1/menu/revisions/{}", first["id"].as_str().unwrap())).expect(200);
        assert_eq!((&old["menu"], &old["revision"]["in_force"]), (&small_menu(), &json!(false)));

        let seen = owner.get("/v1/menu/draft").etag();
        let back = owner.json(
            "POST",
            "/v1/menu/draft/restore",
            &[("if-match", &seen)],
            &json!({ "revision_id": first["id"] }),
        );
        assert_eq!(back.expect(200)["menu"], small_menu());
        let nowhere = json!({ "revision_id": "0198c0de-0000-7000-8000-000000000001" });
        let seen = owner.get("/v1/menu/draft").etag();
        owner.json("POST", "/v1/menu/draft/restore", &[("if-match", &seen)], &nowhere).problem(404, "not-found");
    });
}

#[test]
fn a_repeated_publication_makes_one_revision() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let seen = owner.draft_menu(&small_menu());
        let headers = [("if-match", seen.as_str()), ("idempotency-key", "once")];
        let first = owner.json("POST", "/v1/menu/publish", &headers, &json!({}));
        let again = owner.json("POST", "/v1/menu/publish", &headers, &json!({}));
        assert_eq!((first.status, &first.text), (201, &again.text));
        assert_eq!(owner.get("/v1/menu/revisions").expect(200)["items"].as_array().map(Vec::len), Some(1));
    });
}

#[test]
fn a_choice_is_priced_with_its_reasons() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        owner.publish_small_menu();
        let asked = ask(
            "IN_FORCE",
            &[("SERVICE", "polish-one-step"), ("SERVICE", "coating"), ("PACKAGE", "inside-and-out")],
            "MEDIUM",
            "FAIR",
        );
        let priced = owner.post("/v1/menu/price", &asked).expect(200);
        // By hand at 60.00 an hour: 410 minutes are 410.00. Products: 40 ml of acid at 20.00 a litre is 0.80, 50 ml of
        // shampoo at 14.00 is 0.70, 120 ml of polish at 36.00 is 4.32. 415.82, rounded up to whole euros.
        assert_eq!(priced["lines"][0]["amount"]["amount"], "416.00");
        assert_eq!(priced["lines"][0]["budget_minutes"], 410);
        assert_eq!(priced["lines"][1]["amount"]["amount"], "459.00");
        assert_eq!(priced["lines"][2]["amount"]["amount"], "245.00");
        assert_eq!(priced["total"]["amount"], "1120.00");
        let explanation = priced["lines"][0]["explanation"].as_array().unwrap();
        let last = explanation.last().unwrap();
        assert_eq!(last["kind"], "ROUNDED_UP");
        assert_eq!(
            last["figures"][1],
            json!({
                "name": "AMOUNT", "minutes": null, "number": null, "amount": { "amount": "416.00", "currency": "EUR" }
            })
        );
        let wheels = &explanation[0]["figures"];
        assert_eq!((&wheels[0]["name"], &wheels[0]["minutes"]), (&json!("BASE_MINUTES"), &json!(30)));
        // Each step once: the polish's 410, coating 120, vacuum 60, extraction 90, glass 15.
        assert_eq!(priced["work"]["attended_minutes"], 695);
        assert_eq!(priced["work"]["steps"][0], "wheels");
        assert_eq!(priced["work"]["bay_features"], json!(["cover"]));

        let heavy = ask("IN_FORCE", &[("SERVICE", "maintenance-wash")], "LARGE", "HEAVY");
        // 109.00 × 1.3 = 141.70.
        assert_eq!(owner.post("/v1/menu/price", &heavy).expect(200)["total"]["amount"], "142.00");
    });
}

#[test]
fn a_choice_that_can_not_be_priced_is_refused_line_by_line() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let asked = ask("IN_FORCE", &[("SERVICE", "coating")], "SMALL", "FAIR");
        owner.post("/v1/menu/price", &asked).problem(409, "no-menu");
        owner.publish_small_menu();
        let asked = ask("IN_FORCE", &[("SERVICE", "maintenance-wash"), ("PACKAGE", "nothing")], "SMALL", "SEVERE");
        let problem = owner.post("/v1/menu/price", &asked).problem(422, "choice-not-priceable");
        assert_eq!(pointers(&problem["errors"]), [at("/lines/0/code", "no_price"), at("/lines/1/code", "no_price")]);
        let both =
            ask("IN_FORCE", &[("SERVICE", "polish-one-step"), ("SERVICE", "correction-two-step")], "SMALL", "FAIR");
        let problem = owner.post("/v1/menu/price", &both).problem(422, "choice-not-priceable");
        assert_eq!(pointers(&problem["errors"]), [at("/lines/1", "conflict")]);
        let none = ask("IN_FORCE", &[], "SMALL", "FAIR");
        let problem = owner.post("/v1/menu/price", &none).problem(422, "choice-not-priceable");
        assert_eq!(pointers(&problem["errors"]), [at("/lines", "missing")]);
    });
}

#[test]
fn another_shop_and_another_role_are_kept_out() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let revision = owner.publish_small_menu();
        let path = format!("/v1/menu/revisions/{}", revision["id"].as_str().unwrap());
        let stranger = studio.stranger();
        stranger.get(&path).problem(404, "not-found");
        stranger.get("/v1/menu").problem(404, "not-found");
        assert_eq!(stranger.get("/v1/menu/draft").etag(), "\"0\"");
        assert_eq!(stranger.get("/v1/menu/revisions").expect(200)["items"], json!([]));
        let restore = json!({ "revision_id": revision["id"] });
        stranger.json("POST", "/v1/menu/draft/restore", &[("if-match", "\"0\"")], &restore).problem(404, "not-found");

        let technician = studio.colleague(Role::Technician);
        for path in ["/v1/menu", "/v1/menu/draft", "/v1/menu/draft/validation", "/v1/menu/revisions", &path] {
            technician.get(path).problem(403, "not-allowed");
            studio.nobody().get(path).problem(401, "not-signed-in");
        }
        let desk = studio.colleague(Role::Desk);
        let seen = desk.get("/v1/menu/draft").etag();
        desk.act("/v1/menu/publish", &seen, &json!({})).problem(403, "not-allowed");
        let accountant = studio.colleague(Role::Accountant);
        accountant.get("/v1/menu").expect(200);
        accountant.put("/v1/menu/draft", &seen, &small_menu()).problem(403, "not-allowed");
    });
}

#[test]
fn a_menu_of_a_hundred_steps_and_forty_services_fits_into_one_body() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let codes: Vec<String> = (0..100).map(|number| format!("step-with-a-rather-long-code-{number}")).collect();
        let mut menu = small_menu();
        menu["packages"] = json!([]);
        let filled = |code: &String| {
            with(
                step(code, 10, 30, &["wheels", "wash", "iron"]),
                json!({
                    "name": "A step with a name that fills the line on the job sheet", "skills": ["machine-polish", "coating"],
                    "doses": [{ "product": "shampoo", "basis": "AREA", "units": "10", "rate": "1000", "by_size": true }],
                    "own_cautions": ["A caution of the shop's own, as long as such cautions usually are."]
                }),
            )
        };
        let kept = menu["steps"].as_array().unwrap().clone();
        menu["steps"] = kept.into_iter().chain(codes.iter().map(filled)).collect();
        let service = |number: u32| {
            let first = usize::try_from(number).unwrap() * 2;
            let steps: Vec<&str> = codes[first..first + 20].iter().map(String::as_str).collect();
            service(&format!("service-{number}"), number, &steps, Some([100, 110, 120, 130]))
        };
        menu["services"] = (0..40).map(service).collect();
        let bytes = menu.to_string().len();
        assert!((100 * 1024..256 * 1024).contains(&bytes), "{bytes} bytes");
        owner.draft_menu(&menu);
        let mut larger = menu.clone();
        larger["services"][0]["summary"] = json!("x".repeat(300 * 1024));
        owner.put("/v1/menu/draft", "\"1\"", &larger).problem(413, "body-too-large");
    });
}
