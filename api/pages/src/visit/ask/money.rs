//! Forms about money: the invoice and its payment.

use baywright_core::customer;
use baywright_core::invoice::usecase::{self as invoice, Invoice};
use baywright_core::payment::usecase::balance;
use baywright_core::platform::fail::Done;
use baywright_core::platform::kept::Amount;
use baywright_core::platform::refusal::Refused;
use baywright_core::platform::tx::Tx;
use baywright_core::visit::usecase::Told;
use baywright_domain::money::Money;
use baywright_domain::payment::Method;

use super::Asked;
use crate::platform::Wall;
use crate::platform::form::{Fields, Input};
use crate::visit::act::Verb;

pub(super) fn asked(tx: &mut Tx<'_>, told: &Told, verb: Verb) -> Done<Asked> {
    if verb == Verb::Invoice {
        let form = Asked { heading: verb.label(), button: verb.label(), ..Asked::default() };
        return Ok(form
            .lead("It takes everything that the customer has signed. You check it before it is issued.")
            .input(Input::line("purchase_order", "Purchase-order number of the customer").optional())
            .input(Input::line("note", "Note on the invoice").optional()));
    }
    let billed = of_visit(tx, told)?;
    match verb {
        Verb::Issue => issue(tx, &billed),
        Verb::MailInvoice => Ok(Asked::of(verb, billed.id.as_str(), billed.version)
            .lead("The customer gets an email with the whole invoice.")
            .facts(facts(tx, &billed)?)),
        _ => payment(tx, &billed),
    }
}

/// The invoice of a visit.
///
/// # Errors
/// `Conflict` if it has none.
pub(in crate::visit) fn of_visit(tx: &mut Tx<'_>, told: &Told) -> Done<Invoice> {
    let none = || Refused::conflict("wrong-state", "This stay has no invoice yet. Make it first.");
    let seen = told.visit.invoice.as_ref().ok_or_else(none)?;
    invoice::show(tx, &seen.id)
}

/// The lines of an invoice with their amounts, its tax and its totals.
fn facts(tx: &Tx<'_>, invoice: &Invoice) -> Done<Vec<(String, String)>> {
    let document = invoice.document()?;
    let amount = |money: Money| Amount::of(money, tx.studio.currency).to_string();
    let mut facts: Vec<(String, String)> =
        document.lines.into_iter().map(|line| (line.name, line.amount.to_string())).collect();
    facts.push(("Total, with VAT".to_owned(), amount(invoice.payable)));
    if invoice.account.open != invoice.payable {
        facts.push(("Still to pay".to_owned(), amount(invoice.account.open)));
    }
    Ok(facts)
}

fn issue(tx: &mut Tx<'_>, billed: &Invoice) -> Done<Asked> {
    let found = customer::usecase::of_ids(tx, std::slice::from_ref(&billed.customer))?;
    let has_email = found.first().is_some_and(|one| !one.details.emails.is_empty());
    let form = Asked::of(Verb::Issue, billed.id.as_str(), billed.version)
        .lead("Once it is issued it has its number and never changes. A mistake is then corrected by another document.")
        .facts(facts(tx, billed)?)
        .button("Issue the invoice");
    let by_mail = vec![("yes".to_owned(), "Send it to the customer by email".to_owned())];
    let form = form.input(Input::ticks("by_mail", "Email", by_mail));
    Ok(form.filled("by_mail", if has_email { "yes" } else { "" }))
}

fn payment(tx: &mut Tx<'_>, billed: &Invoice) -> Done<Asked> {
    let currency = tx.studio.currency;
    let credit = balance(tx, &billed.customer)?.credit;
    let methods = Method::ALL.iter().filter(|method| method.is_money() || credit > Money::ZERO);
    let methods = methods.map(|method| (method.as_str().to_owned(), method.label().to_owned()));
    let methods = std::iter::once((String::new(), "Choose".to_owned())).chain(methods).collect();
    let wall = Wall::of(tx)?;
    let mut facts = facts(tx, billed)?;
    if credit > Money::ZERO {
        facts.push(("Credit of the customer".to_owned(), Amount::of(credit, currency).to_string()));
    }
    let form = Asked::of(Verb::Payment, billed.id.as_str(), billed.version);
    // A payment changes no version: two of them in a row are both right.
    let fields = Fields::of_record([("record", billed.id.to_string())]);
    let day = Input { kind: "date", ..Input::short("received_on", "Day on which it came") };
    Ok(Asked { fields, ..form }
        .facts(facts)
        .input(Input::short("amount", format!("Amount in {}", currency.code())))
        .input(Input::line("method", "How it was paid").options(methods))
        .input(day)
        .input(Input::line("reference", "Reference on the bank statement").optional())
        .filled("amount", billed.account.open.to_major(currency))
        .filled("received_on", wall.iso_day(wall.now())))
}
