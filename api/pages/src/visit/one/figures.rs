//! The money, the times and the papers of a visit.

use baywright_core::agreement::usecase::agreed;
use baywright_core::job;
use baywright_core::platform::fail::{Done, Fail};
use baywright_core::platform::kept::Amount;
use baywright_core::platform::tx::Tx;
use baywright_core::quote::usecase as quote;
use baywright_core::shop::usecase::show_bay;
use baywright_core::visit::usecase::Told;
use baywright_domain::booking::BookingState;
use baywright_domain::money::Money;
use baywright_domain::time::Minutes;

use super::{Row, capital};
use crate::platform::Wall;

fn row(label: impl Into<String>, value: impl Into<String>) -> Row {
    Row { label: label.into(), value: value.into(), is_sum: false }
}

fn sum(label: impl Into<String>, value: impl Into<String>) -> Row {
    Row { is_sum: true, ..row(label, value) }
}

/// What was offered or agreed, the deposit, and what is still to be paid.
pub(super) fn money(tx: &mut Tx<'_>, told: &Told) -> Done<Vec<Row>> {
    let visit = &told.visit;
    let currency = tx.studio.currency;
    let amount = |money: Money| Amount::of(money, currency).to_string();
    let mut rows = Vec::new();
    match agreed(tx, &visit.head.quote) {
        Ok(agreed) => {
            let signed = agreed.quote.totals.payable;
            let more: Money = agreed.variations.iter().map(|variation| variation.totals.payable).sum();
            rows.push(row("Signed quote", amount(signed)));
            for variation in &agreed.variations {
                rows.push(row(format!("Variation {}", variation.number), amount(variation.totals.payable)));
            }
            rows.push(sum("Agreed, with VAT", amount(signed + more)));
        }
        // No revision is signed.
        Err(Fail::Refused(_)) => rows.extend(visit.payable.map(|payable| sum("Offered, with VAT", amount(payable)))),
        Err(other) => return Err(other),
    }
    if let Some((booking, deposit)) = visit.booking.as_ref().and_then(|booking| Some((booking, booking.deposit?))) {
        let label =
            if booking.deposit_received_at.is_some() { "Deposit, received" } else { "Deposit, not received yet" };
        rows.push(row(label, amount(deposit)));
    }
    if let Some(invoice) = visit.invoice.as_ref() {
        let number = invoice
            .number
            .as_deref()
            .map_or_else(|| "Invoice, a draft".to_owned(), |number| format!("Invoice {number}"));
        rows.push(row(number, amount(invoice.payable)));
        if invoice.number.is_some() {
            rows.push(sum("Still to pay", amount(invoice.open)));
        }
    }
    Ok(rows)
}

/// When the car comes, where it stands, how far the work is, and when it will be done.
pub(super) fn times(tx: &mut Tx<'_>, told: &Told, wall: &Wall) -> Done<Vec<Row>> {
    let Some(booking) = &told.visit.booking else { return Ok(Vec::new()) };
    let mut rows = vec![row("Booking", capital(booking.state.label()))];
    if matches!(booking.state, BookingState::Cancelled | BookingState::NoShow) {
        return Ok(rows);
    }
    rows.push(row("Bay", show_bay(tx, &booking.place.bay)?.details.name));
    rows.push(row("Start", wall.when(booking.place.starts)));
    rows.push(row("Promised", wall.when(booking.place.promised)));
    if let Some(work) = &told.visit.job {
        rows.push(row("Steps done", format!("{} of {}", work.settled, work.steps)));
        if booking.state == BookingState::InBay {
            let forecast = job::usecase::forecast(tx, &work.id)?;
            let expected = forecast.expected.map_or_else(|| "not known".to_owned(), |at| wall.when(at));
            rows.push(sum("Expected", expected));
            if let Some(late) = forecast.late().filter(|late| *late > Minutes::ZERO) {
                rows.push(row("Later than promised", late.to_string()));
            }
        }
    }
    Ok(rows)
}

/// Each document with its state.
pub(super) fn papers(tx: &mut Tx<'_>, told: &Told) -> Done<Vec<Row>> {
    let visit = &told.visit;
    let shown = quote::show(tx, &visit.head.quote)?;
    let revisions = shown.revisions.iter();
    let mut rows: Vec<Row> = revisions
        .map(|(number, state)| row(format!("Quote {}, revision {number}", visit.head.number), state.label()))
        .collect();
    for variation in baywright_core::agreement::usecase::of_quote(tx, &visit.head.quote)? {
        rows.push(row(format!("Variation {}", variation.number), variation.state.label()));
    }
    if let Some(invoice) = &visit.invoice {
        rows.push(row(format!("Invoice {}", invoice.number.as_deref().unwrap_or_default()), invoice.state.label()));
    }
    Ok(rows)
}
