//! Whatever was done, undoing it gives exactly what was before, down to the rows of the database.

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
const TABLES: [&str; 10] =
    ["attendance", "booking", "handover", "job", "job_move", "job_piece", "job_step", "job_use", "lesson", "placement"];

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

/// Two cars, and three people who work on them.
struct Day<'s> {
    studio: &'s Studio,
    bookings: Vec<String>,
    people: Vec<String>,
    dice: Dice,
}

/// What was done: to a booking, or to a step of a job.
enum Done {
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
        let id = text(&booking["id"]).to_owned();
        let bookings = format!("/v1/bookings/{id}");
        let handover = json!({ "received_by": "Aoife Byrne", "aftercare": "", "note": "", "checklist": [] });
        let (verb, body) = match (text(&booking["state"]), self.dice.below(6)) {
            ("BOOKED", 0) => ("cancel", json!({ "reason": "Tried" })),
            ("BOOKED", 1) => ("missed", json!({})),
            ("BOOKED", _) => ("arrive", json!({})),
            ("READY", _) => ("hand-over", handover),
            ("IN_BAY", 0) => ("ready", json!({})),
            ("IN_BAY", _) => return self.tries_step(&id),
            _ => return None,
        };
        let answer = self.act(&format!("{bookings}/{verb}"), &tag(&booking), &body);
        (answer.status == 200).then_some(Done::Booking(id))
    }

    fn tries_step(&mut self, booking: &str) -> Option<Done> {
        let owner = self.studio.owner();
        let jobs = owner.get("/v1/jobs").expect(200);
        let job = jobs["items"].as_array().unwrap().iter().find(|job| job["booking_id"] == booking).unwrap().clone();
        let job = owner.get(&format!("/v1/jobs/{}", text(&job["id"]))).expect(200);
        let steps = job["steps"].as_array().unwrap();
        let step = &steps[self.dice.below(steps.len())];
        let path = format!("/v1/jobs/{}/steps/{}", text(&job["id"]), text(&step["code"]));
        let who = json!({ "person_id": self.people[self.dice.below(self.people.len())] });
        let (verb, body) = match self.dice.below(10) {
            0..=3 => ("start", who),
            4 => ("stop", who),
            5 | 6 => ("finish", json!({ "used": [{ "product": "shampoo", "amount": "12" }] })),
            7 => ("strike", json!({ "reason": "Tried" })),
            8 => ("end-wait", json!({ "reason": "Infrared lamp" })),
            _ => {
                let pieces = step["pieces"].clone();
                return self.corrects(&path, &tag(step), pieces).then_some(Done::Step(path));
            }
        };
        let answer = self.act(&format!("{path}/{verb}"), &tag(step), &body);
        (answer.status == 200).then_some(Done::Step(path))
    }

    /// Lets the first piece begin a little earlier, as if somebody had tapped late.
    fn corrects(&self, path: &str, tag: &str, mut pieces: Value) -> bool {
        if let Some(first) = pieces.get_mut(0) {
            first["start"] = json!("2026-03-02T07:59:00Z");
        }
        let body = json!({ "reason": "Tried", "pieces": pieces });
        let key: String = baywright::platform::ids::new();
        let headers = [("if-match", tag), ("idempotency-key", key.as_str())];
        self.studio.owner().json("PUT", &format!("{path}/times"), &headers, &body).status == 200
    }

    fn undo(&self, done: &Done) {
        let body = json!({ "reason": "It was only tried" });
        match done {
            Done::Booking(id) => {
                self.act(&format!("/v1/bookings/{id}/undo"), &tag(&self.booking(id)), &body).expect(200);
            }
            Done::Step(path) => {
                let etag = self.studio.owner().get(path).etag();
                self.act(&format!("{path}/undo"), &etag, &body).expect(200);
            }
        }
    }
}

#[test]
fn whatever_was_done_undoing_it_gives_back_every_row() {
    on_each_engine(|studio| {
        for seed in [3, 11] {
            try_a_day(studio, seed);
        }
    });
}

fn try_a_day(studio: &Studio, seed: u64) {
    let owner = studio.owner();
    let (bay, people) = {
        let floor = studio.floor();
        (floor.best, vec![floor.polisher, floor.helper, text(&owner.get("/v1/me").expect(200)["person"]).to_owned()])
    };
    let mut bookings = Vec::new();
    for services in [&["wash"][..], &["coating"]] {
        let quote = studio.signed_work(services);
        bookings.push(text(&owner.book_first(&quote)["id"]).to_owned());
    }
    assert!(!bay.is_empty());
    let mut day = Day { studio, bookings, people, dice: Dice(seed) };
    let (mut made, mut undone) = (Vec::new(), 0);
    for _ in 0..70 {
        studio.pass_minutes(i64::try_from(day.dice.below(4)).unwrap());
        if day.dice.below(4) == 0
            && let Some((done, before)) = made.pop()
        {
            day.undo(&done);
            assert_eq!(rows(studio), before, "seed {seed}");
            undone += 1;
            continue;
        }
        let before = rows(studio);
        if let Some(done) = day.tries() {
            made.push((done, before));
        }
    }
    while let Some((done, before)) = made.pop() {
        day.undo(&done);
        assert_eq!(rows(studio), before, "seed {seed}");
        undone += 1;
    }
    assert!(undone > 20, "seed {seed}: only {undone} moves were made");
}
