//! Copies all rows of one database into an empty one, whatever the engines of both are. It serves `baywright move`.
//!
//! **One transaction of the target,** on one state of the source: either everything is moved or nothing.
//!
//! **Rows are copied as JSON** that both engines write and read themselves, a row as one line and a batch as one value
//! of one statement. So the program names no column, memory stays bounded (PostgreSQL returns its rows one by one), and
//! there is no limit on the number of values. Ids are made by the program, so there are no sequences to set afterwards.
//!
//! **Both sides are compared** by digests over the same text, in the order of the primary key, by bytes.
//!
//! **Triggers are disabled meanwhile.** They check changes, and rows of an older program may not pass them today.
//! Tables are copied in the order of their references, which never form a circle.
//!
//! **No service may write meanwhile.** That is checked by the log, which must not have grown.

mod lines;
mod order;

use diesel::connection::SimpleConnection;
use diesel::sql_types::BigInt;
use diesel::{QueryableByName, RunQueryDsl, sql_query};
use sha2::{Digest, Sha256};

use super::conn::Conn;
use super::dialect;
use super::table::{self, BOOKKEEPING, Table, quoted};
use crate::platform::canonical::hex;
use crate::platform::fail::{DbError, Done, Fail, Stored};
use lines::{Batch, Summing, each, insert};
use order::{in_order, pairs};

/// Kind of content of a database, apart from the rows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Contents {
    /// There is no table at all.
    Nothing,
    /// There are tables that the program's migrations made.
    Ours,
    /// There are tables of another program.
    Others,
}

/// Number and digest of the rows of a table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sum {
    /// The table.
    pub table: String,
    /// Number of rows it has.
    pub rows: usize,
    /// SHA-256 over them in lower-case hex.
    pub digest: String,
}

#[derive(QueryableByName)]
struct Count {
    #[diesel(sql_type = BigInt)]
    count: i64,
}

/// Content of the database.
pub fn contents(conn: &mut Conn) -> Stored<Contents> {
    let tables = table::every(conn)?;
    let migrated = tables.iter().any(|table| table.name == BOOKKEEPING);
    Ok(match (migrated, tables.len()) {
        // After all migrations were undone, only their bookkeeping remains.
        (true, 2..) => Contents::Ours,
        (false, 1..) => Contents::Others,
        _ => Contents::Nothing,
    })
}

/// Number of rows all tables have together.
pub fn rows(conn: &mut Conn) -> Stored<usize> {
    let mut rows = 0;
    for table in table::all(conn)? {
        rows += count(conn, &table.name)?;
    }
    Ok(rows)
}

/// Number of records in the logs of all shops. No use case changes anything without adding one, so two different readings
/// show that a service is running.
pub fn log_length(conn: &mut Conn) -> Stored<usize> {
    count(conn, "record")
}

fn count(conn: &mut Conn, table: &str) -> Stored<usize> {
    let query = sql_query(format!("SELECT COUNT(*) AS count FROM {}", quoted(table)));
    let found: Count = match conn {
        Conn::Sqlite(inner) => query.get_result(inner)?,
        Conn::Pg(inner) => query.get_result(inner)?,
    };
    Ok(usize::try_from(found.count).unwrap_or_default())
}

/// Copies every row of `from` to `to`, each in its open transaction; returns the digests of the rows that were read.
/// `done` is called with the number of rows that were written since its last call.
///
/// # Errors
/// If `to` already has rows, the tables of both differ, or a row can't be written. The caller rolls back.
pub fn copy(from: &mut Conn, to: &mut Conn, mut done: impl FnMut(usize)) -> Done<Vec<Sum>> {
    dialect::unhurried_here(from).map_err(DbError::from)?;
    dialect::unhurried_here(to).map_err(DbError::from)?;
    let pairs = pairs(from, to)?;
    for (_, target) in &pairs {
        if count(to, &target.name)? > 0 {
            return Err(Fail::unexpected(format!(
                "the database to move to is not empty: its table {} has rows. Name one in which nothing was written; a \
                 service that was started on it has left its keys there",
                target.name
            )));
        }
    }
    let names: Vec<&str> = pairs.iter().map(|(_, target)| target.name.as_str()).collect();
    let guards = dialect::lower_guards(to, &names).map_err(DbError::from)?;
    let mut sums = Vec::new();
    for (source, target) in &pairs {
        let sum = copy_table(from, to, source, target, &mut done);
        sums.push(sum.map_err(|error| in_table(&source.name, error))?);
    }
    for guard in guards {
        to.batch_execute(&guard).map_err(DbError::from)?;
    }
    Ok(sums)
}

fn copy_table(
    from: &mut Conn,
    to: &mut Conn,
    source: &Table,
    target: &Table,
    done: &mut impl FnMut(usize),
) -> Stored<Sum> {
    let statement = insert(to, target);
    let (mut summing, mut batch) = (Summing::default(), Batch::default());
    each(from, source, |line| {
        summing.add(line)?;
        batch.push(line);
        if batch.is_full() {
            done(batch.write(to, &statement)?);
        }
        Ok(())
    })?;
    done(batch.write(to, &statement)?);
    Ok(summing.finish(source))
}

/// Reads the copy in the transaction that is open, and compares it with the sums of the source. `done` is called with the
/// number of rows that were read since its last call.
///
/// # Errors
/// The first table whose rows differ. The caller rolls back.
pub fn compare(to: &mut Conn, sums: &[Sum], mut done: impl FnMut(usize)) -> Done<()> {
    for table in in_order(to)? {
        let mut summing = Summing::default();
        let read = each(to, &table, |line| {
            done(1);
            summing.add(line)
        });
        read.map_err(|error| in_table(&table.name, error))?;
        let found = summing.finish(&table);
        if !sums.contains(&found) {
            return Err(Fail::unexpected(format!(
                "the table {} does not hold what was read: it has {} rows with the digest {}",
                found.table, found.rows, found.digest
            )));
        }
    }
    Ok(())
}

/// One digest over the rows of all tables.
pub fn digest(sums: &[Sum]) -> String {
    let mut whole = Sha256::new();
    for sum in sums {
        whole.update(format!("{} {} {}\n", sum.table, sum.rows, sum.digest));
    }
    hex(&whole.finalize())
}

/// The failure with the table in which it happened, unless a retry may succeed.
fn in_table(table: &str, error: DbError) -> Fail {
    if error.is_retry() { error.into() } else { Fail::unexpected(format!("the table {table}: {error}")) }
}
