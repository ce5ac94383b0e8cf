//! Making an invoice from what was agreed.

use baywright_domain::document::{Document, LineTotal, Totals};
use baywright_domain::id::{CustomerId, InvoiceId, QuoteId};
use baywright_domain::invoice::{Claimed, InvoiceKind};
use baywright_domain::money::Percent;
use chrono::NaiveDate;
use serde_json::json;

use super::{Invoice, claim, show};
use crate::customer;
use crate::invoice::kept::{
    FORM, InvoiceAllowance, InvoiceBuyer, InvoiceDocument, InvoiceLine, InvoicePostal, InvoiceSeller, InvoiceTotals,
    PrecedingDocument,
};
use crate::invoice::store;
use crate::platform::fail::{Done, Fail};
use crate::platform::kept::{Amount, Day, Number, Word};
use crate::platform::tx::Tx;
use crate::platform::{ids, record};

/// Content of an invoice.
#[derive(Debug, Clone)]
pub struct Source {
    /// Kind of document.
    pub kind: InvoiceKind,
    /// Id of the customer.
    pub customer: CustomerId,
    /// The signed quote, with its number.
    pub quote: Option<(QuoteId, String)>,
    /// Whether the lines of the draft are those that are agreed on the quote; else they stay as they are.
    pub follows_quote: bool,
    /// What the invoice bills or deducts.
    pub claims: Vec<Claimed>,
    /// Documents that it deducts.
    pub preceding: Vec<PrecedingDocument>,
    /// Day that decides the tax, if it is known before the issue: a corrected invoice keeps that of the first one.
    pub tax_point: Option<NaiveDate>,
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
#[derive(Debug, Clone, Default)]
pub struct SourceLine {
    /// Its name.
    pub name: String,
    /// Number of the quote or variation in which it was agreed.
    pub origin: String,
    /// Reason why no tax is charged, if the category asks for a reason.
    pub tax_reason: Option<String>,
    /// Code of the tax in the shop's settings.
    pub tax_code: Option<String>,
    /// Tax rate that was agreed, if the rate on the tax point is another one.
    pub agreed_rate: Option<Percent>,
    /// Number of the deposit invoice that it deducts.
    pub deducts: Option<String>,
}

impl SourceLine {
    /// The details of a stored line.
    pub fn of(line: &InvoiceLine) -> Self {
        Self {
            name: line.name.clone(),
            origin: line.origin.clone(),
            tax_reason: line.tax_reason.clone(),
            tax_code: line.tax_code.clone(),
            agreed_rate: None,
            deducts: line.deducts.clone(),
        }
    }
}

/// Stores a draft, and claims what it bills.
///
/// # Errors
/// `Conflict` if another invoice bills some of it already.
pub fn draft(tx: &mut Tx<'_>, source: &Source) -> Done<Invoice> {
    let id: InvoiceId = ids::new();
    let (document, totals) = written(tx, source)?;
    let text = serde_json::to_string(&document).map_err(Fail::unexpected)?;
    store::insert(tx, &id, source, &document.buyer.name, &totals, &text)?;
    claim::claim(tx, &id, &source.claims)?;
    let quote = source.quote.as_ref().map(|(quote, _)| quote.to_string());
    let detail = json!({ "quote": quote, "kind": source.kind.as_str() });
    record::write(tx, "invoice.drafted", ("invoice", id.as_str()), detail)?;
    show(tx, &id)
}

/// Writes a draft again, and claims what it bills now.
pub(super) fn rewrite(tx: &mut Tx<'_>, invoice: &Invoice, source: &Source) -> Done<()> {
    let (document, totals) = written(tx, source)?;
    let text = serde_json::to_string(&document).map_err(Fail::unexpected)?;
    store::rewrite(tx, invoice, source, &document.buyer.name, &totals, &text)?;
    store::release(tx, &invoice.id)?;
    claim::claim(tx, &invoice.id, &source.claims)
}

/// The document of a draft with the current data of seller and buyer, and its totals.
pub(super) fn written(tx: &mut Tx<'_>, source: &Source) -> Done<(InvoiceDocument, Totals)> {
    let (seller, buyer) = (seller(tx)?, buyer(tx, &source.customer)?);
    document_of(source, seller, buyer)
}

/// The document without a number, and its totals.
pub fn document_of(source: &Source, seller: InvoiceSeller, buyer: InvoiceBuyer) -> Done<(InvoiceDocument, Totals)> {
    let totals = source.document.totals()?;
    let document = &source.document;
    let currency = document.currency;
    let lines = source.lines.iter().zip(&document.lines).zip(&totals.lines);
    let lines = lines.map(|((named, line), total)| written_line(document, named, line, total));
    let allowances = totals.allowance_items.iter().map(|item| InvoiceAllowance::of(item, currency));
    let charges = document.charges.iter().map(|item| InvoiceAllowance::of(item, currency));
    let rounding = Some(document.rounding).filter(|rounding| !rounding.is_zero());
    let written = InvoiceDocument {
        form: FORM,
        kind: Some(Word(source.kind)),
        number: None,
        issued_on: None,
        due_on: None,
        tax_point: source.tax_point.map(Day),
        payment_reference: None,
        preceding: source.preceding.clone(),
        reason: None,
        seller,
        buyer,
        quote_number: source.quote.as_ref().map(|(_, number)| number.clone()),
        vehicle: source.vehicle.clone(),
        purchase_order: source.purchase_order.clone(),
        prices: Word(document.prices),
        tax_basis: Word(document.profile.basis),
        tax_rounding: Word(document.profile.rounding),
        lines: lines.collect::<Done<_>>()?,
        allowances: allowances.collect(),
        charges: charges.collect(),
        own_rounding: rounding.map(|rounding| Amount::of(rounding, currency)),
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
        tax_code: named.tax_code.clone(),
        agreed_rate: named.agreed_rate.map(|rate| Number(rate.decimal())),
        deducts: named.deducts.clone(),
    })
}

/// The shop in its current state.
pub fn seller(tx: &mut Tx<'_>) -> Done<InvoiceSeller> {
    let profile = crate::shop::usecase::settings(tx)?.profile;
    Ok(InvoiceSeller {
        name: profile.name,
        legal_name: profile.legal_name,
        address: profile.address.lines(),
        postal: Some(InvoicePostal {
            street: profile.address.street.iter().cloned().collect(),
            city: profile.address.city.clone(),
            postcode: profile.address.postcode.clone(),
            region: None,
        }),
        country: profile.address.country.map(|country| country.code().to_owned()),
        email: profile.email,
        phone: profile.phone,
        vat_id: profile.vat_id,
        company_number: profile.company_number,
        iban: profile.iban,
    })
}

/// The customer in its current state.
pub fn buyer(tx: &mut Tx<'_>, id: &CustomerId) -> Done<InvoiceBuyer> {
    let customer = customer::usecase::standing(tx, id)?;
    let email = customer.email().map(str::to_owned);
    let details = customer.details;
    let (mut lines, mut country, mut postal) = (Vec::new(), None, None);
    if let Some(address) = details.address {
        postal = Some(InvoicePostal {
            street: address.lines.clone(),
            city: Some(address.city.clone()),
            postcode: address.postcode.clone(),
            region: address.region.clone(),
        });
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
        postal,
        country,
        email,
        vat_id: details.vat_id.map(|vat_id| vat_id.to_string()),
    })
}
