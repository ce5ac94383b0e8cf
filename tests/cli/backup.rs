//! `baywright backup` and `baywright restore` of the embedded database.

use std::fs::{read, read_dir, remove_file, write};
use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex};

use baywright_tests::engine::{Engine, Fresh};
use baywright_tests::make::media::{file, picture};
use baywright_tests::program::Program;
use image::ImageFormat;

use crate::shop_on;

/// A place that a backup is put back to.
fn elsewhere(program: &Program, name: &str) -> (tempfile::TempDir, Program) {
    let folder = tempfile::tempdir().unwrap();
    let database = format!("sqlite:{}", folder.path().join(name).display());
    let other = program.on(&database, folder.path());
    (folder, other)
}

fn folder(fresh: &Fresh, name: &str) -> String {
    fresh.folder().join(name).to_str().unwrap().to_owned()
}

/// Makes a backup; gives its folder and the bytes of its database.
fn backed_up(fresh: &Fresh, program: &Program) -> (PathBuf, Vec<u8>) {
    let to = folder(fresh, "backup");
    program.run(&["backup", "--to", &to]).good();
    let copied = PathBuf::from(to);
    let before = read(copied.join("baywright.db")).unwrap();
    (copied, before)
}

fn count(program: &Program, path: &str) -> usize {
    let serving = program.serve(&[]);
    let owner = serving.owner();
    let mut next = Some(format!("{path}?limit=200"));
    let mut found = 0;
    while let Some(page) = next {
        let body = owner.get(&page).expect(200);
        found += body["items"].as_array().unwrap().len();
        // Links begin with the public address, which the program here was not told.
        next = body["next"].as_str().map(|link| link[link.find("/v1").unwrap()..].to_owned());
    }
    found
}

#[test]
fn a_backup_made_under_load_has_all_that_was_acknowledged_before_it() {
    let (fresh, program) = shop_on(Engine::Sqlite);
    let serving = program.serve(&[]);
    let owner = serving.owner();
    let photo = owner.post_file("/v1/photos", "image/jpeg", &file(&picture(80, 60), ImageFormat::Jpeg)).expect(201);
    let stop = Arc::new(AtomicBool::new(false));
    let acknowledged = Arc::new(Mutex::new(Vec::new()));
    let writers: Vec<_> = (0..2)
        .map(|_| {
            let (owner, stop, acknowledged) = (owner.clone(), stop.clone(), acknowledged.clone());
            std::thread::spawn(move || {
                while !stop.load(Ordering::SeqCst) {
                    let made = owner.add_customer("Aoife Byrne");
                    acknowledged.lock().unwrap().push(made["id"].as_str().unwrap().to_owned());
                }
            })
        })
        .collect();
    for round in 0..5 {
        let before = acknowledged.lock().unwrap().clone();
        let to = folder(&fresh, &format!("backup-{round}"));
        let said = program.run(&["backup", "--to", &to]).good();
        assert!(said.contains("2 photographs"), "{said}");
        let (_kept, other) = elsewhere(&program, "baywright.db");
        other.run(&["restore", &to]).good();
        other.run(&["verify"]).good();
        let restored = other.serve(&[]);
        let there = restored.owner();
        for id in before.iter().rev().take(20).chain(before.first()) {
            there.get(&format!("/v1/customers/{id}")).expect(200);
        }
        let path = format!("/v1/photos/{}", photo["id"].as_str().unwrap());
        assert_eq!(there.get(&path).bytes, owner.get(&path).bytes);
        drop(restored);
        assert!(count(&other, "/v1/customers") >= before.len());
    }
    stop.store(true, Ordering::SeqCst);
    for writer in writers {
        writer.join().unwrap();
    }
    assert!(acknowledged.lock().unwrap().len() > 10);
}

#[test]
fn commands_that_only_read_leave_a_backup_as_it_was() {
    let (fresh, program) = shop_on(Engine::Sqlite);
    program.serve(&[]).owner().add_customer("Aoife Byrne");
    let (copied, before) = backed_up(&fresh, &program);
    let backup = program.on(&format!("sqlite:{}", copied.join("baywright.db").display()), &copied);
    let export = folder(&fresh, "export");
    for command in
        [&["verify"][..], &["shop", "list"], &["user", "list"], &["keys", "list"], &["export", "--to", &export]]
    {
        backup.run(command).good();
        assert!(read(copied.join("baywright.db")).unwrap() == before, "{command:?} changed the backup");
        let beside = read_dir(&copied).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap());
        assert!(beside.filter(|name| name.starts_with("baywright.db")).eq(["baywright.db"]), "{command:?}");
    }
    let (_kept, other) = elsewhere(&program, "baywright.db");
    other.run(&["restore", copied.to_str().unwrap()]).good();
    other.run(&["verify"]).good();
    assert_eq!(count(&other, "/v1/customers"), 1);
}

#[test]
fn a_backup_of_an_older_program_is_read_from_a_copy() {
    let (fresh, program) = shop_on(Engine::Sqlite);
    let folders = concat!(env!("CARGO_MANIFEST_DIR"), "/../migrations/sqlite");
    let mut migrations: Vec<_> = read_dir(folders).unwrap().map(|entry| entry.unwrap().path()).collect();
    migrations.retain(|path| path.is_dir());
    let last = migrations.into_iter().max().unwrap();
    let down = std::fs::read_to_string(last.join("down.sql")).unwrap();
    let db = baywright_core::platform::db::Db::open(&program.database).unwrap();
    db.write(baywright_core::platform::db::Scope::Program, |conn| {
        use diesel::connection::SimpleConnection;
        let last = "DELETE FROM __diesel_schema_migrations \
                    WHERE version = (SELECT max(version) FROM __diesel_schema_migrations)";
        conn.batch_execute(&format!("{down};{last}")).map_err(baywright_core::platform::fail::Fail::unexpected)
    })
    .unwrap();
    drop(db);
    let (copied, before) = backed_up(&fresh, &program);
    program.on(&format!("sqlite:{}", copied.join("baywright.db").display()), &copied).run(&["verify"]).good();
    assert!(read(copied.join("baywright.db")).unwrap() == before);
}

#[test]
fn a_database_that_is_there_is_only_replaced_when_told_and_is_kept() {
    let (fresh, program) = shop_on(Engine::Sqlite);
    program.serve(&[]).owner().add_customer("Aoife Byrne");
    let to = folder(&fresh, "backup");
    program.run(&["backup", "--to", &to]).good();
    program.serve(&[]).owner().add_customer("Brendan Nolan");
    let refused = program.run(&["restore", &to]).bad();
    assert!(refused.contains("--overwrite"), "{refused}");
    assert_eq!(count(&program, "/v1/customers"), 2);
    {
        let _serving = program.serve(&[]);
        let busy = program.run(&["restore", &to, "--overwrite"]).bad();
        assert!(busy.contains("stop the service first"), "{busy}");
    }
    let said = program.run(&["restore", &to, "--overwrite"]).good();
    assert_eq!(count(&program, "/v1/customers"), 1);
    let kept = said.lines().find_map(|line| line.strip_prefix("The earlier database is kept as ")).unwrap();
    let kept = program.on(&format!("sqlite:{}", kept.trim_end_matches('.')), fresh.folder());
    assert_eq!(count(&kept, "/v1/customers"), 2);
    program.run(&["verify"]).good();
}

#[test]
fn a_backup_that_is_not_whole_is_not_put_back() {
    let (fresh, program) = shop_on(Engine::Sqlite);
    program
        .serve(&[])
        .owner()
        .post_file("/v1/photos", "image/jpeg", &file(&picture(80, 60), ImageFormat::Jpeg))
        .expect(201);
    let to = folder(&fresh, "backup");
    program.run(&["backup", "--to", &to]).good();
    let (place, other) = elsewhere(&program, "baywright.db");
    let database = fresh.folder().join("backup/baywright.db");
    let whole = read(&database).unwrap();
    let mut damaged = whole.clone();
    let middle = damaged.len() / 2;
    damaged[middle] ^= 1;
    write(&database, damaged).unwrap();
    assert!(other.run(&["restore", &to]).bad().contains("the backup is damaged"));
    write(&database, whole).unwrap();
    let photo = find(&fresh.folder().join("backup/photos"));
    let picture = read(&photo).unwrap();
    write(&photo, &picture[..picture.len() - 1]).unwrap();
    let told = other.run(&["restore", &to]).bad();
    assert!(told.contains("photograph") && told.contains("damaged"), "{told}");
    assert!(!place.path().join("baywright.db").exists());
    remove_file(fresh.folder().join("backup/backup.json")).unwrap();
    assert!(other.run(&["restore", &to]).bad().contains("not a finished backup"));
    let again = program.run(&["backup", "--to", &to]).bad();
    assert!(again.contains("is not empty"), "{again}");
}

/// The first file below a folder.
fn find(folder: &std::path::Path) -> PathBuf {
    let mut entries: Vec<_> = read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    entries.sort();
    let first = entries.remove(0);
    if first.is_dir() { find(&first) } else { first }
}

#[test]
fn a_backup_of_a_newer_program_is_not_put_back() {
    let (fresh, program) = shop_on(Engine::Sqlite);
    let db = baywright_core::platform::db::Db::open(&program.database).unwrap();
    db.write(baywright_core::platform::db::Scope::Program, |conn| {
        use diesel::connection::SimpleConnection;
        let newer = "INSERT INTO __diesel_schema_migrations (version) VALUES ('29991231')";
        conn.batch_execute(newer).map_err(baywright_core::platform::fail::Fail::unexpected)
    })
    .unwrap();
    drop(db);
    let to = folder(&fresh, "backup");
    let told = program.run(&["backup", "--to", &to]).bad();
    assert!(told.contains("newer program"), "{told}");
}

#[test]
fn nothing_is_made_where_there_is_no_database() {
    let (_fresh, program) = shop_on(Engine::Sqlite);
    let (place, other) = elsewhere(&program, "none.db");
    let told = other.run(&["backup", "--to", place.path().join("b").to_str().unwrap()]).bad();
    assert!(told.contains("there is no database at"), "{told}");
    assert_eq!(read_dir(place.path()).unwrap().count(), 0);
}
