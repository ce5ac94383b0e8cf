//! One car of the demo: from its quote to the end of its story.

use baywright_core::platform::clock::UtcTime;
use serde_json::{Value, json};

use super::desk::Desk;
use super::history::at;
use super::picture::{Motif, drawn};
use super::story::{End, Soil, Story};
use crate::cli::Trouble;

/// The next event of a car.
pub(super) enum Next {
    /// An event at that time.
    At(UtcTime),
    /// No event: its story has ended.
    Nothing,
}

/// Kind of the next event.
enum Stage {
    Quote,
    Answer,
    Book,
    Leave,
    Arrive,
    Work(usize),
    Ready,
    HandOver,
    Invoice,
    Pay,
}

/// Number of minutes a car waits for its bay to become free.
const LONGEST_WAIT: i64 = 6 * 60;

/// A press of a step's clock during the work on the car.
struct Press {
    at: UtcTime,
    step: String,
    verb: &'static str,
    body: Value,
}

/// A car and the progress of its story.
pub(super) struct Car {
    story: Story,
    vehicle: Value,
    now: UtcTime,
    seed: i64,
    stage: Stage,
    quote: Value,
    booking: Value,
    job: String,
    presses: Vec<Press>,
    invoice: Value,
}

fn text(value: &Value) -> String {
    value.as_str().unwrap_or_default().to_owned()
}

impl Car {
    pub(super) fn new(story: Story, vehicle: &Value, now: UtcTime, place: usize) -> Self {
        let seed = i64::try_from(place).unwrap_or(0);
        let (quote, booking, invoice) = (Value::Null, Value::Null, Value::Null);
        let (vehicle, job) = (vehicle.clone(), String::new());
        Self { story, vehicle, now, seed, stage: Stage::Quote, quote, booking, job, presses: Vec::new(), invoice }
    }

    /// Time when its quote is written: some days before the work, in the morning.
    pub(super) fn begins(&self) -> UtcTime {
        let before = match self.story.end {
            End::Booked | End::Held => self.story.day + 1 + self.seed % 4,
            end if end >= End::Cancelled => 2 + self.seed % 4,
            _ => 0,
        };
        at(self.now, self.story.day - before, 8 * 60 + 10 + self.seed * 7 % 120)
    }

    /// The id of its quote, if it is waiting for its customer's answer and has photographs to show.
    pub(super) fn shows_an_offer(&self) -> Option<String> {
        let shown = self.story.photographed && self.story.end == End::Sent && !self.quote.is_null();
        shown.then(|| text(&self.quote["id"]))
    }

    /// Does the next event; returns when the one after it is due.
    pub(super) fn go_on(&mut self, desk: &mut Desk) -> Result<Next, Trouble> {
        match self.stage {
            Stage::Quote => self.write_quote(desk),
            Stage::Answer => self.answer(desk),
            Stage::Book => self.book(desk),
            Stage::Leave => self.leave(desk),
            Stage::Arrive => self.arrive(desk),
            Stage::Work(place) => self.work(desk, place),
            Stage::Ready => self.ready(desk),
            Stage::HandOver => self.hand_over(desk),
            Stage::Invoice => self.bill(desk),
            Stage::Pay => self.pay(desk),
        }
    }

    fn then(&mut self, stage: Stage, moment: UtcTime) -> Next {
        self.stage = stage;
        Next::At(moment)
    }

    fn after(&mut self, desk: &Desk, stage: Stage, minutes: i64) -> Next {
        self.then(stage, desk.now().plus_minutes(minutes))
    }

    fn inspect(&self, desk: &mut Desk) -> Result<Value, Trouble> {
        let grade = match self.story.soil {
            Soil::Light => 1,
            Soil::Fair => 2,
            Soil::Heavy => 3,
        };
        let spot = |panel: &str, base: i64| {
            let each: Vec<i64> = (0..5).map(|n| base + (self.seed * 3 + n * 5) % 12).collect();
            json!({ "panel": panel, "micrometres": each })
        };
        let mut photos = [Vec::new(), Vec::new(), Vec::new()];
        if self.story.photographed {
            for (ids, motif) in photos.iter_mut().zip([Motif::Chips, Motif::Swirls, Motif::Panel]) {
                ids.push(text(&desk.post_photo(drawn(motif)?)?["id"]));
            }
        }
        let [chips, swirls, whole] = photos;
        let findings = json!([
            { "panel": "FRONT_BUMPER", "kind": "STONE_CHIP", "severity": "MINOR", "note": "", "photo_ids": chips },
            { "panel": "BONNET", "kind": "SWIRLS", "severity": if grade > 1 { "MODERATE" } else { "MINOR" }, "note": "",
              "photo_ids": swirls },
        ]);
        // One car in seven has a door with thin paint: the owner inspects it and decides.
        let door = if self.seed % 7 == 3 { 97 } else { 106 };
        let found = desk.post(
            "/v1/inspections",
            &json!({
                "vehicle_id": self.vehicle["id"], "soil_grade": grade, "contamination_grade": grade - 1,
                "odometer": 12_000 + self.seed * 1_377, "findings": findings, "photo_ids": whole,
                "readings": [spot("BONNET", 108), spot("ROOF", 112), spot("FRONT_DOOR_LEFT", door)],
            }),
        )?;
        let path = format!("/v1/inspections/{}", text(&found["id"]));
        let completed = desk.act(&format!("{path}/complete"), &found, None)?;
        if completed["paint"]["owner_decision_needed"] != json!(true) {
            return Ok(completed);
        }
        let decision = json!({
            "go_ahead": true, "reason": "Soft pad and fine polish on that door, one pass, read again after it."
        });
        desk.act(&format!("{path}/paint-decision"), &completed, Some(&decision))
    }

    fn draft(&self, inspection: &Value) -> Value {
        let line = |item: Value, required: bool| json!({ "item": item, "required": required });
        let mut lines: Vec<Value> = Vec::new();
        lines.extend(self.story.package.iter().map(|code| line(json!({ "package": code }), true)));
        lines.extend(self.story.services.iter().map(|code| line(json!({ "service": code }), true)));
        lines.extend(self.story.options.iter().map(|code| line(json!({ "service": code }), false)));
        let discounts: Vec<Value> = self
            .story
            .discount_percent
            .iter()
            .map(|percent| json!({ "off": { "percent": percent }, "reason": self.story.discount_reason }))
            .collect();
        json!({ "inspection_id": inspection["id"], "lines": lines, "discounts": discounts })
    }

    fn quote_path(&self, verb: &str) -> String {
        format!("/v1/quotes/{}/{verb}", text(&self.quote["id"]))
    }

    fn write_quote(&mut self, desk: &mut Desk) -> Result<Next, Trouble> {
        let inspection = self.inspect(desk)?;
        let body = json!({ "vehicle_id": self.vehicle["id"], "draft": self.draft(&inspection) });
        self.quote = desk.post("/v1/quotes", &body)?;
        if self.story.end == End::Draft {
            return Ok(Next::Nothing);
        }
        self.quote = desk.act(&self.quote_path("send"), &self.quote, Some(&json!({})))?;
        match self.story.end {
            End::Sent | End::Lapsed => Ok(Next::Nothing),
            _ => Ok(self.after(desk, Stage::Answer, 3 * 60 + self.seed * 41 % 600)),
        }
    }

    fn answer(&mut self, desk: &mut Desk) -> Result<Next, Trouble> {
        let seen = self.quote.clone();
        match self.story.end {
            End::Withdrawn => {
                let why = json!({ "reason": "Wrong vehicle; a new one follows" });
                desk.act(&self.quote_path("withdraw"), &seen, Some(&why))?;
                Ok(Next::Nothing)
            }
            End::Declined => {
                let why = json!({ "reason": "Selling the car after all" });
                desk.act(&self.quote_path("decline"), &seen, Some(&why))?;
                Ok(Next::Nothing)
            }
            End::Replaced => {
                self.quote = desk.act(&self.quote_path("revisions"), &seen, None)?;
                let seen = self.quote.clone();
                self.quote = desk.act(&self.quote_path("send"), &seen, Some(&json!({})))?;
                Ok(Next::Nothing)
            }
            _ => {
                let document = &seen["latest"]["document"];
                let first = self.story.services.len() + usize::from(self.story.package.is_some());
                let options = first..first + self.story.options.len();
                let choices: Vec<usize> = if self.story.take_options { options.collect() } else { Vec::new() };
                let yes = json!({
                    "digest": seen["latest"]["digest"], "name": document["customer"]["name"], "agreed": true,
                    "early_start": true, "choices": choices,
                });
                self.quote = desk.act(&self.quote_path("sign-off"), &seen, Some(&yes))?;
                if self.story.end == End::Signed {
                    return Ok(Next::Nothing);
                }
                if self.story.end == End::Held {
                    // A hold ends within the hour, and this one was made just now.
                    let moment = self.now.plus_minutes(-2);
                    return Ok(self.then(Stage::Book, moment));
                }
                Ok(self.after(desk, Stage::Book, 20))
            }
        }
    }

    fn book(&mut self, desk: &mut Desk) -> Result<Next, Trouble> {
        let wanted = at(self.now, self.story.day, 6 * 60).max(desk.now());
        let path = format!("availability?from={wanted}&count=1");
        let free = desk.get(&self.quote_path(&path))?;
        let time = free["times"][0].clone();
        if time.is_null() {
            return Ok(Next::Nothing);
        }
        let hold = self.story.end == End::Held;
        let body = json!({
            "quote_id": self.quote["id"], "bay_id": time["bay_id"], "start": time["start"], "hold": hold, "note": ""
        });
        self.booking = desk.post("/v1/bookings", &body)?;
        let start = moment(&self.booking["start"]).unwrap_or(self.now);
        match self.story.end {
            End::Held | End::Booked => Ok(Next::Nothing),
            End::Cancelled => Ok(self.then(Stage::Leave, start.plus_minutes(-20 * 60))),
            End::NoShow => Ok(self.then(Stage::Leave, start.plus_minutes(90))),
            End::InBay => Ok(self.then(Stage::Arrive, start.min(self.now.plus_minutes(-30)))),
            _ => Ok(self.then(Stage::Arrive, start)),
        }
    }

    fn booking_path(&self, verb: &str) -> String {
        format!("/v1/bookings/{}/{verb}", text(&self.booking["id"]))
    }

    fn leave(&mut self, desk: &mut Desk) -> Result<Next, Trouble> {
        let seen = self.booking.clone();
        if self.story.end == End::NoShow {
            desk.act(&self.booking_path("no-show"), &seen, None)?;
        } else {
            let why = json!({ "reason": "The customer is away that week" });
            desk.act(&self.booking_path("cancel"), &seen, Some(&why))?;
        }
        Ok(Next::Nothing)
    }

    fn arrive(&mut self, desk: &mut Desk) -> Result<Next, Trouble> {
        let seen = self.booking.clone();
        // A car that would come early stays away while another one is in its bay.
        let inside = desk.get(&format!("/v1/bookings?state=IN_BAY&bay_id={}", text(&seen["bay_id"])))?;
        let start = moment(&seen["start"]).unwrap_or_else(|| desk.now());
        let there = |car: &Value| car["stands_in_bay"] == true && car["bay_id"] == seen["bay_id"];
        let is_taken = inside["items"].as_array().is_some_and(|cars| cars.iter().any(there));
        if is_taken {
            // At its own time it waits for the other one to be done, though not for the whole day.
            let waits = (start..start.plus_minutes(LONGEST_WAIT)).contains(&desk.now());
            return Ok(if waits { self.after(desk, Stage::Arrive, 10) } else { Next::Nothing });
        }
        // A ready car was driven out, and the demo confirms the right car.
        let confirmed = "arrive?confirm=bay-not-cleared,arrival-on-another-day";
        self.booking = desk.act(&self.booking_path(confirmed), &seen, None)?;
        let open = desk.get("/v1/jobs?open=true&limit=200")?;
        let mine = |job: &&Value| job["booking_id"] == self.booking["id"];
        let job = open["items"].as_array().and_then(|items| items.iter().find(mine));
        self.job = job.map(|job| text(&job["id"])).ok_or("a car of the demo has arrived, and has no job")?;
        self.presses = presses(&self.booking, self.seed);
        match self.presses.first() {
            Some(press) => {
                let first = press.at;
                Ok(self.then(Stage::Work(0), first))
            }
            None => Ok(self.after(desk, Stage::Ready, 5)),
        }
    }

    fn work(&mut self, desk: &mut Desk, place: usize) -> Result<Next, Trouble> {
        let Some(press) = self.presses.get(place) else { return Ok(Next::Nothing) };
        // Visitors of the demo sign in as the owner, who should not be busy at any car.
        let goes_on = self.presses.get(place + 1).is_some_and(|next| next.at > self.now);
        if press.verb == "start" && goes_on && desk.is_owner(&press.body["person_id"]) {
            return Ok(Next::Nothing);
        }
        let step = format!("/v1/jobs/{}/steps/{}", self.job, press.step);
        let seen = desk.get(&step)?;
        desk.act(&format!("{step}/{}", press.verb), &seen, Some(&press.body))?;
        let following = self.presses.get(place + 1).map(|press| press.at);
        match following {
            Some(next) if self.story.end != End::InBay || place < 3 => Ok(self.then(Stage::Work(place + 1), next)),
            Some(_) => Ok(Next::Nothing),
            None => Ok(self.after(desk, Stage::Ready, 5)),
        }
    }

    fn ready(&mut self, desk: &mut Desk) -> Result<Next, Trouble> {
        let seen = desk.get(&format!("/v1/bookings/{}", text(&self.booking["id"])))?;
        self.booking = desk.act(&self.booking_path("ready"), &seen, None)?;
        match self.story.end {
            End::Ready => Ok(Next::Nothing),
            _ => Ok(self.after(desk, Stage::HandOver, 45 + self.seed * 13 % 120)),
        }
    }

    fn hand_over(&mut self, desk: &mut Desk) -> Result<Next, Trouble> {
        // The car may have been driven out for the next one since it was ready.
        let seen = desk.get(&format!("/v1/bookings/{}", text(&self.booking["id"])))?;
        let body = json!({
            "received_by": self.quote["latest"]["document"]["customer"]["name"], "odometer": null, "note": "",
            "checklist": [{ "what": "Walked round the car together", "done": true }, { "what": "Keys and mats returned", "done": true }],
            "aftercare": "No washing for the first days if the car was coated; the coating's own label comes first.",
        });
        self.booking = desk.act(&self.booking_path("hand-over"), &seen, Some(&body))?;
        match self.story.end {
            End::HandedOver => Ok(Next::Nothing),
            _ => Ok(self.after(desk, Stage::Invoice, 10)),
        }
    }

    fn bill(&mut self, desk: &mut Desk) -> Result<Next, Trouble> {
        let order = self.vehicle["customer_id"].clone();
        let customer = desk.get(&format!("/v1/customers/{}", text(&order)))?;
        let needs = customer["purchase_order_required"] == json!(true);
        let order = if needs { json!(format!("PO-{}", 4100 + self.seed)) } else { Value::Null };
        let draft = desk.post("/v1/invoices", &json!({ "quote_id": self.quote["id"], "purchase_order": order }))?;
        let path = format!("/v1/invoices/{}", text(&draft["id"]));
        let issued = desk.act(&format!("{path}/issue"), &draft, None)?;
        self.invoice = desk.act(&format!("{path}/send"), &issued, None)?;
        match self.story.end {
            End::PartPaid | End::Paid => Ok(self.after(desk, Stage::Pay, (1 + self.seed % 3) * 24 * 60)),
            _ => Ok(Next::Nothing),
        }
    }

    fn pay(&mut self, desk: &mut Desk) -> Result<Next, Trouble> {
        let open = &self.invoice["open"];
        let half = |text: &str| {
            text.split_once('.')
                .map_or_else(String::new, |(whole, _)| format!("{}.00", whole.parse::<i64>().unwrap_or(2) / 2))
        };
        let mut amount = open.clone();
        if self.story.end == End::PartPaid {
            amount["amount"] = json!(half(open["amount"].as_str().unwrap_or("2.00")));
        }
        let method = ["TRANSFER", "CARD", "CASH"][usize::try_from(self.seed % 3).unwrap_or(0)];
        desk.post(
            "/v1/payments",
            &json!({
                "customer_id": self.vehicle["customer_id"], "method": method, "amount": amount,
                "invoice_ids": [self.invoice["id"]],
            }),
        )?;
        Ok(Next::Nothing)
    }
}

fn moment(value: &Value) -> Option<UtcTime> {
    UtcTime::parse(value.as_str()?)
}

/// The clocks of a booked car's steps: as booked, with most steps a little quicker than their budget.
fn presses(booking: &Value, seed: i64) -> Vec<Press> {
    let pieces: Vec<&Value> = booking["pieces"].as_array().into_iter().flatten().collect();
    let mut all = Vec::new();
    for (place, piece) in pieces.iter().enumerate() {
        let (Some(start), Some(finish)) = (moment(&piece["start"]), moment(&piece["finish"])) else { continue };
        let minutes = (finish.ms() - start.ms()) / 60_000;
        // At least a minute, so that a person finishes one car before they start on the next.
        let quicker = (minutes * ((seed * 7 + i64::try_from(place).unwrap_or(0) * 3) % 15) / 100).max(1);
        let step = text(&piece["step"]);
        let later = pieces[place + 1..].iter().any(|other| other["step"] == piece["step"]);
        let doer = json!({ "person_id": piece["person_id"] });
        let (verb, body) = if later { ("stop", doer.clone()) } else { ("finish", json!({ "used": [] })) };
        all.push(Press { at: start, step: step.clone(), verb: "start", body: doer });
        all.push(Press { at: finish.plus_minutes(-quicker), step, verb, body });
    }
    all.sort_by_key(|press| press.at);
    all
}
