//! The one place where a query is limited to a shop.

/// Condition that a row of a table belongs to a shop: `of_shop!(booking, tx)` for the shop of a use case,
/// `of_shop!(booking, id = shop)` for the id of a shop as text.
///
/// It is written in queries over joined tables. A query of one table begins with `rows_of_shop`.
macro_rules! of_shop {
    ($table:ident, id = $shop:expr) => {
        $table::shop_id.eq($shop)
    };
    ($table:ident, $tx:expr) => {
        $table::shop_id.eq($tx.studio.id.as_str())
    };
}
pub(crate) use of_shop;

/// Rows of a table that belong to a shop, with the same arguments as `of_shop`. Every query of one table begins with it,
/// also as the target of an update or a delete.
macro_rules! rows_of_shop {
    ($table:ident, id = $shop:expr) => {
        $table::table.filter($crate::platform::db::of_shop!($table, id = $shop))
    };
    ($table:ident, $tx:expr) => {
        $table::table.filter($crate::platform::db::of_shop!($table, $tx))
    };
}
pub(crate) use rows_of_shop;
