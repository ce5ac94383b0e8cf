//! The database: one type for two engines.
//!
//! [`Db::read`] and [`Db::write`] are the only ways in, and `write` is the only transaction. On SQLite it is `BEGIN
//! IMMEDIATE` on the one writer connection, for which others queue; readers have a pool of their own. On PostgreSQL it
//! is `SERIALIZABLE`, behind a lock that lets one write of a shop run at a time over all replicas. Every wait there has
//! a limit: `dialect` says how long, and what happens to a replica that hangs.
//!
//! Three properties of the engines and of diesel shape the queries:
//!
//! - `.first()` and `.limit()` bind their number, and SQLite plans such a statement again each time a number is bound
//!   unless it was built with `SQLITE_ENABLE_QPSG`; `.cargo/config.toml` sets that. Statements with a list in a filter
//!   (`eq_any`, `ne_all`) are never kept prepared by diesel.
//! - For `starts < ?` and `finishes > ?` together, SQLite uses an index for only one of the two, and so reads the whole
//!   past or the whole future. Overlaps are therefore queried as in `api/core/src/booking/store/placement.rs`.
//! - What truly differs between the engines is in `dialect.rs`, and nowhere else.

mod column;
mod conn;
mod count;
mod dialect;
pub mod dump;
mod migrate;
mod not_opened;
mod open;
mod pools;
pub mod redirect;
mod row;
mod shop_filter;
pub mod snapshot;
mod table;
pub mod transfer;
mod turns;
mod watch;
mod write;

pub use column::Column;
pub use conn::{Conn, MultiBackend};
pub use count::count;
pub(crate) use dialect::{ROWS_AT_ONCE, each_engine, insert_rows};
pub use not_opened::{NotOpened, is_only_readable};
pub use open::{Db, embedded_file, known};
pub use row::RowId;
pub(crate) use row::columns;
pub(crate) use shop_filter::{of_shop, rows_of_shop};
pub use watch::Watch;
pub use write::Scope;
pub(in crate::platform) use write::{begin_part, end_part};
