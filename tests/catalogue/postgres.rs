//! The catalogue of PostgreSQL, in the words of `schema.rs`.

use diesel::prelude::*;
use diesel::sql_query;
use diesel::sql_types::{Bool, Text};

use crate::shape::{Shape, list};

#[derive(QueryableByName)]
struct Column {
    #[diesel(sql_type = Text)]
    of: String,
    #[diesel(sql_type = Text)]
    name: String,
    #[diesel(sql_type = Text)]
    kind: String,
    #[diesel(sql_type = Bool)]
    open: bool,
}

#[derive(QueryableByName)]
struct Constraint {
    #[diesel(sql_type = Text)]
    of: String,
    #[diesel(sql_type = Text)]
    kind: String,
    #[diesel(sql_type = Text)]
    own: String,
    #[diesel(sql_type = Text)]
    target: String,
    #[diesel(sql_type = Text)]
    theirs: String,
}

#[derive(QueryableByName)]
struct Index {
    #[diesel(sql_type = Text)]
    of: String,
    #[diesel(sql_type = Text)]
    columns: String,
    #[diesel(sql_type = Bool)]
    only: bool,
    #[diesel(sql_type = Bool)]
    partial: bool,
}

const COLUMNS: &str = "SELECT table_name::text AS of, column_name::text AS name, udt_name::text AS kind,
    is_nullable = 'YES' AS open FROM information_schema.columns
    WHERE table_schema = 'public' AND table_name NOT LIKE '\\_\\_%'";

const CONSTRAINTS: &str = "SELECT c.conrelid::regclass::text AS of, c.contype::text AS kind,
    coalesce(c.confrelid::regclass::text, '') AS target,
    (SELECT string_agg(a.attname, ',' ORDER BY k.at) FROM unnest(c.conkey) WITH ORDINALITY k (number, at)
        JOIN pg_attribute a ON a.attrelid = c.conrelid AND a.attnum = k.number) AS own,
    coalesce((SELECT string_agg(a.attname, ',' ORDER BY k.at) FROM unnest(c.confkey) WITH ORDINALITY k (number, at)
        JOIN pg_attribute a ON a.attrelid = c.confrelid AND a.attnum = k.number), '') AS theirs
    FROM pg_constraint c JOIN pg_namespace n ON n.oid = c.connamespace
    WHERE n.nspname = 'public' AND c.contype IN ('p', 'f') AND c.conrelid::regclass::text NOT LIKE '\\_\\_%'";

/// An exclusion constraint has an index too; SQLite has triggers in its place.
const INDEXES: &str =
    "SELECT i.indrelid::regclass::text AS of, i.indisunique AS only, i.indpred IS NOT NULL AS partial,
    (SELECT string_agg(coalesce(a.attname, '?'), ',' ORDER BY k.at) FROM unnest(i.indkey) WITH ORDINALITY k (number, at)
        LEFT JOIN pg_attribute a ON a.attrelid = i.indrelid AND a.attnum = k.number) AS columns
    FROM pg_index i JOIN pg_class t ON t.oid = i.indrelid JOIN pg_namespace n ON n.oid = t.relnamespace
    WHERE n.nspname = 'public' AND NOT i.indisexclusion AND t.relname NOT LIKE '\\_\\_%'";

/// Reads the database at `address`.
pub fn shape(address: &str) -> Shape {
    let mut conn = PgConnection::establish(address).unwrap();
    let mut shape = Shape::new();
    let columns: Vec<Column> = sql_query(COLUMNS).load(&mut conn).unwrap();
    for column in columns {
        let kind = match column.kind.as_str() {
            "text" => "Text",
            "int8" => "BigInt",
            "int4" => "Integer",
            "bool" => "Bool",
            "bytea" => "Binary",
            "float8" => "Double",
            other => panic!("{}.{} is of type {other}", column.of, column.name),
        };
        shape.entry(column.of).or_default().columns.insert(column.name, (kind.to_owned(), column.open));
    }
    let constraints: Vec<Constraint> = sql_query(CONSTRAINTS).load(&mut conn).unwrap();
    for found in constraints {
        let table = shape.entry(found.of).or_default();
        if found.kind == "p" {
            table.key = list(&found.own);
        } else {
            table.refers.insert((list(&found.own), found.target, list(&found.theirs)));
        }
    }
    let indexes: Vec<Index> = sql_query(INDEXES).load(&mut conn).unwrap();
    for index in indexes {
        shape.entry(index.of).or_default().indexes.insert((list(&index.columns), index.only, index.partial));
    }
    shape
}

/// How many objects of any kind a migration left behind: tables, functions, types, sequences.
pub fn left_behind(address: &str) -> Vec<String> {
    #[derive(QueryableByName)]
    struct Left {
        #[diesel(sql_type = Text)]
        name: String,
    }
    let mut conn = PgConnection::establish(address).unwrap();
    let query = "SELECT c.relname::text AS name FROM pg_class c JOIN pg_namespace n ON n.oid = c.relnamespace
            WHERE n.nspname = 'public' AND c.relname NOT LIKE '\\_\\_%'
        UNION ALL SELECT p.proname::text FROM pg_proc p JOIN pg_namespace n ON n.oid = p.pronamespace
            LEFT JOIN pg_depend d ON d.objid = p.oid AND d.deptype = 'e' WHERE n.nspname = 'public' AND d.objid IS NULL";
    let left: Vec<Left> = sql_query(query).load(&mut conn).unwrap();
    left.into_iter().map(|left| left.name).collect()
}
