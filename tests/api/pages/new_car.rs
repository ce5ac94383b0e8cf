//! A new car from the call to the quote, by its pages and without scripts; taps are counted.

use baywright_core::platform::identity::Role;
use baywright_tests::answer::Answer;
use baywright_tests::browser::{Browser, shown_form, unescaped};
use baywright_tests::make::booking::floor_menu;
use baywright_tests::make::media::jpeg;
use baywright_tests::visitor::fields_of;
use baywright_tests::{Studio, on_each_engine};
use serde_json::json;

/// Somebody at the desk who taps and types; a field that is typed into is one tap.
struct Desk<'s> {
    browser: &'s Browser,
    page: Answer,
    at: String,
    /// The form that is filled in, with the address that takes it.
    form: Option<(String, Vec<(String, String)>)>,
    taps: u32,
}

impl<'s> Desk<'s> {
    fn start(browser: &'s Browser) -> Self {
        Self { page: browser.get("/today"), at: "/today".to_owned(), browser, form: None, taps: 0 }
    }

    /// Follows a link that the page has.
    #[track_caller]
    fn tap(&mut self, address: &str) {
        assert!(unescaped(&self.page.text).contains(&format!("href=\"{address}\"")), "{address}: {}", self.page.text);
        self.taps += 1;
        self.open(address);
    }

    #[track_caller]
    fn open(&mut self, address: &str) {
        let mut at = address.to_owned();
        self.page = loop {
            let page = self.browser.get(&at);
            if page.status != 303 {
                break page;
            }
            page.header("location").clone_into(&mut at);
        };
        assert_eq!(self.page.status, 200, "{at}: {}", self.page.text);
        self.at = at;
        self.form = None;
    }

    /// Begins to fill in the form for an address, which costs no tap.
    #[track_caller]
    fn form(&mut self, action: &str) -> &mut Self {
        self.form = Some((action.to_owned(), shown_form(&self.page.text, action)));
        self
    }

    /// Types into a field, or picks one of its choices.
    #[track_caller]
    fn set(&mut self, name: &str, value: &str) -> &mut Self {
        let (_, fields) = self.form.as_mut().unwrap();
        fields.retain(|(known, _)| known != name);
        self.tick(name, value)
    }

    /// Ticks a box.
    #[track_caller]
    fn tick(&mut self, name: &str, value: &str) -> &mut Self {
        assert!(self.page.text.contains(&format!("name=\"{name}\"")), "{name}: {}", self.page.text);
        self.form.as_mut().unwrap().1.push((name.to_owned(), value.to_owned()));
        self.taps += 1;
        self
    }

    /// Sends the form by one of its buttons, and a second time as a double tap does; opens the page that follows.
    #[track_caller]
    fn press(&mut self, go: &str) {
        let answer = self.sent(go);
        assert_eq!(answer.status, 303, "{}", answer.text);
        let next = answer.header("location").to_owned();
        assert_eq!(self.sent(go).header("location"), next, "a double tap leads to the same page");
        self.taps += 1;
        self.open(&next);
    }

    fn sent(&self, go: &str) -> Answer {
        let (action, fields) = self.form.as_ref().unwrap();
        let button = (!go.is_empty()).then(|| ("go".to_owned(), go.to_owned()));
        let fields: Vec<_> = fields.iter().cloned().chain(button).collect();
        self.browser.post(action, &fields)
    }

    #[track_caller]
    fn says(&self, text: &str) {
        assert!(unescaped(&self.page.text).contains(text), "{text}: {}", self.page.text);
    }
}

/// A studio that can work, with a menu.
fn open_studio(studio: &Studio) {
    studio.floor();
    studio.owner().publish_menu_with(&floor_menu(), &json!({}));
}

#[test]
fn a_new_customer_has_a_quote_within_25_taps() {
    on_each_engine(|studio| {
        open_studio(studio);
        let owner = studio.owner();
        let browser = studio.browser_of(Role::Desk);
        let mut desk = Desk::start(&browser);
        desk.tap("/new-car");
        desk.form("/new-car").set("caller.name", "Niamh Keane").set("caller.phone", "+353 20 910 0042");
        desk.set("caller.email", "niamh@example.com").tick("caller.may_contact", "yes");
        desk.set("wish", "Swirl marks out before it is sold.").press("");
        let customers = owner.get("/v1/customers").expect(200);
        let customer = &customers["items"][0];
        assert_eq!(customers["items"].as_array().unwrap().len(), 1);
        assert_eq!((&customer["name"], customer["consents"].as_array().unwrap().len()), (&json!("Niamh Keane"), 2));

        let new = desk.at.strip_suffix("/car").unwrap().to_owned();
        let (car, walk, work, send) =
            (format!("{new}/car"), format!("{new}/walk-round"), format!("{new}/work"), format!("{new}/send"));
        desk.form(&car).set("registration", "231 D 10101").set("make", "Merrow").set("model", "Osprey");
        desk.set("size_class", "LARGE").set("powertrain", "COMBUSTION").press("");
        let vehicle = owner.get("/v1/vehicles").expect(200)["items"][0].clone();
        assert_eq!((&vehicle["make"], &vehicle["customer_id"]), (&json!("Merrow"), &customer["id"]));

        // A panel, what is seen on it, and a photograph from the tablet's camera.
        desk.form(&walk).set("soil_grade", "2").set("panel", "BONNET").set("kind", "SWIRLS");
        desk.set("severity", "MODERATE");
        let mut fields = desk.form.clone().unwrap().1;
        fields.extend(fields_of(&[("go", "next")]));
        let photo = jpeg(64, 48);
        for _ in 0..2 {
            let answer = browser.post_file(&walk, &fields, ("photo", "image/jpeg", &photo));
            assert_eq!((answer.status, answer.header("location")), (303, work.as_str()), "{}", answer.text);
        }
        desk.taps += 2;
        desk.open(&work);
        let walked = owner.get("/v1/inspections").expect(200)["items"][0].clone();
        assert_eq!(walked["state"], "DRAFT");
        let walked = format!("/v1/inspections/{}", walked["id"].as_str().unwrap());
        let finding = owner.get(&walked).expect(200)["findings"][0].clone();
        assert_eq!((&finding["panel"], finding["photo_ids"].as_array().unwrap().len()), (&json!("BONNET"), 1));
        let shown = browser.get(&format!("/new-car/photos/{}?size=small", finding["photo_ids"][0].as_str().unwrap()));
        assert_eq!((shown.status, shown.header("content-type")), (200, "image/jpeg"));

        // Each service has its price with the reasons, and what is ticked has a price and a first day before it is saved.
        for said in ["EUR 690.00", "Why EUR 690.00?", "Tick the work"] {
            desk.says(said);
        }
        let followed = unescaped(&browser.get(&format!("{work}?look=yes&services=wash&services=coating")).text);
        for said in ["EUR 800.00", "First day: Monday 2 March at", "Ready: Tuesday 3 March at"] {
            assert!(followed.contains(said), "{said}: {followed}");
        }
        assert_eq!(owner.get("/v1/quotes").expect(200)["items"].as_array().unwrap().len(), 0);
        desk.form(&work).tick("services", "wash").tick("services", "coating").press("next");
        assert_eq!(desk.at, send);
        desk.says("EUR 800.00");
        desk.says("First day: Monday 2 March at");

        let quote = owner.get("/v1/quotes").expect(200)["items"][0].clone();
        let visit = format!("/cars/{}", quote["id"].as_str().unwrap());
        desk.form(&send);
        for _ in 0..2 {
            let sent = desk.sent("mail");
            assert_eq!((sent.status, sent.header("location")), (303, visit.as_str()), "{}", sent.text);
        }
        desk.taps += 1;
        assert!(desk.taps <= 25, "{} taps", desk.taps);
        studio.tick();
        assert_eq!(studio.mails_to("niamh@example.com").len(), 1, "a double tap sends one mail");
        let quote = owner.get(&format!("/v1/quotes/{}", quote["id"].as_str().unwrap())).expect(200);
        assert_eq!(quote["latest"]["state"], "SENT");
        assert_eq!(quote["latest"]["document"]["inspection"]["findings"].as_array().unwrap().len(), 1);
        assert_eq!(owner.get(&walked).expect(200)["state"], "COMPLETED");
        assert_eq!(owner.get("/v1/enquiries").expect(200)["items"][0]["state"], "QUOTED");
        // From then on, every step leads to the visit.
        for step in [&new, &car, &walk, &work, &send] {
            assert_eq!(browser.get(step).header("location"), visit, "{step}");
        }
    });
}

#[test]
fn a_known_customer_signs_on_the_tablet_within_17_taps_and_going_back_loses_nothing() {
    on_each_engine(|studio| {
        open_studio(studio);
        let owner = studio.owner();
        let (customer, vehicle) = owner.add_customer_with_car();
        let (customer, vehicle) = (customer["id"].as_str().unwrap(), vehicle["id"].as_str().unwrap());
        let browser = studio.browser_of(Role::Desk);
        let mut desk = Desk::start(&browser);
        desk.tap("/new-car");
        desk.open("/new-car?q=%2B353+20+910+0000");
        desk.taps += 2;
        desk.says("Aoife Byrne");
        desk.tap(&format!("/new-car?customer={customer}"));
        desk.form("/new-car").set("wish", "Shine for a wedding").press("");
        let walk = desk.at.clone();
        let new = walk.strip_suffix("/walk-round").unwrap().to_owned();
        desk.form(&walk).set("soil_grade", "1").set("panel", "ROOF").set("kind", "SCRATCHES");
        desk.set("severity", "MINOR").press("next");
        let work = format!("{new}/work");
        desk.form(&work).tick("services", "wash").tick("services", "polish").press("next");
        let taps = desk.taps;

        // Going back: another name for the car's size, one more finding and the first one corrected, another service.
        desk.open(&format!("{new}/car"));
        desk.says("Corrigan");
        desk.form(&format!("{new}/car")).set("size_class", "LARGE").press("");
        assert_eq!(owner.get(&format!("/v1/vehicles/{vehicle}")).expect(200)["size_class"], "LARGE");
        desk.open(&walk);
        desk.says("Roof: scratches, minor");
        desk.form(&walk).set("panel", "BONNET").set("kind", "DENT").set("severity", "SERIOUS");
        desk.set("readings", "118 121").press("add");
        desk.says("Noted so far: 2");
        desk.open(&format!("{walk}?finding=0"));
        desk.form(&walk).set("severity", "MODERATE").press("add");
        desk.says("Roof: scratches, moderate");
        desk.open(&format!("{walk}?finding=1"));
        desk.form(&walk).press("remove");
        desk.says("Noted so far: 1");
        desk.open(&work);
        desk.form(&work).set("own.0.name", "Collect the car").set("own.0.price", "35,00").press("price");
        desk.says("EUR 485.00");
        desk.open(&format!("{new}/send"));
        desk.says("EUR 485.00");
        desk.says("1 finding");

        // The tablet is handed over: the customer's own page follows.
        desk.form(&format!("{new}/send")).tick("optional", "2");
        let handed = desk.sent("sign");
        let token = handed.header("location").strip_prefix("/q/").unwrap_or_else(|| panic!("{}", handed.text));
        assert!(taps < 17, "{taps} taps and one more");
        let visitor = studio.visitor(token);
        let page = unescaped(&visitor.get("").text);
        assert!(page.contains("You are using the studio's device") && page.contains("Collect the car"), "{page}");
        assert_eq!(visitor.accept(&[], "Aoife Byrne").status, 303);
        let quote = owner.get("/v1/quotes").expect(200)["items"][0].clone();
        assert_eq!(
            (&quote["state"], quote["payable"]["amount"].as_str()),
            (&json!("SIGNED"), Some("450.00")),
            "{quote}"
        );
        // A second tap on the button that handed it over leads to the visit.
        let visit = format!("/cars/{}", quote["id"].as_str().unwrap());
        assert_eq!(desk.sent("sign").header("location"), visit);
    });
}

#[test]
fn who_is_known_already_is_offered_and_two_people_at_one_car_lose_nothing() {
    on_each_engine(|studio| {
        open_studio(studio);
        let owner = studio.owner();
        let (customer, _) = owner.add_customer_with_car();
        let browser = studio.browser_of(Role::Desk);
        let mut desk = Desk::start(&browser);
        desk.open("/new-car");
        desk.form("/new-car")
            .set("caller.name", "A. Byrne")
            .set("caller.phone", "+353 20 910 0000")
            .set("wish", "Shine");
        desk.page = desk.sent("");
        assert_eq!(desk.page.status, 409);
        desk.says("Use Aoife Byrne");
        desk.says("A. Byrne");
        // The button of the known customer; what was typed about the wish stays.
        desk.form("/new-car").set("customer", customer["id"].as_str().unwrap()).press("");
        assert!(desk.at.ends_with("/car"), "{}", desk.at);
        assert_eq!(owner.get("/v1/customers").expect(200)["items"].as_array().unwrap().len(), 1);
        let car = desk.at.clone();
        let known = owner.get("/v1/vehicles").expect(200)["items"][0]["id"].as_str().unwrap().to_owned();
        // A car with the same plate is that car.
        desk.form(&car).set("registration", "231-D-10101").set("make", "Corrigan").set("model", "Estate");
        desk.set("size_class", "MEDIUM");
        desk.page = desk.sent("");
        assert_eq!(desk.page.status, 409, "{}", desk.page.text);
        desk.form(&car).set("vehicle", &known).press("");
        assert!(desk.at.ends_with("/walk-round"), "{}", desk.at);

        let walk = desk.at.clone();
        let other = studio.browser_of(Role::Owner);
        let mut theirs = Desk::start(&other);
        theirs.open(&walk);
        desk.form(&walk).set("soil_grade", "1").set("panel", "ROOF").set("kind", "DENT").set("severity", "MINOR");
        theirs.form(&walk).set("soil_grade", "3").set("panel", "BONNET").set("kind", "RUST").set("severity", "MINOR");
        theirs.press("add");
        desk.page = desk.sent("add");
        assert_eq!(desk.page.status, 412);
        desk.says("<td>Strong</td><td>Slight</td>");
        desk.says("Bonnet: rust, minor");
        desk.form(&walk).press("add");
        desk.says("Noted so far: 2");

        // Few readings ask for the owner, who decides on the same page.
        desk.form(&walk).set("panel", "BONNET").set("readings", "118 121").press("add");
        desk.says("Few readings: bonnet has 2");
        assert!(!desk.page.text.contains("Record the decision"), "{}", desk.page.text);
        theirs.open(&walk);
        let paint = walk.replace("walk-round", "paint");
        theirs.form(&paint).set("go_ahead", "yes");
        theirs.page = theirs.sent("");
        assert_eq!(theirs.page.status, 422);
        theirs.says("Why: Fill this in.");
        theirs.form(&paint).set("reason", "By hand, one pass.").press("");
        theirs.says("The work may go ahead: By hand, one pass.");
        desk.open(&walk);

        // What is no photograph is said beside its field, and the finding stays.
        desk.form(&walk).set("panel", "BOOT_LID").set("kind", "DENT").set("severity", "MINOR");
        let fields = desk.form.clone().unwrap().1;
        let refused = browser.post_file(&walk, &fields, ("photo", "image/jpeg", b"no picture"));
        assert_eq!(refused.status, 422, "{}", refused.text);
        assert!(refused.text.contains("id=\"photo-fault\""), "{}", refused.text);
        assert!(shown_form(&refused.text, &walk).contains(&("panel".to_owned(), "BOOT_LID".to_owned())));
        // Nobody is led to a step before those that it needs, and there is no quote without work.
        let send = walk.replace("walk-round", "send");
        assert_eq!(browser.get(&send).header("location"), walk.replace("walk-round", "work"));
        let nothing = browser.post(&send, &fields_of(&[("code", &browser.code()), ("key", "k"), ("version", "0")]));
        assert_eq!(nothing.status, 409, "{}", nothing.text);
        assert!(nothing.text.contains("Choose the work first"), "{}", nothing.text);
    });
}
