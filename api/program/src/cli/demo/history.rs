//! Five weeks of the demo: what happened to each car of `demo-data/story.json`, in the order of time.

use std::cmp::Reverse;
use std::collections::{BTreeMap, BinaryHeap};

use baywright_core::platform::clock::UtcTime;
use serde_json::{Value, json};

use super::car::{Car, Next};
use super::desk::Desk;
use super::story::Story;
use super::studio;
use crate::cli::Trouble;
use crate::cli::progress::Progress;

const STORY: &str = include_str!("../../../../../demo-data/story.json");

/// Minutes of a day.
const DAY: i64 = 24 * 60;

/// Number of days before today the demo begins.
pub(super) const DAYS: i64 = 35;

/// The moment at which the demo begins: a morning five weeks before today.
pub(super) fn begin(now: UtcTime) -> UtcTime {
    at(now, -DAYS, 7 * 60)
}

/// Moment that is `minute` minutes into the day that is `day` days after today (UTC; in Ireland an hour off in summer
/// at most).
pub(super) fn at(now: UtcTime, day: i64, minute: i64) -> UtcTime {
    let today = now.minute().get().div_euclid(DAY) * DAY;
    UtcTime::from_ms((today + day * DAY + minute) * 60_000)
}

/// Plays the history; returns the address of a quote that is waiting for its customer's answer.
pub(super) fn live(desk: &mut Desk, cars: &BTreeMap<String, Value>, now: UtcTime) -> Result<String, Trouble> {
    let stories: Vec<Story> = serde_json::from_str(STORY)?;
    let mut lives = Vec::with_capacity(stories.len());
    let mut events = BinaryHeap::new();
    for (place, story) in stories.into_iter().enumerate() {
        let vehicle = cars.get(&story.car).ok_or_else(|| format!("story.json: no car {}", story.car))?;
        let car = Car::new(story, vehicle, now, place);
        events.push(Reverse((car.begins(), place)));
        lives.push(car);
    }
    let minutes_since =
        |from: UtcTime, to: UtcTime| usize::try_from(to.minute().get() - from.minute().get()).unwrap_or(0);
    let start = begin(now);
    let shown = Progress::of("Creating five weeks of history, in minutes:", minutes_since(start, now));
    while let Some(Reverse((moment, place))) = events.pop() {
        if moment > now {
            continue;
        }
        desk.wait_until(moment);
        shown.at(minutes_since(start, moment));
        if let Next::At(next) = lives[place].go_on(desk)? {
            events.push(Reverse((next.max(desk.now()), place)));
        }
    }
    desk.wait_until(now);
    for enquiry in studio::plan()?.enquiries {
        desk.post("/v1/enquiries", &enquiry)?;
    }
    let waiting = lives
        .iter()
        .find_map(Car::shows_an_offer)
        .ok_or("no quote of the demo with photographs waits for an answer")?;
    let link =
        desk.post(&format!("/v1/quotes/{waiting}/links"), &json!({ "method": "LINK", "contact": "the demo" }))?;
    desk.turn();
    Ok(link["url"].as_str().unwrap_or_default().to_owned())
}
