//! Many clients who want the same bays and the same people at overlapping times.

use std::collections::BTreeMap;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::Instant;

use baywright_core::platform::db::Db;
use baywright_tests::engine::Engine;
use serde_json::json;

use crate::client::Client;
use crate::desk::Desk;
use crate::floor::Floor;
use crate::walls;

/// Asks for `attempts` places at random; no two may overlap, and nothing may fail but for 409.
pub(crate) fn random(
    db: &Db,
    engine: Engine,
    clients: &[Client],
    floor: &Arc<Floor>,
    attempts: u64,
    seed: u64,
) -> Result<String, String> {
    let began = Instant::now();
    let asked = AtomicU64::new(0);
    let share = floor.quotes.len() / clients.len();
    let desks = std::thread::scope(|scope| {
        let asked = &asked;
        let threads: Vec<_> = clients
            .iter()
            .zip(floor.quotes.chunks_exact(share))
            .enumerate()
            .map(|(place, (client, quotes))| {
                let mut desk = Desk::new(client.clone(), floor, quotes, seed, place);
                scope.spawn(move || {
                    let mut mine = 0;
                    while asked.load(Ordering::Relaxed) < attempts && desk.faults.is_empty() {
                        if desk.step().is_err() {
                            desk.faults.push("a connection broke".to_owned());
                        }
                        asked.fetch_add(desk.asked - mine, Ordering::Relaxed);
                        mine = desk.asked;
                    }
                    if desk.check().is_err() {
                        desk.faults.push("a connection broke".to_owned());
                    }
                    desk
                })
            })
            .collect();
        threads.into_iter().map(|thread| thread.join().unwrap()).collect::<Vec<_>>()
    });
    let took = began.elapsed().as_secs();
    if let Some(fault) = desks.iter().flat_map(|desk| &desk.faults).next() {
        return Err(fault.clone());
    }
    let mut statuses: BTreeMap<u16, u64> = BTreeMap::new();
    let mut told = BTreeMap::new();
    for desk in desks {
        for (status, count) in desk.statuses {
            *statuses.entry(status).or_default() += count;
        }
        told.extend(desk.told);
    }
    walls::nothing_overlaps(db, engine)?;
    walls::some_help(db)?;
    walls::as_told(db, &told)?;
    walls::nothing_is_half_done(db, false)?;
    let asked = asked.into_inner();
    if asked < attempts || statuses.get(&201).is_none_or(|made| *made < 200) {
        return Err(format!("only {asked} places were asked for: {statuses:?}"));
    }
    Ok(format!("{asked} places asked for by {} clients in {took} s, answers {statuses:?}, no overlap", clients.len()))
}

/// Asks `attempts` times for one and the same place: one gets it.
pub(crate) fn identical(
    db: &Db,
    engine: Engine,
    clients: &[Client],
    floor: &Floor,
    attempts: u64,
) -> Result<String, String> {
    let began = Instant::now();
    let wanted = json!({
        "quote_id": floor.rival, "bay_id": floor.bays[0], "start": floor.last_start, "hold": false, "note": ""
    });
    let left = AtomicU64::new(attempts);
    let answers = std::thread::scope(|scope| {
        let (left, wanted) = (&left, &wanted);
        let threads: Vec<_> = clients
            .iter()
            .map(|client| {
                scope.spawn(move || {
                    let mut statuses: BTreeMap<u16, u64> = BTreeMap::new();
                    let take = |left: u64| left.checked_sub(1);
                    while let Ok(number) = left.fetch_update(Ordering::Relaxed, Ordering::Relaxed, take) {
                        let said = client.post("/v1/bookings", &format!("same-{number}"), None, wanted);
                        *statuses.entry(said.map_or(0, |said| said.status)).or_default() += 1;
                    }
                    statuses
                })
            })
            .collect();
        let mut all: BTreeMap<u16, u64> = BTreeMap::new();
        for thread in threads {
            for (status, count) in thread.join().unwrap() {
                *all.entry(status).or_default() += count;
            }
        }
        all
    });
    if answers != BTreeMap::from([(201, 1), (409, attempts - 1)]) {
        return Err(format!("one should get it and the others 409, but: {answers:?}"));
    }
    walls::nothing_overlaps(db, engine)?;
    Ok(format!("{attempts} asked for one place in {} s: {answers:?}", began.elapsed().as_secs()))
}
