//! Our own column types, written once for both engines.

use diesel::backend::Backend;
use diesel::deserialize::{self, FromSql, FromSqlRow};
use diesel::expression::AsExpression;
use diesel::sql_types::BigInt;

use crate::platform::clock::UtcTime;

/// How a moment stands in the database: milliseconds since the epoch, which sort and subtract alike on both engines.
#[derive(Debug, Clone, Copy, PartialEq, Eq, FromSqlRow, AsExpression)]
#[diesel(sql_type = BigInt)]
pub struct StoredTime(i64);

impl<DB: Backend> FromSql<BigInt, DB> for StoredTime
where
    i64: FromSql<BigInt, DB>,
{
    fn from_sql(raw: DB::RawValue<'_>) -> deserialize::Result<Self> {
        i64::from_sql(raw).map(Self)
    }
}

impl From<StoredTime> for UtcTime {
    fn from(stored: StoredTime) -> Self {
        Self::from_ms(stored.0)
    }
}
