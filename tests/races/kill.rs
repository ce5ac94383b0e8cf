//! The program is killed while it takes bookings, again and again.

use std::collections::BTreeMap;
use std::sync::{Arc, Barrier};
use std::time::{Duration, Instant};

use baywright_core::platform::db::Db;
use baywright_tests::engine::Engine;

use crate::client::Client;
use crate::desk::Desk;
use crate::dice::Dice;
use crate::floor::Floor;
use crate::program::{Program, free_address};
use crate::walls;

/// How many clients are at work when it is killed.
const CLIENTS: usize = 12;
/// The longest time that they work before, in tenths of a millisecond.
const LONGEST: u64 = 900;

/// Kills the program `kills` times at random moments under load. After each start everything that was told is still
/// there, and what was not answered is asked again with its key: it happens once.
pub(crate) fn killed(
    program: &Program,
    db: &Db,
    engine: Engine,
    floor: &Arc<Floor>,
    token: &str,
    kills: u32,
    seed: u64,
) -> Result<String, String> {
    let began = Instant::now();
    let listen = free_address();
    let base = format!("http://{listen}");
    let share = floor.quotes.len() / CLIENTS;
    let mut desks: Vec<Desk> = floor
        .quotes
        .chunks_exact(share)
        .take(CLIENTS)
        .enumerate()
        .map(|(place, quotes)| Desk::new(Client::new(&base, token), floor, quotes, seed, place))
        .collect();
    let mut dice = Dice::of(seed, 1_000_000);
    let (mut again, mut slowest) = (0, Duration::ZERO);
    // The last round only starts it, asks again, and reads.
    for round in 0..=kills {
        let start = Instant::now();
        let mut running = program.serve(listen);
        slowest = slowest.max(start.elapsed());
        for desk in &mut desks {
            desk.reconnect(Client::new(&base, token));
        }
        let moment = Duration::from_micros(dice.below(LONGEST) * 100);
        let ready = Barrier::new(CLIENTS + 1);
        again += std::thread::scope(|scope| {
            let threads: Vec<_> = desks
                .iter_mut()
                .map(|desk| {
                    let ready = &ready;
                    scope.spawn(move || {
                        let repeated = desk.ask_again();
                        if repeated.is_err() || desk.check().is_err() {
                            desk.faults.push("the program didn't answer after its start".to_owned());
                        }
                        ready.wait();
                        while round < kills && desk.faults.is_empty() && desk.step().is_ok() {}
                        u64::from(repeated.unwrap_or_default())
                    })
                })
                .collect();
            ready.wait();
            std::thread::sleep(moment);
            running.kill();
            threads.into_iter().map(|thread| thread.join().unwrap()).sum::<u64>()
        });
        if let Some(fault) = desks.iter().flat_map(|desk| &desk.faults).next() {
            return Err(format!("in round {round}: {fault}"));
        }
    }
    let told: BTreeMap<String, i64> = desks.iter().flat_map(|desk| desk.told.clone()).collect();
    walls::as_told(db, &told)?;
    walls::nothing_overlaps(db, engine)?;
    walls::nothing_is_half_done(db, true)?;
    let records = walls::the_log_is_whole(db)?;
    program.verify()?;
    let answers: u64 = desks.iter().flat_map(|desk| desk.statuses.values()).sum();
    if again < u64::from(kills) || told.len() < 50 {
        return Err(format!("too little was going on: {again} asked again, {} bookings", told.len()));
    }
    Ok(format!(
        "killed {kills} times in {} s: {answers} answers kept, {again} asked again, {} bookings, log of {records} whole, \
         at most {} ms to start",
        began.elapsed().as_secs(),
        told.len(),
        slowest.as_millis()
    ))
}
