//! A database that a newer program has changed.

use baywright_tests::engine::run_sql;
use baywright_tests::program::{EMAIL, PASSWORD};
use serde_json::json;

use crate::on_each_engine;

#[test]
fn every_command_that_opens_the_database_of_a_newer_program_refuses_and_changes_nothing() {
    on_each_engine(|fresh, program| {
        run_sql(&program.database, "INSERT INTO __diesel_schema_migrations (version) VALUES ('29991231')");
        let list = fresh.folder().join("list.csv");
        std::fs::write(&list, "name\nAoife Byrne\n").unwrap();
        let list = list.to_str().unwrap();
        let to = fresh.folder().join("export");
        for command in [
            &["serve", "--listen", "127.0.0.1:0"][..],
            &["migrate"],
            &["shop", "list"],
            &["user", "list"],
            &["keys", "list"],
            &["keys", "rotate"],
            &["import", "customers", list],
            &["export", "--to", to.to_str().unwrap()],
            &["verify"],
        ] {
            let ran = program.run(command);
            assert_eq!((ran.code, ran.out.as_str()), (Some(1), ""), "{command:?}: {}", ran.err);
            assert!(ran.err.contains("made by a newer program") && ran.err.contains("29991231"), "{}", ran.err);
        }
        assert!(!to.exists());
        run_sql(&program.database, "DELETE FROM __diesel_schema_migrations WHERE version = '29991231'");
        program.run(&["verify"]).good();
    });
}

#[test]
fn a_program_that_runs_saves_nothing_once_a_newer_one_has_changed_the_database() {
    on_each_engine(|_, program| {
        let serving = program.serve(&[]);
        let owner = serving.owner();
        owner.post("/v1/customers", &json!({ "name": "Aoife Byrne" })).expect(201);
        run_sql(&program.database, "INSERT INTO __diesel_schema_migrations (version) VALUES ('29991231')");
        let refused = owner.post("/v1/customers", &json!({ "name": "Cian Daly" })).problem(503, "unavailable");
        assert!(refused["detail"].as_str().unwrap().contains("Install the newer version"), "{refused}");
        let refused = serving.nobody().get("/readyz").problem(503, "unavailable");
        assert!(refused["detail"].as_str().unwrap().contains("Install the newer version"), "{refused}");
        let list = owner.get("/v1/customers").expect(200);
        assert_eq!(list["items"].as_array().map(Vec::len), Some(1));
        run_sql(&program.database, "DELETE FROM __diesel_schema_migrations WHERE version = '29991231'");
        owner.post("/v1/customers", &json!({ "name": "Cian Daly" })).expect(201);
    });
}

#[test]
fn a_sign_in_goes_on_by_the_same_refresh_token_while_a_newer_program_has_the_database() {
    on_each_engine(|_, program| {
        let serving = program.serve(&[]);
        let nobody = serving.nobody();
        let session = nobody.post("/v1/sessions", &json!({ "email": EMAIL, "password": PASSWORD })).expect(201);
        let token = json!({ "refresh_token": session["refresh_token"] });
        run_sql(&program.database, "INSERT INTO __diesel_schema_migrations (version) VALUES ('29991231')");
        for _ in 0..2 {
            let same = nobody.post("/v1/sessions/refresh", &token).expect(200);
            assert_eq!(same["refresh_token"], session["refresh_token"]);
            serving.with_token(same["access_token"].as_str().unwrap()).get("/v1/customers").expect(200);
        }
        nobody.post("/v1/sessions/refresh", &json!({ "refresh_token": "never given" })).problem(401, "not-signed-in");
        run_sql(&program.database, "DELETE FROM __diesel_schema_migrations WHERE version = '29991231'");
        let next = nobody.post("/v1/sessions/refresh", &token).expect(200);
        assert_ne!(next["refresh_token"], session["refresh_token"]);
    });
}
