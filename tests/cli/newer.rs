//! A database that a newer program has changed.

use baywright::platform::db::{Db, Scope};
use baywright::platform::fail::Fail;
use diesel::connection::SimpleConnection;

use crate::on_each_engine;

#[test]
fn every_command_that_opens_the_database_of_a_newer_program_refuses_and_changes_nothing() {
    on_each_engine(|fresh, program| {
        let db = Db::open(&program.database).unwrap();
        let say = |statement: &str| {
            db.write(Scope::Program, |conn| conn.batch_execute(statement).map_err(Fail::unexpected)).unwrap();
        };
        say("INSERT INTO __diesel_schema_migrations (version) VALUES ('29991231')");
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
        say("DELETE FROM __diesel_schema_migrations WHERE version = '29991231'");
        program.run(&["verify"]).good();
    });
}
