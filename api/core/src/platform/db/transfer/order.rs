//! The tables of two databases, ordered so that referenced tables come first.

use std::collections::{BTreeMap, BTreeSet};

use diesel::sql_types::Text;
use diesel::{QueryableByName, RunQueryDsl, sql_query};

use crate::platform::db::conn::Conn;
use crate::platform::db::table::{self, Kind, Table};
use crate::platform::fail::{Done, Fail, Stored};

#[derive(QueryableByName)]
struct Reference {
    #[diesel(sql_type = Text)]
    of: String,
    #[diesel(sql_type = Text)]
    target: String,
}

const SQLITE_REFERENCES: &str = "SELECT DISTINCT t.name AS \"of\", f.\"table\" AS target \
     FROM sqlite_schema t, pragma_foreign_key_list(t.name) f WHERE t.type = 'table'";
const POSTGRES_REFERENCES: &str = "SELECT DISTINCT c.relname::text AS \"of\", r.relname::text AS target \
     FROM pg_constraint k JOIN pg_class c ON c.oid = k.conrelid JOIN pg_class r ON r.oid = k.confrelid \
     JOIN pg_namespace n ON n.oid = c.relnamespace WHERE k.contype = 'f' AND n.nspname = current_schema()";

/// Each table of `from` with that of `to`, in order.
pub(super) fn pairs(from: &mut Conn, to: &mut Conn) -> Done<Vec<(Table, Table)>> {
    let mut targets = in_order(to)?;
    let mut pairs = Vec::new();
    for source in in_order(from)? {
        let like = |target: &Table| {
            target.name == source.name && target.key == source.key && target.columns().eq(source.columns())
        };
        let Some(at) = targets.iter().position(like) else { return Err(unlike(&source)) };
        let target = targets.remove(at);
        if let Some(column) = [&source, &target].into_iter().find_map(strange) {
            return Err(Fail::unexpected(format!(
                "the column {column} of the table {} is of a type that this command can't move",
                source.name
            )));
        }
        pairs.push((source, target));
    }
    match targets.first() {
        Some(target) => Err(unlike(target)),
        None => Ok(pairs),
    }
}

/// A column of a type that has no form in JSON which both engines share.
fn strange(table: &Table) -> Option<String> {
    table.columns.iter().find(|(_, kind)| *kind == Kind::Other).map(|(name, _)| name.clone())
}

fn unlike(table: &Table) -> Fail {
    Fail::unexpected(format!("the table {} is not alike in both databases, though both are up to date", table.name))
}

/// All tables in order; of each the columns by name, so that both engines list them alike.
pub(super) fn in_order(conn: &mut Conn) -> Done<Vec<Table>> {
    let mut tables = table::all(conn)?;
    for table in &mut tables {
        table.columns.sort_by(|(a, _), (b, _)| a.cmp(b));
    }
    let names = tables.iter().map(|table| table.name.clone()).collect();
    let ordered = order(names, &references(conn)?).map_err(|circle| {
        Fail::unexpected(format!("these tables refer to each other in a circle, so that none can be first: {circle}"))
    })?;
    let place: BTreeMap<String, usize> = ordered.into_iter().zip(0..).collect();
    tables.sort_by_key(|table| place.get(&table.name).copied());
    Ok(tables)
}

/// References between tables.
fn references(conn: &mut Conn) -> Stored<BTreeSet<(String, String)>> {
    let found: Vec<Reference> = match conn {
        Conn::Sqlite(inner) => sql_query(SQLITE_REFERENCES).load(inner)?,
        Conn::Pg(inner) => sql_query(POSTGRES_REFERENCES).load(inner)?,
    };
    Ok(found.into_iter().map(|reference| (reference.of, reference.target)).collect())
}

/// The names in order, or those that can't be ordered.
fn order(mut left: BTreeSet<String>, references: &BTreeSet<(String, String)>) -> Result<Vec<String>, String> {
    let mut ordered = Vec::new();
    while !left.is_empty() {
        let waits = |name: &String| references.iter().any(|(of, target)| of == name && left.contains(target));
        let ready: Vec<String> = left.iter().filter(|name| !waits(name)).cloned().collect();
        if ready.is_empty() {
            return Err(left.into_iter().collect::<Vec<_>>().join(", "));
        }
        left.retain(|name| !ready.contains(name));
        ordered.extend(ready);
    }
    Ok(ordered)
}

#[cfg(test)]
mod tests {
    use super::order;

    fn ordered(names: &[&str], references: &[(&str, &str)]) -> Result<Vec<String>, String> {
        let names = names.iter().map(|name| (*name).to_owned()).collect();
        let references = references.iter().map(|(of, target)| ((*of).to_owned(), (*target).to_owned())).collect();
        order(names, &references)
    }

    #[test]
    fn what_others_refer_to_comes_first_and_a_circle_is_named() {
        let names = ["bay", "booking", "placement", "shop"];
        let mut references = vec![("bay", "shop"), ("booking", "shop"), ("placement", "bay"), ("placement", "booking")];
        assert_eq!(ordered(&names, &references).unwrap(), ["shop", "bay", "booking", "placement"]);
        references.push(("booking", "placement"));
        assert_eq!(ordered(&names, &references).unwrap_err(), "booking, placement");
    }
}
