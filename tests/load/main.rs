//! What the program's speed is held against, and what loads it: a bare server of the same rows, bare commits, clients
//! that book, and shops with many years of bookings.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a measurement that cannot go on may stop")]

mod bare;
mod bookings;
mod commits;
mod history;

use std::net::SocketAddr;
use std::path::PathBuf;
use std::time::Duration;

use chrono::NaiveDate;
use clap::Parser;

/// Measures beside the program: each command prints one line of JSON, with counts and microseconds.
#[derive(Parser)]
#[command(name = "load")]
enum Arguments {
    /// Serve quotes and days out of a shop's file: actix and SQLite, and nothing between them
    Bare {
        /// The SQLite file of the program
        file: PathBuf,
        /// Where to listen
        #[arg(long)]
        listen: SocketAddr,
        /// Where links in answers lead
        #[arg(long)]
        base: String,
        /// Threads that take requests
        #[arg(long, default_value_t = 1)]
        workers: usize,
    },
    /// Commit one small row after another to a new SQLite file
    Commits {
        /// The file to make
        file: PathBuf,
        #[command(flatten)]
        time: Time,
    },
    /// Set a shop up and book into it, from several desks at once
    Bookings {
        /// Where the program listens
        base: String,
        /// The owner's access token
        token: String,
        /// How many book at once
        #[arg(long, default_value_t = 8)]
        desks: usize,
        /// How many cars wait for a place at first
        #[arg(long, default_value_t = 240)]
        cars: usize,
        #[command(flatten)]
        time: Time,
    },
    /// Set a shop up in which two quotes are signed
    Floor {
        /// Where the program listens
        base: String,
        /// The owner's access token
        token: String,
    },
    /// Copy that shop's SQLite file and book into the copy, for years before and after a quarter of a year
    History {
        /// The SQLite file of the program, which is not running
        file: PathBuf,
        /// The file to make
        copy: PathBuf,
        /// The quote that bookings are copied from
        pattern: String,
        /// The first day of the quarter
        first: NaiveDate,
        /// How many bookings the copy has in the end
        #[arg(long)]
        count: u64,
    },
}

#[derive(clap::Args)]
struct Time {
    /// For how long, in milliseconds
    #[arg(long, default_value_t = 2000)]
    millis: u64,
}

impl Time {
    fn of(&self) -> Duration {
        Duration::from_millis(self.millis)
    }
}

fn main() {
    match Arguments::parse() {
        Arguments::Bare { file, listen, base, workers } => bare::serve(&file, listen, &base, workers),
        Arguments::Commits { file, time } => commits::run(&file, time.of()),
        Arguments::Bookings { base, token, desks, cars, time } => bookings::run(&base, &token, desks, cars, time.of()),
        Arguments::Floor { base, token } => history::set_up(&base, &token),
        Arguments::History { file, copy, pattern, first, count } => history::fill(&file, &copy, &pattern, first, count),
    }
}
