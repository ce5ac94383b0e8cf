//! Whether somebody was erased before, recognised by a digest of their email address or telephone number.
//!
//! Importing an old list again would bring back people who asked to be erased. So a digest of each of their email
//! addresses and numbers is stored, HMAC-SHA-256 with a secret of the shop's own that no export contains. Somebody who
//! has only the digests learns nothing; somebody who has the whole database could try out numbers, so a digest has no
//! other use and is deleted at the latest when the shop no longer keeps tax records (Regulation (EU) 2016/679, articles
//! 5(1)(c) and 17(3); that a digest may be kept to honour an erasure is common practice, no source).

use baywright_domain::customer::Traits;
use baywright_domain::search::fold;
use hmac::{Hmac, KeyInit, Mac};
use sha2::Sha256;

use crate::customer::store::erased as store;
use crate::platform::canonical::hex;
use crate::platform::fail::{Done, Fail};
use crate::platform::tx::Tx;
use crate::shop;

/// Length of a shop's secret, in bytes.
const SECRET: usize = 32;

/// Stores digests that recognise an erased person by their contact details.
pub(super) fn remember(tx: &mut Tx<'_>, traits: &Traits) -> Done<()> {
    let said = texts(traits);
    if said.is_empty() {
        return Ok(());
    }
    let secret = if let Some(secret) = store::secret(tx)? {
        secret
    } else {
        let mut bytes = [0_u8; SECRET];
        getrandom::fill(&mut bytes).map_err(Fail::unexpected)?;
        let secret = hex(&bytes);
        store::insert_secret(tx, &secret)?;
        secret
    };
    for text in said {
        let digest = digest(&secret, &text)?;
        store::keep(tx, &digest)?;
    }
    Ok(())
}

/// Whether a person with these contact details was erased.
pub fn was_erased(tx: &mut Tx<'_>, traits: &Traits) -> Done<bool> {
    let said = texts(traits);
    let Some(secret) = store::secret(tx)?.filter(|_| !said.is_empty()) else { return Ok(false) };
    let digests: Vec<String> = said.iter().map(|text| digest(&secret, text)).collect::<Done<_>>()?;
    Ok(store::is_kept(tx, &digests)?)
}

/// Drops the digests of those who were erased longer ago than the shop keeps tax records.
pub fn forget_erased(tx: &mut Tx<'_>) -> Done<()> {
    let years = shop::usecase::settings(tx)?.terms.keep_years;
    let limit = tx.now.plus_minutes(-i64::from(years) * 366 * 24 * 60);
    Ok(store::drop_before(tx, limit.ms())?)
}

fn texts(traits: &Traits) -> Vec<String> {
    let mails = traits.emails.iter().map(|mail| format!("mail:{}", fold(mail)));
    mails.chain(traits.phones.iter().map(|key| format!("phone:{key}"))).collect()
}

fn digest(secret: &str, text: &str) -> Done<String> {
    let mut mac = Hmac::<Sha256>::new_from_slice(secret.as_bytes()).map_err(Fail::unexpected)?;
    mac.update(text.as_bytes());
    Ok(hex(mac.finalize().into_bytes().as_slice()))
}
