//! Terms of money: the numbers of documents, and deposits.

use baywright_domain::series::{Prefix, SeriesKind};
use serde_json::json;

use crate::platform::clock::UtcTime;
use crate::platform::fail::Done;
use crate::platform::record;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::version::Seen;
use crate::shop::settings::{MoneyTerms, Terms};
use crate::shop::store;

/// The shop's terms of money.
pub fn money_terms(tx: &mut Tx<'_>) -> Done<MoneyTerms> {
    Ok(store::money::find(tx)?.0)
}

/// The shop's terms of money, with the time of their last change.
pub fn show_money_terms(tx: &mut Tx<'_>) -> Done<(MoneyTerms, UtcTime)> {
    Ok(store::money::find(tx)?)
}

/// Replaces the terms of money; the version of `terms` is not read.
pub fn replace_money_terms(tx: &mut Tx<'_>, seen: Seen, terms: &MoneyTerms) -> Done<(MoneyTerms, UtcTime)> {
    let before = store::money::find(tx)?.0;
    seen.check(before.version)?;
    for (pointer, (kind, prefix)) in
        ["/deposit_prefix", "/credit_prefix", "/refund_prefix"].iter().zip(terms.prefixes())
    {
        take_prefix(tx, kind, prefix, pointer)?;
    }
    store::money::update(tx, &MoneyTerms { version: before.version + 1, ..terms.clone() })?;
    let shop = tx.studio.id.to_string();
    let detail = json!({
        "deposit_asked": terms.deposit_asked.as_str(),
        "deposit_called_off": terms.deposit_called_off.as_str(),
    });
    record::write(tx, "shop.money-changed", ("shop", &shop), detail)?;
    show_money_terms(tx)
}

/// Keeps the prefixes of quotes and invoices for these kinds of documents.
pub(super) fn take_prefixes(tx: &mut Tx<'_>, terms: &Terms) -> Done<()> {
    take_prefix(tx, SeriesKind::Invoice, &terms.invoice_prefix, "/terms/invoice_prefix")?;
    take_prefix(tx, SeriesKind::Quote, &terms.quote_prefix, "/terms/quote_prefix")
}

/// Keeps a prefix for one kind of document, so that no other kind ever repeats a number.
fn take_prefix(tx: &mut Tx<'_>, kind: SeriesKind, prefix: &Prefix, pointer: &str) -> Done<()> {
    let used = store::money::prefixes(tx)?;
    if let Err(taken) = prefix.check_free(&kind, &used) {
        return Err(Refused::field(pointer, "taken", format!("{taken}.")).into());
    }
    if !used.iter().any(|(_, known)| known == prefix) {
        store::money::add_prefix(tx, kind, prefix)?;
    }
    Ok(())
}
