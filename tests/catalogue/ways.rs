//! Up, down and up again, empty and with a shop's records in it.

use baywright_core::platform::db::Db;
use baywright_tests::engine::{Engine, Fresh, engines};
use baywright_tests::on_each_engine;
use serde_json::json;

use crate::postgres::left_behind;
use crate::shape::of;

#[test]
fn the_way_down_leaves_nothing_and_the_way_up_is_the_same_again() {
    for engine in engines() {
        let fresh = Fresh::of(engine);
        let before = of(engine, &fresh);
        let db = Db::open(&fresh.address).unwrap();
        let all = db.revert_all().unwrap();
        assert!(all > 0);
        assert_eq!(of(engine, &fresh).keys().collect::<Vec<_>>(), Vec::<&String>::new(), "{engine:?}");
        if engine == Engine::Postgres {
            assert_eq!(left_behind(&fresh.address), Vec::<String>::new());
        }
        assert_eq!(db.migrate().unwrap().len(), all);
        assert_eq!(db.migrate().unwrap().len(), 0);
        assert_eq!(of(engine, &fresh), before, "{engine:?}");
        db.ensure_current().unwrap();
    }
}

#[test]
fn a_filled_database_goes_down_and_up_too() {
    on_each_engine(|studio| {
        studio.owner().post("/v1/customers", &json!({ "name": "Aoife Byrne" }));
        studio.stranger();
        let down = studio.db.revert_all().unwrap();
        assert_eq!(studio.db.migrate().unwrap().len(), down);
    });
}
