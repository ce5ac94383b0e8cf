//! The migrations' folders.

use std::path::PathBuf;

fn folder(engine: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../migrations").join(engine)
}

fn names(engine: &str) -> Vec<String> {
    let entries = std::fs::read_dir(folder(engine)).unwrap();
    let mut names: Vec<String> =
        entries.map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned()).collect();
    names.sort();
    names
}

#[test]
fn both_engines_have_the_same_migrations() {
    assert_eq!(names("sqlite"), names("postgres"));
    assert!(!names("sqlite").is_empty());
}

#[test]
fn every_migration_has_a_way_back() {
    for engine in ["sqlite", "postgres"] {
        for name in names(engine) {
            for file in ["up.sql", "down.sql"] {
                let text = std::fs::read_to_string(folder(engine).join(&name).join(file)).unwrap();
                let says = text.lines().any(|line| !line.trim().is_empty() && !line.trim_start().starts_with("--"));
                assert!(says, "{engine}/{name}/{file} does nothing");
            }
        }
    }
}
