//! What a database looks like, in words that both engines share.

use std::collections::{BTreeMap, BTreeSet};

use baywright_tests::engine::{Engine, Fresh};

/// Tables by name.
pub type Shape = BTreeMap<String, Table>;

/// One table.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Table {
    /// Type and whether null may stand there, by column.
    pub columns: BTreeMap<String, (String, bool)>,
    /// The primary key, in order.
    pub key: Vec<String>,
    /// What it refers to: own columns, table, its columns.
    pub refers: BTreeSet<(Vec<String>, String, Vec<String>)>,
    /// Indexes: columns in order (`?` for an expression), unique, partial.
    pub indexes: BTreeSet<(Vec<String>, bool, bool)>,
}

/// The shape of a database of that engine.
pub fn of(engine: Engine, fresh: &Fresh) -> Shape {
    match engine {
        Engine::Sqlite => crate::sqlite::shape(fresh.address.trim_start_matches("sqlite:")),
        Engine::Postgres => crate::postgres::shape(&fresh.address),
    }
}

/// `a,b` as a list.
pub fn list(text: &str) -> Vec<String> {
    text.split(',').map(str::to_owned).collect()
}
