//! Tablets themselves: they are added, enrolled and ended.

use baywright_domain::id::TabletId;
use serde_json::json;

use super::{IDLE, Tablet};
use crate::access::store::tablet as store;
use crate::platform::door::Door;
use crate::platform::fail::{Done, Fail};
use crate::platform::identity::Actor;
use crate::platform::refusal::{Refused, Why};
use crate::platform::token::{self, Token};
use crate::platform::tx::Tx;
use crate::platform::version::Seen;
use crate::platform::{ids, record};

/// Minutes for which the code of a new tablet can be used.
pub const CODE_MINUTES: i64 = 60;

/// Maximum number of tablets that a shop uses at once.
const MOST: usize = 50;

/// Letters of a code: none is easily taken for another one.
const LETTERS: &[u8; 32] = b"23456789ABCDEFGHJKLMNPQRSTUVWXYZ";

/// A tablet to be added.
#[derive(Debug, Clone)]
pub struct NewTablet {
    /// What people call it.
    pub name: String,
    /// Minutes without use after which a sign-in on it ends; `None` for the usual number.
    pub idle_minutes: Option<u32>,
}

/// Tablets in use, in the order in which they were added.
pub fn tablets(tx: &mut Tx<'_>) -> Done<Vec<Tablet>> {
    Ok(store::in_use(tx)?)
}

/// Adds a tablet; gives it with the code that enrols a device, which is not stored.
///
/// # Errors
/// `Invalid` for a number of minutes that is not offered, `Conflict` if the shop has too many tablets.
pub fn add(tx: &mut Tx<'_>, new: &NewTablet) -> Done<(Tablet, String)> {
    let [fewest, usual, most] = IDLE;
    let idle_minutes = new.idle_minutes.unwrap_or(usual);
    if !(fewest..=most).contains(&idle_minutes) {
        let detail = format!("Choose {fewest} to {most} minutes.");
        return Err(Refused::field("/idle_minutes", "out_of_range", detail).into());
    }
    if store::in_use(tx)?.len() >= MOST {
        let detail = format!("A shop uses at most {MOST} tablets. End one that is no longer used.");
        return Err(Refused::conflict("too-many-tablets", detail).into());
    }
    let code = new_code()?;
    let tablet = Tablet {
        id: ids::new(),
        version: 1,
        name: new.name.clone(),
        idle_minutes,
        code_ends_at: Some(tx.now.plus_minutes(CODE_MINUTES)),
        enrolled_at: None,
        ended_at: None,
        created_at: tx.now,
        updated_at: tx.now,
    };
    let minutes = i32::try_from(idle_minutes).map_err(Fail::unexpected)?;
    store::insert(tx, &tablet, minutes, &code_digest(&code))?;
    record::write(tx, "tablet.added", ("tablet", tablet.id.as_str()), json!({ "name": tablet.name }))?;
    Ok((tablet, code))
}

/// Ends a tablet: every sign-in on it ends at once, and it has to be added anew to be used again.
///
/// # Errors
/// `NotFound` if there is no such tablet, `Conflict` if it was ended before.
pub fn end(tx: &mut Tx<'_>, id: &TabletId, seen: Seen) -> Done<Tablet> {
    let before = store::find(tx, id)?.ok_or_else(|| Refused::not_found("tablet"))?;
    seen.check(before.version)?;
    if before.ended_at.is_some() {
        return Err(Refused::conflict("not-active", "This tablet was ended before. There is nothing to do.").into());
    }
    store::end(tx, &before)?;
    record::write(tx, "tablet.ended", ("tablet", id.as_str()), json!({}))?;
    Ok(store::find(tx, id)?.ok_or_else(|| Refused::not_found("tablet"))?)
}

/// Enrols the device that sends the code; gives the token for its cookie.
///
/// # Errors
/// `Invalid` if the code enrols nothing (any more), `TooOften` after many such codes from one address.
pub fn enrol(door: &Door, code: &str) -> Done<Token> {
    let digest = code_digest(code);
    let found = door.read(|conn| Ok(store::of_code(conn, &digest, door.now())?))?;
    let Some((shop, id)) = found else { return Err(unknown(door).into()) };
    let device = Token::new()?;
    let enrolled = door.in_shop(&shop, &Actor::Operator, |tx| {
        if !store::enrol(tx, &id, &digest, &device.digest())? {
            return Ok(false);
        }
        record::write(tx, "tablet.enrolled", ("tablet", id.as_str()), json!({}))?;
        Ok(true)
    })?;
    if enrolled { Ok(device) } else { Err(unknown(door).into()) }
}

/// The refusal of a code that enrols nothing; many of them from one address have to wait.
fn unknown(door: &Door) -> Refused {
    let missed = door.missed("tablet");
    if matches!(missed.why(), Why::TooOften { .. }) {
        return missed;
    }
    let detail = format!(
        "This code is wrong or no longer valid: it works once, for {CODE_MINUTES} minutes. Check it, or let the owner add the \
         tablet again."
    );
    Refused::field("/code", "unknown", detail)
}

/// A new code: 60 random bits in three groups of letters.
fn new_code() -> Done<String> {
    let bytes = ids::random::<12>().map_err(Fail::unexpected)?;
    let letters: Vec<char> = bytes.iter().map(|byte| char::from(LETTERS[usize::from(byte % 32)])).collect();
    Ok(letters.chunks(4).map(String::from_iter).collect::<Vec<_>>().join("-"))
}

/// Digest of a code as somebody types it: blanks, hyphens and small letters don't matter.
fn code_digest(code: &str) -> String {
    let letters: String = code.chars().filter(char::is_ascii_alphanumeric).collect();
    token::digest(&format!("tablet\n{}", letters.to_uppercase()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_code_is_the_same_however_it_is_typed() {
        let code = new_code().unwrap();
        assert_eq!((code.len(), code.matches('-').count()), (14, 2), "{code}");
        let typed = format!(" {} ", code.to_lowercase().replace('-', " "));
        assert_eq!(code_digest(&typed), code_digest(&code));
        assert_ne!(code_digest(&new_code().unwrap()), code_digest(&code));
    }
}
