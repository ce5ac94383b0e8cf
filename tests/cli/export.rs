//! `baywright export`.

use std::collections::BTreeSet;
use std::fs::{read_dir, read_to_string};
use std::path::Path;

use baywright_tests::make::media::{blank_png, file, picture};
use image::ImageFormat;
use serde_json::{Value, json};

use crate::{on_each_engine, shop_on};
use baywright_tests::engine::engines;

fn lines(folder: &Path, table: &str) -> Vec<Value> {
    let text = read_to_string(folder.join("tables").join(format!("{table}.jsonl"))).unwrap();
    text.lines().map(|line| serde_json::from_str(line).unwrap()).collect()
}

#[test]
fn every_record_of_the_shop_is_written_and_no_secret() {
    on_each_engine(|fresh, program| {
        let to = fresh.folder().join("out");
        {
            let serving = program.serve(&[]);
            let owner = serving.owner();
            owner.add_customer_with_car();
            owner.post_file("/v1/photos", "image/jpeg", &file(&picture(80, 60), ImageFormat::Jpeg)).expect(201);
            owner.post_file("/v1/photos", "image/png", &blank_png(20, 20)).expect(201);
        }
        let said = program.run(&["export", "--to", to.to_str().unwrap()]).good();
        assert!(said.contains(" records and 4 photographs"), "{said}");
        assert_eq!(lines(&to, "customer")[0]["name"], "Aoife Byrne");
        assert_eq!(lines(&to, "vehicle")[0]["registration"], "231-D-10101");
        assert_eq!(lines(&to, "shop")[0]["name"], "Test Studio");
        assert_eq!(lines(&to, "person")[0]["active"], json!(1));
        assert!(read_to_string(to.join("customers.csv")).unwrap().contains("Aoife Byrne"));
        // Anyone can follow the log: each line carries the digest of the one before.
        let log = lines(&to, "record");
        assert!(log.len() >= 4);
        let mut ordered = log.clone();
        ordered.sort_by_key(|line| line["seq"].as_i64());
        for pair in ordered.windows(2) {
            assert_eq!(pair[0]["digest"], pair[1]["previous"]);
        }
        let names: BTreeSet<String> = read_dir(to.join("tables"))
            .unwrap()
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .collect();
        for secret in ["session", "refresh_token", "invite", "signing_key", "setup_code", "idempotency"] {
            assert!(!names.contains(&format!("{secret}.jsonl")), "{secret}");
        }
        for name in &names {
            let text = read_to_string(to.join("tables").join(name)).unwrap();
            assert!(!text.contains("password_hash") && !text.contains("$argon2"), "{name}");
        }
        let again = program.run(&["export", "--to", to.to_str().unwrap()]).bad();
        assert!(again.contains("is not empty"), "{again}");
    });
}

#[test]
fn both_engines_write_the_same_files() {
    let written: Vec<Vec<String>> = engines()
        .into_iter()
        .map(|engine| {
            let (fresh, program) = shop_on(engine);
            let to = fresh.folder().join("out");
            program.run(&["export", "--to", to.to_str().unwrap()]).good();
            let mut shapes: Vec<String> = Vec::new();
            for entry in read_dir(to.join("tables")).unwrap() {
                let path = entry.unwrap().path();
                let first = read_to_string(&path).unwrap().lines().next().unwrap_or_default().to_owned();
                let row: Value = serde_json::from_str(&first).unwrap_or_default();
                let kinds = row.as_object().into_iter().flatten().map(|(name, value)| match value {
                    Value::Null => format!("{name}: null"),
                    Value::Number(_) => format!("{name}: number"),
                    Value::String(_) => format!("{name}: text"),
                    other => format!("{name}: {other}"),
                });
                let kinds: Vec<String> = kinds.collect();
                shapes.push(format!("{}: {}", path.file_name().unwrap().to_string_lossy(), kinds.join(", ")));
            }
            shapes.sort();
            shapes
        })
        .collect();
    assert!(written[0].len() > 20, "{}", written[0].len());
    assert!(written.iter().all(|one| *one == written[0]), "{written:#?}");
}
