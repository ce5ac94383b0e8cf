//! Sign-ins.

use baywright_domain::id::{PersonId, SessionId};

use crate::people::store;
use crate::platform::fail::Done;
use crate::platform::ids;
use crate::platform::tx::Tx;

/// How long a sign-in lasts at most, in days, however often it is refreshed.
pub const SESSION_DAYS: i64 = 30;

/// Opens a sign-in for a person; gives its id.
pub fn open_session(tx: &mut Tx<'_>, person: &PersonId) -> Done<SessionId> {
    let id: SessionId = ids::new();
    store::session::insert(tx, &id, person, tx.now.plus_minutes(SESSION_DAYS * 24 * 60))?;
    Ok(id)
}
