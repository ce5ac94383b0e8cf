//! Commands that only read, run by a user who may not write.

use std::fs::{self, Permissions};
use std::os::unix::fs::PermissionsExt;
use std::os::unix::process::CommandExt;
use std::path::Path;
use std::process::Command;

use baywright_core::platform::db::snapshot;
use baywright_tests::engine::Engine;

use crate::shop_on;

/// Nobody's id, as the system numbers users.
const NOBODY: u32 = 65_534;

fn set_mode(path: &Path, mode: u32) {
    fs::set_permissions(path, Permissions::from_mode(mode)).unwrap();
}

fn names(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder).unwrap();
    let mut names: Vec<String> = entries.map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

#[test]
fn verify_needs_no_right_to_write() {
    let (fresh, program) = shop_on(Engine::Sqlite);
    program.serve(&[]).owner().add_customer("Aoife Byrne");
    // The service was killed, so its log is still beside the file; whoever closes the file last takes it over.
    assert!(!snapshot::is_in_use(&fresh.folder().join("shop.db")).unwrap());
    let folder = tempfile::tempdir().unwrap();
    set_mode(folder.path(), 0o755);
    let file = folder.path().join("shop.db");
    fs::copy(fresh.folder().join("shop.db"), &file).unwrap();
    // Where that other user may run it, too.
    let runs = folder.path().join("program");
    fs::copy(env!("CARGO_BIN_EXE_program"), &runs).unwrap();
    set_mode(&runs, 0o755);
    let data = folder.path().join("data");
    fs::create_dir(&data).unwrap();
    set_mode(&data, 0o755);
    let before = (fs::read(&file).unwrap(), names(folder.path()));
    for (of_file, of_folder) in [(0o444, 0o755), (0o444, 0o555)] {
        set_mode(&file, of_file);
        set_mode(folder.path(), of_folder);
        let mut command = Command::new(&runs);
        command.arg("verify").env_clear();
        command.env("BAYWRIGHT_DATABASE", format!("sqlite:{}", file.display())).env("BAYWRIGHT_DATA", &data);
        if fs::OpenOptions::new().append(true).open(&file).is_ok() {
            // The tests are run by a user who may do anything.
            command.uid(NOBODY);
        }
        let ran = command.output().unwrap();
        let said = String::from_utf8_lossy(&ran.stdout).into_owned() + &String::from_utf8_lossy(&ran.stderr);
        assert!(ran.status.success(), "{of_file:o} {of_folder:o}: {said}");
        assert!(said.contains("The log is complete"), "{said}");
        assert!(fs::read(&file).unwrap() == before.0, "the file was changed");
        assert_eq!(names(folder.path()), before.1);
    }
    set_mode(folder.path(), 0o755);
}
