//! What the database itself holds: both engines the same, and every row a shop's.

use baywright_tests::engine::{Engine, Fresh, server};

use crate::shape::{Shape, of};

/// Tables of the program as a whole: the shops themselves and the keys that all shops' tokens are signed with.
const OF_NO_SHOP: &[&str] = &["setup_code", "shop", "sign_in_attempt", "signing_key"];

fn sqlite() -> Shape {
    of(Engine::Sqlite, &Fresh::of(Engine::Sqlite))
}

#[test]
fn both_engines_have_the_same_keys_references_and_indexes() {
    if server().is_none() {
        return;
    }
    let postgres = of(Engine::Postgres, &Fresh::of(Engine::Postgres));
    for (name, table) in sqlite() {
        let other = &postgres[&name];
        assert_eq!(table.key, other.key, "{name}");
        assert_eq!(table.refers, other.refers, "{name}");
        assert_eq!(table.indexes, other.indexes, "{name}: SQLite left, PostgreSQL right");
    }
}

#[test]
fn every_row_belongs_to_a_shop() {
    for (name, table) in sqlite() {
        let shop = table.columns.get("shop_id");
        if OF_NO_SHOP.contains(&name.as_str()) {
            assert!(shop.is_none(), "{name} has a shop after all");
        } else {
            assert_eq!(shop.map(|(_, open)| *open), Some(false), "{name}.shop_id must be there and never null");
            let named = table.refers.iter().any(|(own, target, _)| own.as_slice() == ["shop_id"] && target == "shop")
                || table.refers.iter().any(|(own, _, _)| own.contains(&"shop_id".to_owned()));
            assert!(named, "{name} does not refer to its shop");
        }
    }
}

#[test]
fn no_record_can_refer_to_another_shops() {
    for (name, table) in sqlite() {
        for (own, target, theirs) in &table.refers {
            if OF_NO_SHOP.contains(&target.as_str()) {
                continue;
            }
            let at = own.iter().position(|column| column == "shop_id");
            assert!(
                at.is_some_and(|at| theirs[at] == "shop_id"),
                "{name} refers to {target} by {own:?}: by shop_id as well, so that it can't be another shop's"
            );
        }
    }
}
