//! Making an invoice from what was agreed.

use baywright_domain::document::{Document, LineTotal, Totals};
use baywright_domain::id::{CustomerId, InvoiceId, QuoteId};
use serde_json::json;

use super::{Invoice, show};
use crate::customer;
use crate::invoice::kept::{
    FORM, InvoiceAllowance, InvoiceBuyer, InvoiceDocument, InvoiceLine, InvoiceSeller, InvoiceTotals,
};
use crate::invoice::store;
use crate::platform::fail::{Done, Fail};
use crate::platform::kept::{Amount, Number, Word};
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::{ids, record};

/// Content of an invoice.
#[derive(Debug, Clone)]
pub struct Source {
    /// Id of the customer.
    pub customer: CustomerId,
    /// The signed quote, with its number.
    pub quote: Option<(QuoteId, String)>,
    /// The vehicle in words.
    pub vehicle: Option<String>,
    /// Kind of each line, in the order of the document's lines.
    pub lines: Vec<SourceLine>,
    /// The agreed document.
    pub document: Document,
    /// The customer's purchase-order number.
    pub purchase_order: Option<String>,
    /// Remarks of the studio.
    pub note: String,
}

/// Details of a line besides its amounts.
#[derive(Debug, Clone)]
pub struct SourceLine {
    /// Its name.
    pub name: String,
    /// Number of the quote or variation in which it was agreed.
    pub origin: String,
    /// Reason why no tax is charged, if the category asks for a reason.
    pub tax_reason: Option<String>,
}

/// Stores a draft.
pub fn draft(tx: &mut Tx<'_>, source: &Source) -> Done<Invoice> {
    let id: InvoiceId = ids::new();
    let (document, totals) = written(tx, source)?;
    let text = serde_json::to_string(&document).map_err(Fail::unexpected)?;
    store::insert(tx, &id, source, &document.buyer.name, &totals, &text).map_err(|error| {
        if error.is_taken() {
            Refused::conflict(
                "invoiced-already",
                "This quote already has an invoice. Credit it before you write another.",
            )
            .into()
        } else {
            Fail::from(error)
        }
    })?;
    let quote = source.quote.as_ref().map(|(quote, _)| quote.to_string());
    record::write(tx, "invoice.drafted", ("invoice", id.as_str()), json!({ "quote": quote }))?;
    show(tx, &id)
}

/// Writes a draft again from what is signed now.
pub(super) fn rewrite(tx: &mut Tx<'_>, invoice: &Invoice, source: &Source) -> Done<()> {
    let (document, totals) = written(tx, source)?;
    let text = serde_json::to_string(&document).map_err(Fail::unexpected)?;
    store::rewrite(tx, invoice, &document.buyer.name, &totals, &text)?;
    Ok(())
}

/// The document of a draft, and its totals.
pub(super) fn written(tx: &mut Tx<'_>, source: &Source) -> Done<(InvoiceDocument, Totals)> {
    let totals = source.document.totals()?;
    let document = &source.document;
    let currency = document.currency;
    let lines = source.lines.iter().zip(&document.lines).zip(&totals.lines);
    let lines = lines.map(|((named, line), total)| written_line(document, named, line, total));
    let allowances = totals.allowance_items.iter().map(|item| InvoiceAllowance::of(item, currency));
    let written = InvoiceDocument {
        form: FORM,
        number: None,
        issued_on: None,
        due_on: None,
        tax_point: None,
        payment_reference: None,
        seller: seller(tx)?,
        buyer: buyer(tx, &source.customer)?,
        quote_number: source.quote.as_ref().map(|(_, number)| number.clone()),
        vehicle: source.vehicle.clone(),
        purchase_order: source.purchase_order.clone(),
        prices: Word(document.prices),
        tax_basis: Word(document.profile.basis),
        tax_rounding: Word(document.profile.rounding),
        lines: lines.collect::<Done<_>>()?,
        allowances: allowances.collect(),
        totals: InvoiceTotals::of(&totals, currency),
        note: source.note.clone(),
    };
    Ok((written, totals))
}

fn written_line(
    document: &Document,
    named: &SourceLine,
    line: &baywright_domain::document::Line,
    total: &LineTotal,
) -> Done<InvoiceLine> {
    let plain = line.allowance.is_zero() && line.charge.is_zero() && line.base_quantity == 1.into();
    if !plain {
        return Err(Fail::unexpected("a line with an allowance, a charge or a base quantity was agreed"));
    }
    let amount = |money| Amount::of(money, document.currency);
    Ok(InvoiceLine {
        name: named.name.clone(),
        origin: named.origin.clone(),
        quantity: Number(line.quantity),
        unit_price: Number(line.price),
        discount: amount(total.discount),
        discount_reason: line.discount.as_ref().map(|discount| discount.reason.clone()),
        amount: amount(total.entered),
        net: amount(total.net),
        tax_category: line.treatment.category().code().to_owned(),
        tax_rate: Number(line.treatment.rate().decimal()),
        tax_reason: named.tax_reason.clone(),
    })
}

/// The shop in its current state.
pub(super) fn seller(tx: &mut Tx<'_>) -> Done<InvoiceSeller> {
    let profile = crate::shop::usecase::settings(tx)?.profile;
    Ok(InvoiceSeller {
        name: profile.name,
        legal_name: profile.legal_name,
        address: profile.address.lines(),
        country: profile.address.country.map(|country| country.code().to_owned()),
        email: profile.email,
        phone: profile.phone,
        vat_id: profile.vat_id,
        company_number: profile.company_number,
        iban: profile.iban,
    })
}

/// The customer in its current state.
pub(super) fn buyer(tx: &mut Tx<'_>, id: &CustomerId) -> Done<InvoiceBuyer> {
    let customer = customer::usecase::standing(tx, id)?;
    let email = customer.email().map(str::to_owned);
    let details = customer.details;
    let (mut lines, mut country) = (Vec::new(), None);
    if let Some(address) = details.address {
        lines = address.lines;
        lines.push(address.postcode.into_iter().chain([address.city]).collect::<Vec<_>>().join(" "));
        lines.extend(address.region);
        country = Some(address.country.code().to_owned());
    }
    Ok(InvoiceBuyer {
        id: id.to_string(),
        kind: Word(details.kind),
        name: details.name,
        address: lines,
        country,
        email,
        vat_id: details.vat_id.map(|vat_id| vat_id.to_string()),
    })
}
