//! Rows of the shop and its settings.

pub(super) mod bay;
pub(super) mod hours;
pub(super) mod money;
pub(super) mod profile;
pub(super) mod rates;
pub(super) mod self_booking;
pub(super) mod tax;
pub(super) mod terms;

/// A stored text that may be empty.
fn some(text: String) -> Option<String> {
    (!text.is_empty()).then_some(text)
}
