//! Whether customers may choose a free time by themselves.

use baywright_domain::stay::{MOST_NOTICE_HOURS, SelfBooking};
use serde_json::json;

use crate::platform::clock::UtcTime;
use crate::platform::fail::Done;
use crate::platform::record;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::version::Seen;
use crate::shop::store;

/// The setting as it is stored.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SelfBookingKept {
    /// The setting.
    pub setting: SelfBooking,
    /// Version, which every change raises by one.
    pub version: i64,
    /// Time when it last changed.
    pub updated_at: UtcTime,
}

/// Whether customers may book themselves.
pub fn self_booking(tx: &mut Tx<'_>) -> Done<SelfBookingKept> {
    Ok(store::self_booking::find(tx)?)
}

/// Changes whether customers may book themselves.
///
/// # Errors
/// `Invalid` for more hours of notice than can be asked for.
pub fn replace_self_booking(tx: &mut Tx<'_>, seen: Seen, setting: SelfBooking) -> Done<SelfBookingKept> {
    let before = store::self_booking::find(tx)?;
    seen.check(before.version)?;
    if setting.notice_hours > MOST_NOTICE_HOURS {
        let detail = format!("Write at most {MOST_NOTICE_HOURS} hours.");
        return Err(Refused::field("/notice_hours", "out_of_range", detail).into());
    }
    store::self_booking::update(tx, setting, before.version + 1)?;
    let shop = tx.studio.id.to_string();
    record::write(tx, "self-booking.changed", ("shop", &shop), json!({ "allowed": setting.allowed }))?;
    self_booking(tx)
}
