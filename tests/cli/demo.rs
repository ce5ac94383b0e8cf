//! `baywright demo` that is stopped while it builds its history.

use std::fs::read_dir;
use std::path::PathBuf;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

#[cfg(unix)]
#[test]
fn a_demo_that_is_stopped_while_it_builds_its_history_leaves_no_folder() {
    for signal in ["TERM", "INT"] {
        let place = tempfile::tempdir().unwrap();
        let inside =
            || -> Vec<PathBuf> { read_dir(place.path()).unwrap().map(|entry| entry.unwrap().path()).collect() };
        let mut demo = Command::new(env!("CARGO_BIN_EXE_program"))
            .args(["demo", "--listen", "127.0.0.1:0"])
            .env("TMPDIR", place.path())
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .spawn()
            .unwrap();
        let begun = Instant::now();
        while !inside().iter().any(|folder| folder.join("demo.db").exists()) {
            assert!(begun.elapsed() < Duration::from_mins(1), "the demo did not begin");
            std::thread::sleep(Duration::from_millis(20));
        }
        let id = demo.id().to_string();
        assert!(Command::new("kill").args([&format!("-{signal}"), &id]).status().unwrap().success());
        assert!(!demo.wait().unwrap().success());
        assert_eq!(inside(), Vec::<PathBuf>::new(), "after SIG{signal}");
    }
}
