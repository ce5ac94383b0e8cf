//! Holds that have run out.

use serde_json::json;

use super::store::{self, Change};
use crate::platform::fail::Done;
use crate::platform::record;
use crate::platform::tx::Tx;

/// Ends the shop's holds that have run out, so that their time is free in the database too. Every answer already counts
/// them as ended.
pub fn end_lapsed(tx: &mut Tx<'_>) -> Done<()> {
    for (booking, until) in store::lapsed(tx)? {
        let state = booking.state.lapse(tx.now.datetime(), until.datetime())?;
        let change = Change { state, hold_until: None, ended_at: Some(until), ..Change::of(&booking) };
        store::set(tx, &booking, &change)?;
        store::release(tx, &booking.id)?;
        record::write(tx, "booking.lapsed", ("booking", booking.id.as_str()), json!({}))?;
    }
    Ok(())
}
