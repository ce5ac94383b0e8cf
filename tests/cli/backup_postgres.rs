//! What `baywright backup --help` says of PostgreSQL, done.

use std::path::PathBuf;
use std::process::Command;

use baywright_tests::engine::{Engine, Fresh, server};
use baywright_tests::program::Program;

use crate::shop_on;

/// One of PostgreSQL's own programs, the newest that is there.
fn tool(name: &str) -> PathBuf {
    let mut found: Vec<PathBuf> = std::fs::read_dir("/usr/lib/postgresql")
        .unwrap()
        .map(|entry| entry.unwrap().path().join("bin").join(name))
        .filter(|path| path.is_file())
        .collect();
    found.sort();
    found.pop().unwrap_or_else(|| panic!("{name} is not there"))
}

#[test]
fn the_commands_that_the_help_names_copy_a_database_and_put_it_back() {
    if server().is_none() {
        return;
    }
    let (fresh, program) = shop_on(Engine::Postgres);
    program.serve(&[]).owner().add_customer("Aoife Byrne");
    let told = program.run(&["backup", "--to", "nowhere"]).bad();
    assert!(told.contains("pg_dump"), "{told}");
    let help = program.run(&["backup", "--help"]).good();
    let commands: Vec<&str> = help.lines().map(str::trim).filter(|line| line.starts_with("pg_")).collect();
    assert_eq!(commands.len(), 2, "{help}");
    let other = Fresh::of(Engine::Postgres);
    let run = |line: &str, database: &str| {
        let mut words = line.split_whitespace().map(|word| {
            word.replace("\"$BAYWRIGHT_DATABASE\"", database)
                .replace("baywright.dump", &fresh.folder().join("baywright.dump").to_string_lossy())
        });
        let status = Command::new(tool(&words.next().unwrap())).args(words).status().unwrap();
        assert!(status.success(), "{line}");
    };
    run(commands[0], &program.database);
    run(commands[1], &other.address);
    let restored = Program::new(env!("CARGO_BIN_EXE_program"), &other);
    restored.run(&["verify"]).good();
    let list = restored.serve(&[]).owner().get("/v1/customers").expect(200);
    assert_eq!(list["items"][0]["name"], "Aoife Byrne");
}
