//! Whatever was done, undoing it gives exactly what was before, down to the rows of the database.

use std::collections::BTreeSet;

use baywright_tests::answer::Answer;
use baywright_tests::on_each_engine;
use baywright_tests::studio::Studio;
use serde_json::{Value, json};

use super::{tag, text};

/// Random numbers of a linear congruential generator, Knuth's MMIX (The Art of Computer Programming, volume 2, 3.3.4).
struct Dice(u64);

impl Dice {
    fn below(&mut self, most: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        usize::try_from((self.0 >> 33) % most as u64).unwrap()
    }
}

/// Tables whose rows a move may change.
const TABLES: [&str; 11] = [
    "attendance",
    "booking",
    "booking_stay",
    "handover",
    "job",
    "job_move",
    "job_piece",
    "job_step",
    "job_use",
    "lesson",
    "placement",
];

/// Every row that a move may change, without what counts changes and without ids, which a row that comes back has anew.
fn rows(studio: &Studio) -> Vec<String> {
    let mut all = Vec::new();
    for (table, line) in studio.every_row().into_iter().filter(|(table, _)| TABLES.contains(&table.as_str())) {
        let mut row: Value = serde_json::from_str(&line).unwrap();
        if row["set_aside_at"].is_number() {
            // A job whose car hasn't come: it is there for its notes alone.
            continue;
        }
        let fields = row.as_object_mut().unwrap();
        let counted = ["version", "updated_at", "set_aside_at"];
        fields.retain(|name, _| !counted.contains(&name.as_str()));
        if !["booking", "job", "job_step"].contains(&table.as_str()) {
            fields.remove("id");
        }
        all.push(format!("{table} {row}"));
    }
    all.sort();
    all
}

/// Something that was done, with the rows before it.
type Tried = (Done, Vec<String>);

/// Two cars that are booked into one bay one after the other, and three people who work on them.
struct Day<'s> {
    studio: &'s Studio,
    bookings: [String; 2],
    people: Vec<String>,
    dice: Dice,
}

/// What was done, by its verb: to a booking, by id, or to a step of a job, by address.
struct Done {
    verb: String,
    to: To,
}

enum To {
    Booking(String),
    Step(String),
}

impl Day<'_> {
    fn booking(&self, id: &str) -> Value {
        self.studio.owner().get(&format!("/v1/bookings/{id}")).expect(200)
    }

    fn act(&self, path: &str, tag: &str, body: &Value) -> Answer {
        self.studio.owner().act(path, tag, body)
    }

    /// Tries something at random; gives it where it was done.
    fn tries(&mut self) -> Option<Done> {
        let at = self.dice.below(self.bookings.len());
        let booking = self.booking(&self.bookings[at]);
        let verb = match (text(&booking["state"]), self.dice.below(12)) {
            ("BOOKED", 0) => "cancel",
            ("BOOKED", 1) => "no-show",
            ("BOOKED", _) => "arrive",
            ("READY", _) => "hand-over",
            ("IN_BAY", 0..=3) => "ready",
            ("IN_BAY", _) => return self.tries_step(text(&booking["id"])),
            _ => return None,
        };
        self.moves(&booking, verb)
    }

    /// Makes a move of a booking, where it can be made.
    fn moves(&self, booking: &Value, verb: &str) -> Option<Done> {
        let body = match verb {
            "cancel" => json!({ "reason": "Tried" }),
            "hand-over" => json!({ "received_by": "Aoife Byrne", "aftercare": "", "note": "", "checklist": [] }),
            _ => json!({}),
        };
        let id = text(&booking["id"]).to_owned();
        // Whatever is asked is confirmed, so that a ready car is driven out of the bay for the other one.
        let confirm = if verb == "arrive" { "?confirm=bay-not-cleared,arrival-on-another-day" } else { "" };
        let answer = self.act(&format!("/v1/bookings/{id}/{verb}{confirm}"), &tag(booking), &body);
        (answer.status == 200).then(|| Done { verb: verb.to_owned(), to: To::Booking(id) })
    }

    fn job(&self, booking: &str) -> Value {
        let owner = self.studio.owner();
        let jobs = owner.get("/v1/jobs?limit=200").expect(200);
        let job = jobs["items"].as_array().unwrap().iter().find(|job| job["booking_id"] == booking).unwrap();
        owner.get(&format!("/v1/jobs/{}", text(&job["id"]))).expect(200)
    }

    fn tries_step(&mut self, booking: &str) -> Option<Done> {
        let job = self.job(booking);
        let steps = job["steps"].as_array().unwrap();
        let settled = |step: &&Value| ["FINISHED", "REMOVED"].contains(&text(&step["state"]));
        let first = steps.iter().find(|step| !settled(step));
        let any = &steps[self.dice.below(steps.len())];
        // What comes next is tried as often as anything else, so that the work gets on.
        let step = first.filter(|_| self.dice.below(2) == 0).unwrap_or(any);
        let who = json!({ "person_id": self.people[self.dice.below(self.people.len())] });
        let (verb, body) = match self.dice.below(10) {
            0..=3 => ("start", who),
            4 => ("stop", who),
            5 | 6 => ("finish", json!({ "used": [{ "product": "shampoo", "amount": "12" }] })),
            7 => ("remove", json!({ "reason": "Tried" })),
            8 => ("end-wait", json!({ "reason": "Infrared lamp" })),
            _ => ("times", Value::Null),
        };
        self.works(&job, step, verb, &body)
    }

    /// Does something to a step, where it can be done.
    fn works(&self, job: &Value, step: &Value, verb: &str, body: &Value) -> Option<Done> {
        let path = format!("/v1/jobs/{}/steps/{}", text(&job["id"]), text(&step["code"]));
        let done = if verb == "times" {
            self.corrects(job, &path, &tag(step), step["pieces"].clone())
        } else {
            let confirm = if verb == "start" { "?confirm=bay-not-cleared" } else { "" };
            self.act(&format!("{path}/{verb}{confirm}"), &tag(step), body).status == 200
        };
        done.then(|| Done { verb: verb.to_owned(), to: To::Step(path) })
    }

    /// Does something, and adds it if it was done.
    fn does(&self, all: &mut Vec<Tried>, what: impl FnOnce() -> Option<Done>) {
        let before = rows(self.studio);
        all.extend(what().map(|done| (done, before)));
    }

    /// Does something that has to be possible, and adds it.
    fn must_do(&self, all: &mut Vec<Tried>, what: impl FnOnce() -> Option<Done>) {
        let known = all.len();
        self.does(all, what);
        assert!(all.len() > known, "the move after {known} others was refused");
    }

    /// Does something to a step that has to be possible, and adds it.
    fn must_work(&self, all: &mut Vec<Tried>, id: &str, place: usize, (verb, body): (&str, &Value)) {
        let job = self.job(id);
        self.must_do(all, || self.works(&job, &job["steps"][place], verb, body));
        self.studio.pass_minutes(1);
    }

    /// Makes a car that is here ready, whatever is left of its work.
    fn finishes(&self, id: &str, all: &mut Vec<Tried>) {
        if self.booking(id)["state"] != "IN_BAY" {
            return;
        }
        let me = json!({ "person_id": self.people[2] });
        let used = json!({ "used": [] });
        let reason = json!({ "reason": "Tried" });
        let steps = self.job(id)["steps"].as_array().unwrap().clone();
        for (place, step) in steps.iter().enumerate() {
            // Whoever asks works on what is left, if they are free, and gives it up.
            let verbs: Vec<(&str, &Value)> = match text(&step["state"]) {
                "RUNNING" => vec![("finish", &used)],
                "OPEN" | "PAUSED" => vec![("start", &me), ("stop", &me), ("remove", &reason)],
                _ => Vec::new(),
            };
            for (verb, body) in verbs {
                let job = self.job(id);
                self.does(all, || self.works(&job, &job["steps"][place], verb, body));
            }
        }
        self.does(all, || self.moves(&self.booking(id), "ready"));
    }

    /// Brings a car that is here to its hand-over.
    fn ends(&self, id: &str, all: &mut Vec<Tried>) {
        self.finishes(id, all);
        if self.booking(id)["state"] == "READY" {
            self.does(all, || self.moves(&self.booking(id), "hand-over"));
        }
    }

    /// Lets the first piece begin when the car came, as if somebody had tapped late.
    fn corrects(&self, job: &Value, path: &str, tag: &str, mut pieces: Value) -> bool {
        if let Some(first) = pieces.get_mut(0) {
            first["start"] = self.booking(text(&job["booking_id"]))["arrived_at"].clone();
        }
        let body = json!({ "reason": "Tried", "pieces": pieces });
        let key: String = baywright_core::platform::ids::new();
        let headers = [("if-match", tag), ("idempotency-key", key.as_str())];
        self.studio.owner().json("PUT", &format!("{path}/times"), &headers, &body).status == 200
    }

    fn undo(&self, done: &Done) {
        let body = json!({ "reason": "It was only tried" });
        match &done.to {
            To::Booking(id) => {
                self.act(&format!("/v1/bookings/{id}/undo"), &tag(&self.booking(id)), &body).expect(200);
            }
            To::Step(path) => {
                let etag = self.studio.owner().get(path).etag();
                self.act(&format!("{path}/undo"), &etag, &body).expect(200);
            }
        }
    }
}

#[test]
fn whatever_was_done_undoing_it_gives_back_every_row() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let owner = studio.owner();
        let me = text(&owner.get("/v1/me").expect(200)["person"]).to_owned();
        let people = vec![floor.polisher.clone(), floor.helper.clone(), me];
        let book = |(service, start): (&str, &str)| {
            let quote = studio.signed_work(&[service]);
            let start = format!("2026-03-02T{start}:00Z");
            text(&owner.place(&quote, &floor.best, &start, false).expect(201)["id"]).to_owned()
        };
        let bookings = [("wash", "08:00"), ("coating", "09:15")].map(book);
        let mut day = Day { studio, bookings, people, dice: Dice(0) };
        let mut undone = lead_both_cars(&day);
        for seed in [3, 11] {
            day.dice = Dice(seed);
            undone.extend(try_a_day(&mut day, seed));
        }
        let verbs = ["arrive", "start", "stop", "finish", "remove", "times", "end-wait", "ready", "hand-over"];
        for verb in verbs.into_iter().chain(["no-show", "cancel"]) {
            assert!(undone.contains(verb), "{verb} was never undone: {undone:?}");
        }
    });
}

/// Undoes what was done, last first, and compares the rows; adds the verbs to `undone`.
fn undo_all(day: &Day<'_>, made: Vec<Tried>, undone: &mut BTreeSet<String>, when: &str) {
    for (done, before) in made.into_iter().rev() {
        day.undo(&done);
        assert_eq!(rows(day.studio), before, "{when}: {}", done.verb);
        undone.insert(done.verb);
    }
}

/// Leads both cars through their bay and undoes it all: the second one comes while the first is ready and still in the bay.
/// Gives the verbs of what was undone.
fn lead_both_cars(day: &Day<'_>) -> BTreeSet<String> {
    let [first, second] = &day.bookings;
    let (mut made, mut undone) = (Vec::new(), BTreeSet::new());
    day.studio.pass_minutes(80);
    for verb in ["cancel", "no-show"] {
        let mut ended = Vec::new();
        day.must_do(&mut ended, || day.moves(&day.booking(first), verb));
        undo_all(day, ended, &mut undone, "one bay");
    }
    let who = json!({ "person_id": day.people[0] });
    let (used, reason) = (json!({ "used": [] }), json!({ "reason": "Tried" }));
    day.must_do(&mut made, || day.moves(&day.booking(first), "arrive"));
    day.studio.pass_minutes(1);
    for (verb, body) in [("start", &who), ("stop", &who), ("start", &who), ("finish", &used)] {
        day.must_work(&mut made, first, 0, (verb, body));
    }
    day.must_work(&mut made, first, 1, ("remove", &reason));
    day.must_do(&mut made, || day.moves(&day.booking(first), "ready"));
    assert_eq!(day.booking(first)["stands_in_bay"], true);
    day.must_do(&mut made, || day.moves(&day.booking(second), "arrive"));
    assert_eq!(day.booking(first)["stands_in_bay"], false);
    day.studio.pass_minutes(1);
    for place in 0..3 {
        day.must_work(&mut made, second, place, ("start", &who));
        day.must_work(&mut made, second, place, ("finish", &used));
    }
    day.must_work(&mut made, second, 2, ("end-wait", &reason));
    day.must_work(&mut made, second, 0, ("times", &Value::Null));
    day.ends(first, &mut made);
    undo_all(day, made, &mut undone, "one bay");
    undone
}

/// Does things at random and undoes them; gives the verbs of what was undone.
fn try_a_day(day: &mut Day<'_>, seed: u64) -> BTreeSet<String> {
    let when = format!("seed {seed}");
    let (mut made, mut undone) = (Vec::new(), BTreeSet::new());
    for _ in 0..120 {
        day.studio.pass_minutes(i64::try_from(day.dice.below(4)).unwrap());
        if day.dice.below(6) == 0
            && let Some(last) = made.pop()
        {
            undo_all(day, vec![last], &mut undone, &when);
            continue;
        }
        let before = rows(day.studio);
        if let Some(done) = day.tries() {
            made.push((done, before));
        }
    }
    for id in &day.bookings {
        day.ends(id, &mut made);
    }
    undo_all(day, made, &mut undone, &when);
    undone
}
