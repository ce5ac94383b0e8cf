//! Issuing: numbering and sealing an invoice, which never changes afterwards.

use baywright_domain::customer::CustomerKind;
use baywright_domain::id::InvoiceId;
use baywright_domain::invoice::due_on;
use baywright_domain::payment::Reference;
use baywright_domain::search::Words;
use baywright_domain::series::{Prefix, Series};
use baywright_domain::tax::Parties;
use chrono::NaiveDate;
use serde_json::json;

use super::draft::{buyer, seller, written};
use super::of_quote::agreed_now;
use super::{Invoice, show};
use crate::invoice::kept::InvoiceTotals;
use crate::invoice::store::{self, Seal};
use crate::job::usecase::Billing;
use crate::platform::canonical;
use crate::platform::fail::{Done, Fail};
use crate::platform::kept::Day;
use crate::platform::record;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::version::Seen;
use crate::search::usecase::Hit;
use crate::{job, search};

/// The series' next number on that day, with the year and the counter. Two requests at once can't get the same: they
/// queue for the shop's lock, and the database refuses a number that exists.
fn next_number(tx: &mut Tx<'_>, prefix: &Prefix, day: NaiveDate) -> Done<(String, i32, i64)> {
    let series = Series::yearly(prefix);
    let year = series.counter_year(day).unwrap_or_default();
    let counter = store::last_counter(tx, prefix.as_str(), year)? + 1;
    let number = series.number(day, u64::try_from(counter).map_err(Fail::unexpected)?)?;
    Ok((number, year, counter))
}

/// Issues a draft: gives it the next number, and seals the document with the current data of seller and buyer.
///
/// # Errors
/// `Conflict` if it was issued before, if other work was signed since, or if it is under reverse charge and the
/// customer can't owe the tax.
pub fn issue(tx: &mut Tx<'_>, id: &InvoiceId, seen: Seen) -> Done<Invoice> {
    let invoice = show(tx, id)?;
    seen.check(invoice.version)?;
    let mut document = invoice.document()?;
    // The totals are computed again from the lines: either the sealed document is right, or nothing is sealed.
    let totals = document.rules(tx.studio.currency)?.totals()?;
    let account = invoice.account.issue(&totals)?;
    if InvoiceTotals::of(&totals, tx.studio.currency) != document.totals {
        return Err(Fail::unexpected(format!("the figures of invoice {id} don't follow from its lines")));
    }
    if let Some(source) = agreed_now(tx, &invoice)? {
        let (now, _) = written(tx, &source)?;
        if (&now.lines, &now.allowances, &now.totals) != (&document.lines, &document.allowances, &document.totals) {
            let detail = format!(
                "Other work was signed since this draft was written. Update the draft with PUT /v1/invoices/{id}, \
                 which takes its lines from what is signed now, then issue it."
            );
            return Err(Refused::conflict("draft-outdated", detail).into());
        }
    }
    let today = tx.today()?;
    let terms = crate::shop::usecase::settings(tx)?.terms;
    let (number, year, counter) = next_number(tx, &terms.invoice_prefix, today)?;
    let due = due_on(today, terms.payment_days);
    document.number = Some(number.clone());
    document.issued_on = Some(Day(today));
    document.tax_point = Some(Day(today));
    document.due_on = Some(Day(due));
    document.payment_reference = Some(Reference::for_number(&number)?.as_str().to_owned());
    document.seller = seller(tx)?;
    document.buyer = buyer(tx, &invoice.customer)?;
    let parties = Parties {
        buyer_is_business: document.buyer.kind.0 == CustomerKind::Trade,
        buyer_has_vat_id: document.buyer.vat_id.is_some(),
        seller_has_vat_id: document.seller.vat_id.is_some(),
    };
    parties.check(totals.taxes.iter().map(|row| row.treatment))?;
    let value = serde_json::to_value(&document).map_err(Fail::unexpected)?;
    let text = canonical::canonical(&value).map_err(Fail::unexpected)?;
    let digest = canonical::digest(&text);
    let seal = Seal {
        series: terms.invoice_prefix.as_str(),
        year,
        counter,
        number: &number,
        buyer_name: &document.buyer.name,
        issued_on: today,
        due_on: due,
        text: &text,
        digest: &digest,
    };
    store::issue(tx, &invoice, account, &seal)?;
    let detail = json!({ "number": number, "digest": digest });
    record::write(tx, "invoice.issued", ("invoice", id.as_str()), detail)?;
    let hit = Hit {
        kind: "invoice".to_owned(),
        id: id.to_string(),
        title: number.clone(),
        detail: format!("Invoice of {today} to {}", document.buyer.name),
    };
    if let Some(quote) = &invoice.quote {
        job::usecase::warn_of_billing(tx, quote, Billing::Issued)?;
    }
    search::usecase::index(tx, hit, &Words::new().number(&number))?;
    show(tx, id)
}
