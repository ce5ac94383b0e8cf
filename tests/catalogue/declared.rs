//! `schema.rs`, read as text: its tables are types to the compiler and can't be listed.

use baywright_tests::engine::{Engine, Fresh, engines};

use crate::shape::{Shape, Table, list, of};

const SCHEMA: &str = include_str!("../../api/core/src/schema.rs");

fn declared() -> Shape {
    let mut shape = Shape::new();
    for block in SCHEMA.split("diesel::table! {").skip(1) {
        let mut lines = block.lines().map(str::trim).filter(|line| !line.is_empty() && !line.starts_with("//"));
        let head = lines.find(|line| line.ends_with('{')).unwrap();
        let (name, key) = head.trim_end_matches([' ', '{']).split_once('(').unwrap();
        let mut table = Table { key: list(&key.replace([' ', ')'], "")), ..Table::default() };
        let mut stored_name = None;
        for line in lines {
            if line == "}" {
                break;
            }
            if let Some(name) = line.strip_prefix("#[sql_name = \"") {
                stored_name = Some(name.trim_end_matches("\"]").to_owned());
                continue;
            }
            let Some((column, kind)) = line.trim_end_matches(',').split_once(" -> ") else { continue };
            let inner = kind.strip_prefix("Nullable<").and_then(|rest| rest.strip_suffix('>'));
            let column = stored_name.take().unwrap_or_else(|| column.to_owned());
            table.columns.insert(column, (inner.unwrap_or(kind).to_owned(), inner.is_some()));
        }
        shape.insert(name.trim().to_owned(), table);
    }
    shape
}

#[test]
fn both_engines_hold_the_tables_of_the_schema() {
    let declared = declared();
    assert!(declared.len() > 5, "schema.rs was not understood");
    for engine in engines() {
        let stored = of(engine, &Fresh::of(engine));
        let names = |shape: &Shape| shape.keys().cloned().collect::<Vec<_>>();
        assert_eq!(names(&stored), names(&declared), "{engine:?}");
        for (name, table) in &declared {
            let stored = &stored[name];
            assert_eq!(stored.key, table.key, "{engine:?} {name}");
            let columns = |table: &Table| table.columns.keys().cloned().collect::<Vec<_>>();
            assert_eq!(columns(stored), columns(table), "{engine:?} {name}");
            for (column, (kind, open)) in &table.columns {
                let (found, found_open) = &stored.columns[column];
                let same = found == kind || engine == Engine::Sqlite && crate::sqlite::stands_for(found, kind);
                assert!(same, "{engine:?} {name}.{column} is {found}, the schema says {kind}");
                assert_eq!(found_open, open, "{engine:?} {name}.{column}: may it be null?");
            }
        }
    }
}
