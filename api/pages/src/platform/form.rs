//! Forms: how they are read, and how a page shows them again.
//!
//! The name of a field is its JSON pointer with dots: `owner.email` stands for `/owner/email`. So every fault of a use case
//! finds its field without a table. All faults are reported at once, in a summary with links and beside each field.
//! Everything that was typed stays, except passwords.
//!
//! Each form carries three hidden fields: a code over the sign-in, a key under which it takes effect once, and, if it
//! changes a record, the version that was seen. If somebody else has changed the record in the meantime, the page shows
//! what both have written.

mod fields;
mod page;
mod reading;
mod spelled;
mod view;
mod week;

use baywright_domain::menu::Code;

pub use fields::Fields;
pub use page::{Also, Entry, FormPage};
pub use reading::Reading;
pub use spelled::{amount, closing_minute, minute_of_day, number};
pub use view::{Choice, FaultLine, FormView, Input, Stale};
pub use week::{read_week, week_fields, week_inputs};

/// A code in words: `machine-polishing` becomes `machine polishing`.
pub fn spaced(code: &Code) -> String {
    code.as_str().replace('-', " ")
}

/// The JSON pointer of a field.
pub fn pointer(field: &str) -> String {
    format!("/{}", field.replace('.', "/"))
}

/// The field that a JSON pointer leads to.
fn field_at(pointer: &str) -> String {
    pointer.trim_start_matches('/').replace('/', ".")
}
