//! The command line, run as a process: settings, lists in and out, backups and putting them back, a move into
//! another database, what is logged.

#![allow(missing_docs, reason = "tests are named as requirements")]
#![allow(clippy::unwrap_used, clippy::panic, reason = "a test that cannot go on may stop")]

mod backup;
mod backup_postgres;
mod config;
mod demo;
mod export;
mod import;
mod limit;
mod log;
mod menu;
mod move_database;
mod newer;
mod private;
mod read_only;
mod standstill;
mod whole;

use baywright_tests::engine::{Engine, Fresh, engines};
use baywright_tests::program::Program;

/// A database with a shop in it, and the program on it.
fn shop_on(engine: Engine) -> (Fresh, Program) {
    let fresh = Fresh::of(engine);
    let program = Program::new(env!("CARGO_BIN_EXE_program"), &fresh);
    program.found_shop("Test Studio");
    (fresh, program)
}

/// Runs a test on every engine that is there.
fn on_each_engine(test: impl Fn(&Fresh, &Program)) {
    for engine in engines() {
        let (fresh, program) = shop_on(engine);
        test(&fresh, &program);
    }
}
