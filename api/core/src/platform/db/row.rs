//! Identity of rows, and rows whose columns are declared once.

use std::fmt::Display;

use crate::platform::fail::DbError;

/// Table and id of a row, for errors about its content.
#[derive(Debug, Clone, Copy)]
pub struct RowId<'a> {
    table: &'static str,
    id: &'a str,
}

impl<'a> RowId<'a> {
    /// The row with that id. A row without an id of its own is identified by the record that it belongs to.
    pub const fn of(table: &'static str, id: &'a str) -> Self {
        Self { table, id }
    }

    /// The error that a column of this row contains something that the program can't have written.
    pub fn corrupt(self, column: &str, why: impl Display) -> DbError {
        DbError::Corrupt(format!("{}.{column} of {}: {why}", self.table, self.id))
    }
}

/// Declares the columns of a value of the program, with reading and writing.
///
/// ```text
/// columns! {
///     /// What is known of a vehicle.
///     struct Columns in vehicle as Details {
///         make: String,
///         size = size_class: SizeClass,
///     }
/// }
/// ```
///
/// Each line names a field of the value, its column if that has another name, and the field's type, which is a
/// [`Column`](crate::platform::db::Column). The struct has diesel's derives, so that it can be selected, embedded in
/// another row, inserted and set; `of` makes it from a value, and `read` makes the value. Fields that other columns hold
/// are listed after `with` and given to `read`. `read struct` declares a row that is only read: it has a column `id`, by
/// which errors name it, and no `of`.
macro_rules! columns {
    (@name $field:ident) => { stringify!($field) };
    (@name $field:ident $column:ident) => { stringify!($column) };
    (
        $(#[$doc:meta])*
        read struct $name:ident in $table:ident as $value:ident {
            $($field:ident $(= $column:ident)?: $type:ty),+ $(,)?
        }
        $(with { $($given:ident: $given_type:ty),+ $(,)? })?
    ) => {
        $(#[$doc])*
        #[derive(diesel::Queryable, diesel::Selectable)]
        #[diesel(table_name = $table)]
        struct $name {
            $($(#[diesel(column_name = $column)])? $field: <$type as $crate::platform::db::Column>::Cell,)+
        }

        impl $name {
            /// The value of the row's cells.
            fn read(self, $($($given: $given_type),+)?) -> $crate::platform::fail::Stored<$value> {
                let id = self.id.clone();
                let row = $crate::platform::db::RowId::of(stringify!($table), &id);
                Ok($value {
                    $($field: row.read::<$type>(
                        $crate::platform::db::columns!(@name $field $($column)?),
                        self.$field,
                    )?,)+
                    $($($given,)+)?
                })
            }
        }
    };
    (
        $(#[$doc:meta])*
        $vis:vis struct $name:ident in $table:ident as $value:ident {
            $($field:ident $(= $column:ident)?: $type:ty),+ $(,)?
        }
        $(with { $($given:ident: $given_type:ty),+ $(,)? })?
    ) => {
        $(#[$doc])*
        #[derive(diesel::Queryable, diesel::Selectable, diesel::Insertable, diesel::AsChangeset)]
        #[diesel(table_name = $table, treat_none_as_null = true, treat_none_as_default_value = false)]
        $vis struct $name {
            $($(#[diesel(column_name = $column)])? $field: <$type as $crate::platform::db::Column>::Cell,)+
        }

        impl $name {
            /// The cells of a value, for the row with that id.
            $vis fn of(id: &str, value: &$value) -> $crate::platform::fail::Stored<Self> {
                let row = $crate::platform::db::RowId::of(stringify!($table), id);
                Ok(Self {
                    $($field: row.write::<$type>(
                        $crate::platform::db::columns!(@name $field $($column)?),
                        &value.$field,
                    )?,)+
                })
            }

            /// The value of the cells of the row with that id.
            $vis fn read(self, id: &str, $($($given: $given_type),+)?) -> $crate::platform::fail::Stored<$value> {
                let row = $crate::platform::db::RowId::of(stringify!($table), id);
                Ok($value {
                    $($field: row.read::<$type>(
                        $crate::platform::db::columns!(@name $field $($column)?),
                        self.$field,
                    )?,)+
                    $($($given,)+)?
                })
            }
        }
    };
}
pub(crate) use columns;
