//! Warnings that a careful colleague would give about a quote that is written or sent; nothing is refused.

use baywright_domain::inspection::WorkStage;
use baywright_domain::invoice::DepositSize;
use baywright_domain::refusal::Refusal;

use super::compose::Composed;
use crate::inspection;
use crate::platform::fail::{Done, Fail};
use crate::platform::kept::{Amount, AmountOrPercent};
use crate::platform::refusal::sentence;
use crate::platform::tx::Tx;
use crate::quote::kept::QuoteDraft;
use crate::vehicle::usecase::Vehicle;

/// Warns of a draft that was just written or priced; `at` points to the draft in the request.
pub(super) fn written(tx: &mut Tx<'_>, of: &Vehicle, draft: &QuoteDraft, made: &Composed, at: &str) -> Done<()> {
    deposit(tx, draft, made, &format!("{at}/deposit/amount"))?;
    reverse_charge(tx, made);
    let Some(work) = &made.paint_work else { return Ok(()) };
    inspection::usecase::warn_of_unmeasured(tx, &of.id, work)?;
    // Sending refuses this; the person who writes the quote can still ask the owner before the customer waits for it.
    let named = draft.inspection();
    match inspection::usecase::may_work_on_paint(tx, &of.id, named.as_slice(), (work, WorkStage::Offered)) {
        Err(Fail::Refused(problem)) => tx.warn(problem.code(), "", problem.detail()),
        other => other?,
    }
    Ok(())
}

/// Warns of a quote that is about to be sent.
pub(super) fn sent(tx: &mut Tx<'_>, of: &Vehicle, draft: &QuoteDraft, made: &Composed) -> Done<()> {
    deposit(tx, draft, made, "")?;
    if let Some(work) = &made.paint_work {
        inspection::usecase::warn_of_unmeasured(tx, &of.id, work)?;
    }
    reverse_charge(tx, made);
    Ok(())
}

/// Warns of lines under reverse charge for a customer who can't owe the tax: their invoice will not be issued like this.
fn reverse_charge(tx: &mut Tx<'_>, made: &Composed) {
    if let Err(refusal) = made.parties.check(made.offered.lines.iter().map(|(_, treatment)| *treatment)) {
        tx.warn(refusal.code(), "", sentence(&refusal.to_string()));
    }
}

/// Warns of a deposit of the draft's own that is larger than the total of its required lines: the customer is asked for
/// the whole price instead, which is seldom intended. The shop's usual deposit is deliberately lowered for every small
/// quote.
fn deposit(tx: &mut Tx<'_>, draft: &QuoteDraft, made: &Composed, pointer: &str) -> Done<()> {
    let (Some(AmountOrPercent::Amount(_)), Some(DepositSize::Amount(asked)), Some(totals)) =
        (&draft.deposit, made.offered.terms.deposit, &made.document.required_totals)
    else {
        return Ok(());
    };
    let currency = made.offered.terms.currency;
    if asked > totals.payable.money(currency).map_err(Fail::unexpected)? {
        let detail = format!(
            "The deposit of {} is more than the required lines come to, {}. Without other lines the customer is asked for \
             {} only. Check the amount of the deposit.",
            Amount::of(asked, currency),
            totals.payable,
            totals.payable
        );
        tx.warn("deposit-above-total", pointer, detail);
    }
    Ok(())
}
