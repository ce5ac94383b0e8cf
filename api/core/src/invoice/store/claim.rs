//! Rows of claims.

use baywright_domain::id::{InvoiceId, RevisionId, VariationId};
use baywright_domain::invoice::Claimed;
use diesel::prelude::*;

use crate::platform::db::{RowId, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::tx::Tx;
use crate::schema::invoice_claim;

/// Kind and id of a subject, as they are stored.
fn stored(what: &Claimed) -> (&'static str, &str) {
    match what {
        Claimed::Revision(id) => ("REVISION", id.as_str()),
        Claimed::Variation(id) => ("VARIATION", id.as_str()),
        Claimed::Deposit(id) => ("DEPOSIT", id.as_str()),
    }
}

pub(in crate::invoice) fn claim(tx: &mut Tx<'_>, invoice: &InvoiceId, what: &Claimed) -> Stored<()> {
    let (kind, id) = stored(what);
    diesel::insert_into(invoice_claim::table)
        .values((
            invoice_claim::shop_id.eq(tx.studio.id.as_str()),
            invoice_claim::subject_kind.eq(kind),
            invoice_claim::subject_id.eq(id),
            invoice_claim::invoice_id.eq(invoice.as_str()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

/// The invoice that has claimed a subject.
pub(in crate::invoice) fn claimed_by(tx: &mut Tx<'_>, what: &Claimed) -> Stored<Option<InvoiceId>> {
    let (kind, id) = stored(what);
    let by: Option<String> = rows_of_shop!(invoice_claim, tx)
        .filter(invoice_claim::subject_kind.eq(kind))
        .filter(invoice_claim::subject_id.eq(id))
        .select(invoice_claim::invoice_id)
        .first(tx.conn)
        .optional()?;
    Ok(by.map(InvoiceId::new))
}

/// Everything that an invoice has claimed.
pub(in crate::invoice) fn claims_of(tx: &mut Tx<'_>, invoice: &InvoiceId) -> Stored<Vec<Claimed>> {
    let rows: Vec<(String, String)> = rows_of_shop!(invoice_claim, tx)
        .filter(invoice_claim::invoice_id.eq(invoice.as_str()))
        .order((invoice_claim::subject_kind.asc(), invoice_claim::subject_id.asc()))
        .select((invoice_claim::subject_kind, invoice_claim::subject_id))
        .load(tx.conn)?;
    let read = |(kind, id): (String, String)| match kind.as_str() {
        "REVISION" => Ok(Claimed::Revision(RevisionId::new(id))),
        "VARIATION" => Ok(Claimed::Variation(VariationId::new(id))),
        "DEPOSIT" => Ok(Claimed::Deposit(InvoiceId::new(id))),
        other => Err(RowId::of("invoice_claim", &id).corrupt("subject_kind", format!("{other:?} is no subject"))),
    };
    rows.into_iter().map(read).collect()
}

/// Releases all claims of an invoice.
pub(in crate::invoice) fn release(tx: &mut Tx<'_>, invoice: &InvoiceId) -> Stored<()> {
    diesel::delete(rows_of_shop!(invoice_claim, tx).filter(invoice_claim::invoice_id.eq(invoice.as_str())))
        .execute(tx.conn)?;
    Ok(())
}
