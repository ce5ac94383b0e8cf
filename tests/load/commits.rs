//! How many commits the disk takes: one row each, with nothing before it and nothing beside it.

use std::path::Path;
use std::time::{Duration, Instant};

use rusqlite::Connection;
use serde_json::json;

/// About what a booking's own row takes.
const ROW: usize = 400;

/// Commits to a new file at `path` for that long, as durably as the program does: WAL with `synchronous = FULL`.
pub(crate) fn run(path: &Path, time: Duration) {
    let conn = Connection::open(path).unwrap();
    conn.execute_batch(
        "PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL; CREATE TABLE row (id INTEGER PRIMARY KEY, text TEXT)",
    )
    .unwrap();
    let mut begin = conn.prepare("BEGIN IMMEDIATE").unwrap();
    let mut insert = conn.prepare("INSERT INTO row (text) VALUES (?1)").unwrap();
    let mut commit = conn.prepare("COMMIT").unwrap();
    let text = "x".repeat(ROW);
    let (began, mut commits) = (Instant::now(), 0_i64);
    while began.elapsed() < time {
        begin.execute([]).unwrap();
        insert.execute([&text]).unwrap();
        commit.execute([]).unwrap();
        commits += 1;
    }
    let micros = began.elapsed().as_micros();
    let kept: i64 = conn.query_row("SELECT count(*) FROM row", [], |row| row.get(0)).unwrap();
    assert_eq!(kept, commits, "a commit was lost");
    println!("{}", json!({ "commits": commits, "micros": u64::try_from(micros).unwrap() }));
}
