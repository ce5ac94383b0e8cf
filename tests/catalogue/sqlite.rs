//! The catalogue of SQLite, in the words of `schema.rs`.

use diesel::prelude::*;
use diesel::sql_query;
use diesel::sql_types::{BigInt, Nullable, Text};

use crate::shape::{Shape, Table};

#[derive(QueryableByName)]
struct Name {
    #[diesel(sql_type = Text)]
    name: String,
    #[diesel(sql_type = BigInt)]
    strict: i64,
}

#[derive(QueryableByName)]
struct Column {
    #[diesel(sql_type = Text)]
    name: String,
    #[diesel(sql_type = Text)]
    kind: String,
    #[diesel(sql_type = BigInt)]
    fixed: i64,
    #[diesel(sql_type = BigInt)]
    key: i64,
}

#[derive(QueryableByName)]
struct Reference {
    #[diesel(sql_type = BigInt)]
    number: i64,
    #[diesel(sql_type = Text)]
    target: String,
    #[diesel(sql_type = Text)]
    own: String,
    #[diesel(sql_type = Nullable<Text>)]
    theirs: Option<String>,
}

#[derive(QueryableByName)]
struct Index {
    #[diesel(sql_type = Text)]
    name: String,
    #[diesel(sql_type = BigInt)]
    only: i64,
    #[diesel(sql_type = BigInt)]
    partial: i64,
    #[diesel(sql_type = Text)]
    columns: String,
}

/// The tables that a migration made.
const TABLES: &str = "SELECT name, strict FROM pragma_table_list
    WHERE schema = 'main' AND type = 'table' AND name NOT LIKE 'sqlite%' AND name NOT LIKE '\\_\\_%' ESCAPE '\\'";

/// Reads the file at `path`.
pub fn shape(path: &str) -> Shape {
    let mut conn = SqliteConnection::establish(path).unwrap();
    let names: Vec<Name> = sql_query(TABLES).load(&mut conn).unwrap();
    names
        .into_iter()
        .map(|table| {
            assert_eq!(table.strict, 1, "{} is not STRICT", table.name);
            (table.name.clone(), read(&mut conn, &table.name))
        })
        .collect()
}

fn read(conn: &mut SqliteConnection, name: &str) -> Table {
    let mut table = Table::default();
    let columns = r#"SELECT name, type AS kind, "notnull" AS fixed, pk AS "key" FROM pragma_table_info(?) ORDER BY pk"#;
    let columns: Vec<Column> = sql_query(columns).bind::<Text, _>(name).load(conn).unwrap();
    for column in columns {
        if column.key > 0 {
            table.key.push(column.name.clone());
        }
        table.columns.insert(column.name, (column.kind, column.fixed == 0));
    }
    let refers = r#"SELECT id AS number, "table" AS target, "from" AS own, "to" AS theirs
        FROM pragma_foreign_key_list(?) ORDER BY id, seq"#;
    let refers: Vec<Reference> = sql_query(refers).bind::<Text, _>(name).load(conn).unwrap();
    for chunk in refers.chunk_by(|a, b| a.number == b.number) {
        let own = chunk.iter().map(|r| r.own.clone()).collect();
        let theirs = chunk.iter().map(|r| r.theirs.clone().unwrap_or_else(|| "id".to_owned())).collect();
        table.refers.insert((own, chunk[0].target.clone(), theirs));
    }
    let indexes = r#"SELECT i.name, i."unique" AS "only", i.partial,
        (SELECT group_concat(coalesce(name, '?')) FROM (SELECT name FROM pragma_index_info(i.name) ORDER BY seqno)) AS columns
        FROM pragma_index_list(?) i"#;
    let indexes: Vec<Index> = sql_query(indexes).bind::<Text, _>(name).load(conn).unwrap();
    for index in indexes {
        assert!(!index.name.is_empty());
        table.indexes.insert((crate::shape::list(&index.columns), index.only == 1, index.partial == 1));
    }
    table
}

/// A column's SQLite type beside the type that the schema declares: SQLite has one integer type for several.
pub fn stands_for(stored: &str, declared: &str) -> bool {
    matches!(
        (stored, declared),
        ("TEXT", "Text") | ("INTEGER", "BigInt" | "Integer" | "Bool") | ("BLOB", "Binary") | ("REAL", "Double")
    )
}
