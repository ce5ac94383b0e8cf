//! Counts the rows of a query.
//!
//! A list is counted only if the client asks for it with `Prefer: return=total-count`, because a count reads every row
//! while a page need not. One statement around the list's own query counts, in the transaction that reads the page.

use diesel::prelude::*;
use diesel::query_builder::{AstPass, Query, QueryFragment, QueryId};
use diesel::sql_types::BigInt;

use super::conn::{Conn, MultiBackend};
use crate::platform::fail::Stored;

/// `SELECT COUNT(*)` over another query, which it borrows: a boxed query can be neither copied nor turned into its own
/// count.
#[derive(Debug)]
struct Count<'q, Q>(&'q Q);

impl<Q: QueryFragment<MultiBackend>> QueryFragment<MultiBackend> for Count<'_, Q> {
    fn walk_ast<'b>(&'b self, mut out: AstPass<'_, 'b, MultiBackend>) -> QueryResult<()> {
        out.push_sql("SELECT COUNT(*) FROM (");
        self.0.walk_ast(out.reborrow())?;
        out.push_sql(") AS counted");
        Ok(())
    }
}

impl<Q> QueryId for Count<'_, Q> {
    type QueryId = ();
    // The inner query is put together at run time, so the type does not determine the text.
    const HAS_STATIC_QUERY_ID: bool = false;
}

impl<Q> Query for Count<'_, Q> {
    type SqlType = BigInt;
}

impl<Q> RunQueryDsl<Conn> for Count<'_, Q> {}

/// Counts the rows of a query, in the transaction that is open.
pub fn count<Q: QueryFragment<MultiBackend>>(query: &Q, conn: &mut Conn) -> Stored<i64> {
    Ok(Count(query).get_result(conn)?)
}
