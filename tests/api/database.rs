//! What trouble inside the database's connections leaves behind.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use baywright_core::platform::db::Scope;
use baywright_core::platform::fail::{DbError, Fail};
use baywright_tests::engine::Engine;
use baywright_tests::{Studio, on_each_engine};
use diesel::RunQueryDsl;
use serde_json::json;

#[test]
fn a_panic_inside_a_transaction_costs_no_connection() {
    on_each_engine(|studio| {
        for _ in 0..12 {
            let read = || studio.db.read(|_| -> Result<(), Fail> { panic!("on purpose") });
            assert!(catch_unwind(AssertUnwindSafe(read)).is_err());
            let write = || studio.db.write(Scope::Program, |_| -> Result<(), Fail> { panic!("on purpose") });
            assert!(catch_unwind(AssertUnwindSafe(write)).is_err());
        }
        assert_eq!(studio.nobody().get("/readyz").status, 200);
        studio.owner().add_customer("Aoife Byrne");
    });
}

/// Ends all connections of the studio's database but one, as a server does that is stopped.
fn cut_off(studio: &Studio) {
    let others = "SELECT pg_terminate_backend(pid) FROM pg_stat_activity \
        WHERE datname = current_database() AND pid <> pg_backend_pid()";
    // The connection that asks may be one that was ended in the round before.
    let _ = studio
        .db
        .write(Scope::Program, |conn| Ok(diesel::sql_query(others).execute(conn).map(drop).map_err(DbError::from)?));
}

#[test]
fn requests_that_lose_their_database_are_told_to_come_again() {
    on_each_engine(|studio| {
        if studio.engine != Engine::Postgres {
            return;
        }
        let (owner, ended) = (studio.owner(), AtomicBool::new(false));
        let statuses: Vec<u16> = std::thread::scope(|scope| {
            let ask = |_| {
                scope.spawn(|| {
                    let mut seen = Vec::new();
                    while !ended.load(Ordering::Relaxed) {
                        seen.push(owner.get("/v1/customers").status);
                        let name: String = baywright_core::platform::ids::new();
                        seen.push(owner.post("/v1/customers", &json!({ "name": name })).status);
                    }
                    seen
                })
            };
            let asking: Vec<_> = (0..6).map(ask).collect();
            for _ in 0..20 {
                std::thread::sleep(Duration::from_millis(100));
                cut_off(studio);
            }
            ended.store(true, Ordering::Relaxed);
            asking.into_iter().flat_map(|asked| asked.join().unwrap()).collect()
        });
        assert!(statuses.iter().all(|status| [200, 201, 503].contains(status)), "{statuses:?}");
        assert!(statuses.contains(&503), "no request was cut off: {statuses:?}");
        let well = (0..20).find(|_| owner.get("/v1/customers").status == 200);
        assert!(well.is_some(), "the service did not come back");
    });
}
