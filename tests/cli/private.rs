//! What the program makes is for the user alone who runs it.

use std::fs;
use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};

use baywright_tests::engine::{Engine, Fresh};
use baywright_tests::make::media::{file, picture};
use baywright_tests::make::quote::{draft, id};
use baywright_tests::program::Program;
use image::ImageFormat;

/// Everything in a folder, and the folder itself, with its mode.
fn modes(folder: &Path) -> Vec<(PathBuf, bool, u32)> {
    // What is renamed meanwhile, as a mail is once it is whole, is found under its new name the next time.
    let Ok(about) = fs::metadata(folder) else { return Vec::new() };
    let mut found = vec![(folder.to_owned(), about.is_dir(), about.permissions().mode() & 0o777)];
    if about.is_dir() {
        for entry in fs::read_dir(folder).unwrap() {
            found.extend(modes(&entry.unwrap().path()));
        }
    }
    found
}

/// Asserts that nobody else may read what is there; gives the names of its files.
#[track_caller]
fn private(folder: &Path) -> Vec<String> {
    let all = modes(folder);
    for (path, is_folder, mode) in &all {
        let wanted = if *is_folder { 0o700 } else { 0o600 };
        assert_eq!(*mode, wanted, "{} has mode {mode:o}", path.display());
    }
    let files = all.into_iter().filter(|(_, is_folder, _)| !is_folder);
    files.map(|(path, ..)| path.file_name().unwrap().to_string_lossy().into_owned()).collect()
}

#[track_caller]
fn has(files: &[String], endings: &[&str]) {
    for ending in endings {
        assert!(files.iter().any(|name| name.ends_with(ending)), "no file ends with {ending}: {files:?}");
    }
}

#[test]
fn database_photographs_mails_backups_and_exports_are_for_their_user_alone() {
    let fresh = Fresh::of(Engine::Sqlite);
    let at = |name: &str| fresh.folder().join(name);
    let within = |name: &str| {
        let database = format!("sqlite:{}", at(name).join("shop.db").display());
        Program::new(env!("CARGO_BIN_EXE_program"), &fresh).on(&database, &at(name))
    };
    let program = within("data");
    program.found_shop("Test Studio");
    let mut serving = program.serve(&[]);
    let owner = serving.owner();
    owner.post_file("/v1/photos", "image/jpeg", &file(&picture(80, 60), ImageFormat::Jpeg)).expect(201);
    owner.publish_small_menu();
    let (_, vehicle, inspection) = owner.add_inspected_car("Aoife Byrne", "aoife@example.com");
    let written = owner.write_quote(&id(&vehicle), &draft(&id(&inspection), &["decontamination"], &[])).expect(201);
    owner.move_quote(&written, "send", &serde_json::json!({})).expect(200);
    // The mail leaves within two seconds, later on a busy machine.
    let mails = |folder: &Path| modes(folder).iter().any(|(path, ..)| path.extension().is_some_and(|end| end == "eml"));
    for _ in 0..600 {
        if mails(&at("data")) {
            break;
        }
        std::thread::sleep(std::time::Duration::from_millis(100));
    }
    let files = private(&at("data"));
    has(&files, &["shop.db", "shop.db-wal", "shop.db-shm", ".jpg", ".eml"]);
    // A backup copies bytes and not who may read them, even if somebody opened the photographs to others.
    for (path, is_folder, _) in modes(&at("data")) {
        fs::set_permissions(path, PermissionsExt::from_mode(if is_folder { 0o755 } else { 0o644 })).unwrap();
    }
    program.run(&["backup", "--to", at("backup").to_str().unwrap()]).good();
    program.run(&["export", "--to", at("export").to_str().unwrap()]).good();
    serving.kill();
    let files = private(&at("backup"));
    has(&files, &["baywright.db", ".jpg", "backup.json"]);
    let files = private(&at("export"));
    has(&files, &["customers.csv", ".jsonl", ".jpg"]);
    for (path, is_folder, _) in modes(&at("backup")) {
        fs::set_permissions(path, PermissionsExt::from_mode(if is_folder { 0o755 } else { 0o644 })).unwrap();
    }
    let other = within("restored");
    other.run(&["restore", at("backup").to_str().unwrap()]).good();
    let files = private(&at("restored"));
    has(&files, &["shop.db", ".jpg"]);
}
