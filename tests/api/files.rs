//! The files of photographs: none is lost, and none stays that nothing names.

use std::fs::{File, create_dir_all, read_dir, write};
use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime};

use baywright_tests::make::customer;
use baywright_tests::make::inspection;
use baywright_tests::make::media::jpeg;
use baywright_tests::make::quote::id;
use baywright_tests::person::Person;
use baywright_tests::{Studio, on_each_engine};
use serde_json::{Value, json};

fn walk(folder: &Path) -> Vec<PathBuf> {
    let Ok(entries) = read_dir(folder) else { return Vec::new() };
    let each = entries.map(|entry| entry.unwrap().path());
    each.flat_map(|path| if path.is_dir() { walk(&path) } else { vec![path] }).collect()
}

fn files(studio: &Studio) -> Vec<PathBuf> {
    walk(&studio.folder().join("photos"))
}

fn upload(person: &Person, key: &str, file: &[u8]) -> baywright_tests::answer::Answer {
    let headers = [("content-type", "image/jpeg"), ("idempotency-key", key)];
    person.send("POST", "/v1/photos", &headers, Some(file.to_vec()))
}

/// A customer whose inspected car has that photograph; gives the customer's id.
fn customer_with(owner: &Person, photo: &Value) -> String {
    let customer = id(&owner.post("/v1/customers?confirm=known-customer", &customer::body("Aoife Byrne")).expect(201));
    let vehicle = id(&owner.add_vehicle(&customer, "231-D-10101"));
    let mut body = inspection::body(&vehicle);
    body["photo_ids"] = json!([photo["id"]]);
    owner.inspect_with(&body);
    customer
}

fn erase(owner: &Person, customer: &str) {
    let path = format!("/v1/customers/{customer}");
    let etag = owner.get(&path).etag();
    owner.json("POST", &format!("{path}/erase"), &[("if-match", &etag)], &json!({})).expect(200);
}

#[test]
fn erasing_a_customer_takes_no_file_of_another_photograph_with_the_same_picture() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let picture = jpeg(64, 48);
        let theirs = upload(&owner, "theirs", &picture).expect(201);
        let customer = customer_with(&owner, &theirs);
        // Another one is taken in while the erasure is under way.
        let lost: usize = std::thread::scope(|scope| {
            let uploads: Vec<_> = (0..4)
                .map(|thread| {
                    let (owner, picture) = (owner.clone(), &picture);
                    scope.spawn(move || {
                        let taken = (0..5).map(|turn| upload(&owner, &format!("{thread}-{turn}"), picture).expect(201));
                        taken.map(|photo| id(&photo)).collect::<Vec<_>>()
                    })
                })
                .collect();
            erase(&owner, &customer);
            let all = uploads.into_iter().flat_map(|thread| thread.join().unwrap());
            all.filter(|photo| owner.get(&format!("/v1/photos/{photo}")).status != 200).count()
        });
        assert_eq!(lost, 0);
        owner.get(&format!("/v1/photos/{}", id(&theirs))).problem(404, "not-found");
        assert_eq!(files(studio).len(), 2 * 20);
    });
}

#[test]
fn a_retry_after_an_erasure_brings_no_file_back_and_a_refused_upload_leaves_none() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let picture = jpeg(64, 48);
        let photo = upload(&owner, "once", &picture).expect(201);
        let customer = customer_with(&owner, &photo);
        erase(&owner, &customer);
        assert_eq!(files(studio), Vec::<PathBuf>::new());
        upload(&owner, "once", &picture).problem(409, "answer-erased");
        upload(&owner, "once", &jpeg(48, 64)).problem(422, "idempotency-key-reused");
        assert_eq!(files(studio), Vec::<PathBuf>::new());
        // Of those that come with one key at once all but one write files for nothing, and remove them again.
        std::thread::scope(|scope| {
            for _ in 0..4 {
                let (owner, picture) = (owner.clone(), &picture);
                scope.spawn(move || upload(&owner, "together", picture).expect(201));
            }
        });
        assert_eq!(files(studio).len(), 2);
    });
}

/// A file below the folder of the shop's photographs that was written so many hours before the studio's time.
fn leave(studio: &Studio, name: &str, hours: u64) -> PathBuf {
    let path = studio.folder().join("photos").join(studio.shop().as_str()).join("ab").join(name);
    create_dir_all(path.parent().unwrap()).unwrap();
    write(&path, b"what a killed process left").unwrap();
    let now = SystemTime::UNIX_EPOCH + Duration::from_millis(studio.clock.now().ms().unsigned_abs());
    File::options().write(true).open(&path).unwrap().set_modified(now - Duration::from_secs(hours * 3600)).unwrap();
    path
}

#[test]
fn a_file_that_no_row_names_is_swept_once_it_is_old() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let photo = owner.add_photo();
        for path in files(studio) {
            let old = SystemTime::UNIX_EPOCH + Duration::from_secs(1);
            File::options().write(true).open(path).unwrap().set_modified(old).unwrap();
        }
        let digest = "ab".repeat(32);
        let other = "0198c0de-0000-7000-8000-000000000001";
        let old = [
            leave(studio, &format!("{digest}.{other}.jpg"), 8 * 24),
            leave(studio, &format!("{digest}.jpg"), 8 * 24),
            leave(studio, "0198c0de.part", 25),
        ];
        let young = [
            leave(studio, &format!("{}.{other}.jpg", "cd".repeat(32)), 6 * 24),
            leave(studio, "0198c0df.part", 20),
            leave(studio, "a note of the owner's.txt", 100 * 24),
        ];
        // A database that a restore replaced may still want its photographs.
        let kept = studio.folder().join("shop.db.before-2026-03-01T08-00-00Z");
        write(&kept, b"").unwrap();
        studio.tick();
        assert_eq!(old.iter().all(|path| path.exists()), studio.db.is_sqlite());
        std::fs::remove_file(kept).unwrap();
        studio.pass_minutes(59);
        studio.tick();
        studio.pass_minutes(2);
        studio.tick();
        assert!(old.iter().all(|path| !path.exists()), "{old:?}");
        assert!(young.iter().all(|path| path.exists()), "{young:?}");
        // The sign-in before is an hour old.
        let owner = studio.owner();
        for kept in [format!("/v1/photos/{}", id(&photo)), format!("/v1/photos/{}/thumbnail", id(&photo))] {
            assert_eq!(owner.get(&kept).status, 200);
        }
        assert_eq!(files(studio).len(), 2 + young.len());
    });
}

#[test]
fn photographs_of_an_earlier_program_are_read_and_go_with_the_last_that_shares_their_file() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let photos = [upload(&owner, "first", &jpeg(64, 48)), upload(&owner, "second", &jpeg(64, 48))];
        let photos = photos.map(|answer| answer.expect(201));
        // As it was: one file for each digest.
        for path in files(studio) {
            let name = path.file_name().unwrap().to_str().unwrap();
            let shared = format!("{}.jpg", name.split('.').next().unwrap());
            std::fs::rename(&path, path.with_file_name(shared)).unwrap();
        }
        assert_eq!(files(studio).len(), 2);
        let customers = [customer_with(&owner, &photos[0]), customer_with(&owner, &photos[1])];
        erase(&owner, &customers[0]);
        assert_eq!(owner.get(&format!("/v1/photos/{}", id(&photos[1]))).status, 200);
        studio.tick();
        assert_eq!(files(studio).len(), 2);
        erase(&owner, &customers[1]);
        assert_eq!(files(studio), Vec::<PathBuf>::new());
    });
}
