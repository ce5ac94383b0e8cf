//! Backups, restores and checks that meet something that is not whole.

use std::fs::{self, read, remove_file, write};
use std::path::{Path, PathBuf};

use baywright_tests::engine::{Engine, Fresh};
use baywright_tests::make::media::jpeg;
use baywright_tests::program::Program;
use serde_json::Value;

use crate::{on_each_engine, shop_on};

/// A shop with a customer and a photograph, and the folder of a backup of it.
fn backed_up() -> (Fresh, Program, String) {
    let (fresh, program) = shop_on(Engine::Sqlite);
    let serving = program.serve(&[]);
    serving.owner().add_customer("Aoife Byrne");
    serving.owner().add_photo();
    drop(serving);
    let to = fresh.folder().join("backup").to_str().unwrap().to_owned();
    program.run(&["backup", "--to", &to]).good();
    (fresh, program, to)
}

fn database(program: &Program) -> PathBuf {
    PathBuf::from(program.database.strip_prefix("sqlite:").unwrap())
}

fn photos(folder: &Path) -> Vec<PathBuf> {
    let Ok(entries) = fs::read_dir(folder) else { return Vec::new() };
    let mut found: Vec<PathBuf> = entries
        .map(|entry| entry.unwrap().path())
        .flat_map(|path| if path.is_dir() { photos(&path) } else { vec![path] })
        .collect();
    found.sort();
    found
}

fn names(program: &Program) -> Vec<String> {
    let list = program.serve(&[]).owner().get("/v1/customers").expect(200);
    list["items"].as_array().unwrap().iter().map(|one| one["name"].as_str().unwrap().to_owned()).collect()
}

#[test]
fn a_restore_that_fails_leaves_the_database_that_was_there() {
    let (fresh, program, to) = backed_up();
    program.serve(&[]).owner().add_customer("Brendan Nolan");
    let photo = photos(&fresh.folder().join("backup/photos")).remove(0);
    let whole = read(&photo).unwrap();
    write(&photo, &whole[..whole.len() - 1]).unwrap();
    let told = program.run(&["restore", &to, "--overwrite"]).bad();
    assert!(told.contains("is damaged"), "{told}");
    assert_eq!(names(&program).len(), 2);
    remove_file(&photo).unwrap();
    let told = program.run(&["restore", &to, "--overwrite"]).bad();
    assert!(told.contains("incomplete"), "{told}");
    assert_eq!(names(&program).len(), 2);
    assert!(!fresh.folder().join("shop.db.part").exists() && !fresh.folder().join("baywright.db.part").exists());
    write(&photo, whole).unwrap();
    program.run(&["restore", &to, "--overwrite"]).good();
    assert_eq!(names(&program), ["Aoife Byrne"]);
    program.run(&["verify"]).good();
}

#[test]
fn what_a_lost_database_left_behind_is_put_aside_and_not_played_into_the_new_one() {
    let (fresh, program, to) = backed_up();
    // A service that was killed leaves its log of writes; the file itself is lost.
    let mut serving = program.serve(&[]);
    for _ in 0..20 {
        serving.owner().add_customer("Brendan Nolan");
    }
    serving.kill();
    let file = database(&program);
    let log = file.with_file_name("shop.db-wal");
    assert!(fs::metadata(&log).unwrap().len() > 0);
    remove_file(&file).unwrap();
    let said = program.run(&["restore", &to]).good();
    assert!(said.contains("What was left of an earlier database is kept as"), "{said}");
    assert!(!log.exists());
    program.run(&["verify"]).good();
    assert_eq!(names(&program), ["Aoife Byrne"]);
    let kept = fs::read_dir(fresh.folder()).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap());
    assert!(kept.filter(|name| name.starts_with("shop.db.before-")).count() >= 1);
}

#[test]
fn a_photograph_that_is_damaged_where_it_belongs_is_mended_by_a_restore() {
    let (fresh, program, to) = backed_up();
    let live = photos(&fresh.folder().join("photos")).remove(0);
    write(&live, b"not the picture").unwrap();
    program.run(&["verify"]).bad();
    program.run(&["restore", &to, "--overwrite"]).good();
    program.run(&["verify"]).good();
}

#[test]
fn verify_names_photographs_that_are_missing_or_damaged() {
    on_each_engine(|fresh, program| {
        let serving = program.serve(&[]);
        let owner = serving.owner();
        let ids: Vec<String> = (0..3)
            .map(|size| {
                let made: Value = owner.post_file("/v1/photos", "image/jpeg", &jpeg(64 + size, 48)).expect(201);
                made["id"].as_str().unwrap().to_owned()
            })
            .collect();
        let said = program.run(&["verify"]).good();
        assert!(said.contains("3 photographs") && said.contains("every photograph is there"), "{said}");
        let of = |id: &String| -> Vec<PathBuf> {
            photos(&fresh.folder().join("photos"))
                .into_iter()
                .filter(|path| path.to_str().unwrap().contains(id))
                .collect()
        };
        remove_file(&of(&ids[0])[0]).unwrap();
        write(&of(&ids[1])[1], b"not the picture").unwrap();
        let ran = program.run(&["verify"]);
        assert!(!ran.ok);
        assert!(ran.out.contains(&format!("photograph {}: its file is missing", ids[0])), "{}", ran.out);
        assert!(ran.out.contains(&format!("photograph {}: its file is damaged", ids[1])), "{}", ran.out);
        assert!(!ran.out.contains(&ids[2]) && ran.err.contains("faults found: 2"), "{} {}", ran.out, ran.err);
    });
}

#[test]
fn a_backup_of_a_studio_that_lost_a_photograph_is_made_and_says_so() {
    let (fresh, program, _) = backed_up();
    program.serve(&[]).owner().post_file("/v1/photos", "image/jpeg", &jpeg(80, 60)).expect(201);
    let lost = photos(&fresh.folder().join("photos")).remove(0);
    write(&lost, b"not the picture").unwrap();
    let to = fresh.folder().join("second").to_str().unwrap().to_owned();
    let told = program.run(&["backup", "--to", &to]).bad();
    assert!(told.contains("photographs were already missing or damaged (1)"), "{told}");
    let elsewhere = tempfile::tempdir().unwrap();
    let other = program.on(&format!("sqlite:{}", elsewhere.path().join("shop.db").display()), elsewhere.path());
    other.run(&["restore", &to]).good();
    assert!(other.run(&["verify"]).bad().contains("faults found: 1"));
}
