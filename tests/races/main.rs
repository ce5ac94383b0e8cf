//! Races for the same bays, the same people, keys and versions, and a program that is killed while it takes bookings: real processes,
//! real connections, on both engines.
//!
//! On PostgreSQL two processes serve one database; on SQLite, which belongs to one process, there is one.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a check that cannot go on may stop")]

mod client;
mod desk;
mod dice;
mod floor;
mod kill;
mod overlap;
mod program;
mod twice;
mod walls;

use std::path::PathBuf;
use std::process::ExitCode;

use baywright_core::platform::db::Db;
use baywright_tests::engine::{Engine, Fresh, engines};
use baywright_tests::person::Person;
use clap::Parser;

use crate::client::Client;
use crate::floor::Floor;
use crate::program::{Program, Running, free_address, is_there};

/// Lets many clients race for the same places, and kills the program under load, on each engine that is there.
///
/// PostgreSQL is there where BAYWRIGHT_TEST_POSTGRES names a server, as tests/with-postgres does.
#[derive(Parser)]
#[command(name = "races")]
struct Arguments {
    /// The built program
    program: PathBuf,
    /// How many random places are asked for on each engine
    #[arg(long, default_value_t = 50_000)]
    attempts: u64,
    /// How many ask for one and the same place
    #[arg(long, default_value_t = 10_000)]
    identical: u64,
    /// How many customers are sent eight times at once, each under one key
    #[arg(long, default_value_t = 500)]
    keys: u64,
    /// How often two writers change the same version
    #[arg(long, default_value_t = 1_000)]
    rounds: u64,
    /// How often the program is killed
    #[arg(long, default_value_t = 200)]
    kills: u32,
    /// How many clients race, eight at least
    #[arg(long, default_value_t = 32, value_parser = clap::builder::RangedU64ValueParser::<usize>::new().range(8..))]
    clients: usize,
    /// Makes the same choices again; the moments of two runs still differ
    #[arg(long)]
    seed: Option<u64>,
}

fn main() -> ExitCode {
    let arguments = Arguments::parse();
    assert!(is_there(&arguments.program), "there is no program at {}", arguments.program.display());
    let seed = arguments.seed.unwrap_or_else(|| {
        let bytes: [u8; 8] = baywright_core::platform::ids::random().unwrap();
        u64::from_le_bytes(bytes)
    });
    println!("seed {seed}");
    let (mut passed, mut failed) = (0, 0);
    for engine in engines() {
        let raced = race(&arguments, engine, seed);
        let killed = kills(&arguments, engine, seed);
        for (name, outcome) in raced.into_iter().chain([("kill -9", killed)]) {
            match outcome {
                Ok(said) => {
                    passed += 1;
                    println!("{engine:?}, {name}: {said}");
                }
                Err(fault) => {
                    failed += 1;
                    println!("{engine:?}, {name}: FAILED: {fault}");
                }
            }
        }
    }
    println!("{passed} passed, {failed} failed");
    if failed == 0 && passed > 0 { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}

/// A database of its own with the shop in it, and how the program is started on it.
fn founded(arguments: &Arguments, engine: Engine) -> (Fresh, Program, Db) {
    let fresh = Fresh::of(engine);
    let program =
        Program { path: arguments.program.clone(), database: fresh.address.clone(), data: fresh.folder().to_owned() };
    program.found_shop();
    let db = Db::open(&fresh.address).unwrap();
    (fresh, program, db)
}

fn race(arguments: &Arguments, engine: Engine, seed: u64) -> Vec<(&'static str, Result<String, String>)> {
    let (_fresh, program, db) = founded(arguments, engine);
    let processes = if engine == Engine::Postgres { 2 } else { 1 };
    let running: Vec<Running> = (0..processes).map(|_| program.serve(free_address())).collect();
    let token = running[0].sign_in();
    let owner = Person::new(&running[0].base, Some(token.clone()));
    let floor = Floor::set_up(&owner, arguments.clients * 8, None);
    let floor = std::sync::Arc::new(floor);
    let clients: Vec<Client> =
        (0..arguments.clients).map(|place| Client::new(&running[place % processes].base, &token)).collect();
    let random = overlap::random(&db, engine, &clients, &floor, arguments.attempts, seed);
    let identical = overlap::identical(&db, engine, &clients, &floor, arguments.identical);
    let keys = twice::one_key(&db, &clients, arguments.keys);
    let versions = twice::one_version(&clients, arguments.rounds);
    vec![("random places", random), ("one place", identical), ("one key", keys), ("one version", versions)]
}

fn kills(arguments: &Arguments, engine: Engine, seed: u64) -> Result<String, String> {
    let (_fresh, program, db) = founded(arguments, engine);
    let running = program.serve(free_address());
    let token = running.sign_in();
    let owner = Person::new(&running.base, Some(token.clone()));
    let floor = Floor::set_up(&owner, 60, Some("aoife.byrne@example.com"));
    drop(running);
    kill::killed(&program, &db, engine, &std::sync::Arc::new(floor), &token, arguments.kills, seed)
}
