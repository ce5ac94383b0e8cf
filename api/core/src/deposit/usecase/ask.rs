//! Asking for a deposit.

use baywright_domain::id::QuoteId;
use baywright_domain::invoice::{DepositAsked, DepositSize, InvoiceKind, deposit as deposit_of};
use baywright_domain::money::Money;
use serde_json::json;

use crate::invoice::usecase::{self as invoice, Invoice, Remarks, Source, SourceLine};
use crate::platform::fail::{Done, Fail};
use crate::platform::record;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::version::Seen;
use crate::{agreement, customer, shop};

/// Request for a deposit.
#[derive(Debug, Clone)]
pub struct AskOrder {
    /// The signed quote.
    pub quote: QuoteId,
    /// Amount with tax; `None` for the agreed deposit.
    pub amount: Option<Money>,
    /// Remarks of the customer and the studio.
    pub remarks: Remarks,
}

/// Asks for the deposit of a signed quote: issues its invoice, and mails it if the customer has an email address.
///
/// # Errors
/// `Conflict` if no deposit was agreed, if it was asked for before, or if the work is invoiced already.
pub fn ask(tx: &mut Tx<'_>, order: &AskOrder) -> Done<Invoice> {
    let agreed = agreement::usecase::agreed(tx, &order.quote)?.quote;
    if let Some(issued) = invoice::issued_of(tx, &order.quote)? {
        let number = issued.number.unwrap_or_default();
        let detail = format!("This work is already invoiced, as {number}, so no deposit on it can be asked for.");
        return Err(Refused::conflict("invoiced-already", detail).into());
    }
    if let Some(asked) = invoice::deposits_of(tx, &order.quote)?.into_iter().next() {
        let number = asked.number.unwrap_or_default();
        let detail = format!("The deposit was asked for already, with {number}. Send that invoice again.");
        return Err(Refused::conflict("deposit-asked", detail).into());
    }
    let Some(amount) = order.amount.or(agreed.deposit) else {
        let detail = "No deposit was agreed on this quote. Agree one with the customer, then give its amount.";
        return Err(Refused::conflict("no-deposit", detail).into());
    };
    let work = invoice::agreed_work(tx, &order.quote, &order.remarks)?;
    let source = source(work, &agreed.number, amount)?;
    let draft = invoice::draft(tx, &source)?;
    let issued = invoice::issue(tx, &draft.id, Seen(draft.version))?;
    let detail = json!({ "quote": order.quote.as_str(), "amount": amount.minor().to_string() });
    record::write(tx, "deposit.asked", ("invoice", issued.id.as_str()), detail)?;
    if customer::usecase::show(tx, &issued.customer)?.email().is_some() {
        return invoice::send(tx, &issued.id, Seen(issued.version));
    }
    Ok(issued)
}

/// The content of the deposit invoice: one line for each tax of the work.
fn source(work: Source, number: &str, amount: Money) -> Done<Source> {
    let totals = work.document.totals()?;
    let size = DepositSize::Amount(amount);
    let document = deposit_of(&totals, size, work.document.currency, work.document.profile)?;
    let several = document.lines.len() > 1;
    let lines = document.lines.iter().map(|line| {
        // The tax of the first line of the work that is taxed in the same way.
        let treated = work.document.lines.iter().position(|one| one.treatment == line.treatment);
        let like = treated.and_then(|at| work.lines.get(at));
        let rate = line.treatment.rate().decimal().normalize();
        let at = if several { format!(" at {rate} % VAT") } else { String::new() };
        SourceLine {
            name: format!("Deposit for quote {number}{at}"),
            origin: number.to_owned(),
            tax_reason: like.and_then(|like| like.tax_reason.clone()),
            tax_code: like.and_then(|like| like.tax_code.clone()),
            ..SourceLine::default()
        }
    });
    let lines = lines.collect();
    Ok(Source { kind: InvoiceKind::Deposit, follows_quote: false, claims: Vec::new(), lines, document, ..work })
}

/// Asks for the agreed deposit of a quote if the shop does so at this moment. What can't be asked for stays with the
/// desk and is in the log: signing and booking don't fail because of it.
pub fn asked_at(tx: &mut Tx<'_>, quote: &QuoteId, moment: DepositAsked) -> Done<()> {
    if shop::usecase::money_terms(tx)?.deposit_asked != moment {
        return Ok(());
    }
    let agreed = match agreement::usecase::agreed(tx, quote) {
        Ok(agreed) => agreed.quote,
        // Nothing is signed yet.
        Err(Fail::Refused(_)) => return Ok(()),
        Err(fail) => return Err(fail),
    };
    if agreed.deposit.is_none() || !invoice::deposits_of(tx, quote)?.is_empty() {
        return Ok(());
    }
    let order = AskOrder { quote: quote.clone(), amount: None, remarks: Remarks::default() };
    match tx.part(|tx| ask(tx, &order)) {
        Ok(_) => Ok(()),
        Err(Fail::Refused(refused)) => {
            record::write(tx, "deposit.not-asked", ("quote", quote.as_str()), json!({ "why": refused.code() }))
        }
        Err(fail) => Err(fail),
    }
}
