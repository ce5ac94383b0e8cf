//! Claims: what is invoiced is invoiced once.

use baywright_domain::id::InvoiceId;
use baywright_domain::invoice::{Claimed, Claims};

use crate::invoice::store;
use crate::platform::fail::Done;
use crate::platform::tx::Tx;

/// Claims all of these for an invoice.
///
/// # Errors
/// `Conflict` if another invoice has claimed one of them.
pub(super) fn claim(tx: &mut Tx<'_>, invoice: &InvoiceId, what: &[Claimed]) -> Done<()> {
    let mut claims = Claims::default();
    let mut new = Vec::new();
    for each in what {
        match store::claimed_by(tx, each)? {
            Some(by) => claims.claim(&by, std::slice::from_ref(each))?,
            None => new.push(each),
        }
    }
    claims.claim(invoice, what)?;
    for each in new {
        store::claim(tx, invoice, each)?;
    }
    Ok(())
}

/// The invoice that bills or deducts a subject.
pub fn claimed_by(tx: &mut Tx<'_>, what: &Claimed) -> Done<Option<InvoiceId>> {
    Ok(store::claimed_by(tx, what)?)
}

/// Everything that an invoice bills or deducts.
pub fn claims_of(tx: &mut Tx<'_>, invoice: &InvoiceId) -> Done<Vec<Claimed>> {
    Ok(store::claims_of(tx, invoice)?)
}

/// Releases everything that an invoice claimed, because it was credited in full.
pub fn release(tx: &mut Tx<'_>, invoice: &InvoiceId) -> Done<()> {
    Ok(store::release(tx, invoice)?)
}

/// Keeps a deposit as the price of a job that was called off: no later invoice deducts it.
///
/// # Errors
/// `Conflict` if another invoice deducts it already.
pub fn keep_deposit(tx: &mut Tx<'_>, deposit: &InvoiceId) -> Done<()> {
    claim(tx, deposit, &[Claimed::Deposit(deposit.clone())])
}
