//! Quotes that may belong to a list of today. The rule for the next act decides which of them do.

use baywright_domain::booking::BookingState;
use baywright_domain::id::QuoteId;
use baywright_domain::invoice::{InvoiceKind, State};
use baywright_domain::quote::RevisionState;
use baywright_domain::time::Minute;
use diesel::dsl::{exists, not};
use diesel::prelude::*;

use crate::platform::clock::UtcTime;
use crate::platform::db::rows_of_shop;
use crate::platform::fail::Stored;
use crate::platform::kept::Named;
use crate::platform::tx::Tx;
use crate::schema::{booking, invoice, placement, quote_revision};

fn ids(found: Vec<String>) -> Vec<QuoteId> {
    found.into_iter().map(QuoteId::new).collect()
}

/// Quotes with a revision in draft, the longest waiting first.
pub(super) fn being_written(tx: &mut Tx<'_>, most: i64) -> Stored<Vec<QuoteId>> {
    let found: Vec<String> = rows_of_shop!(quote_revision, tx)
        .filter(quote_revision::state.eq(RevisionState::Draft.as_str()))
        .order(quote_revision::id.asc())
        .limit(most)
        .select(quote_revision::quote_id)
        .load(tx.conn)?;
    Ok(ids(found))
}

/// Quotes with a revision that was sent and has not expired, the first to expire first.
pub(super) fn with_customer(tx: &mut Tx<'_>, most: i64) -> Stored<Vec<QuoteId>> {
    let found: Vec<String> = rows_of_shop!(quote_revision, tx)
        .filter(quote_revision::state.eq(RevisionState::Sent.as_str()))
        .filter(quote_revision::holds_until.gt(tx.now.ms()))
        .order((quote_revision::holds_until.asc(), quote_revision::id.asc()))
        .limit(most)
        .select(quote_revision::quote_id)
        .load(tx.conn)?;
    Ok(ids(found))
}

/// Signed quotes without an invoice, and without a current booking or one that was cancelled after it was agreed, the
/// first to expire first. Only those that were valid after `since`, so that the index on the end of quotes finds them
/// without reading all history.
pub(super) fn without_time(tx: &mut Tx<'_>, since: UtcTime, most: i64) -> Stored<Vec<QuoteId>> {
    let shop = tx.studio.id.as_str();
    let over = [BookingState::Held, BookingState::Cancelled, BookingState::NoShow].map(BookingState::stored);
    let stands = rows_of_shop!(booking, id = shop)
        .filter(booking::quote_id.eq(quote_revision::quote_id))
        .filter(
            booking::state
                .ne_all(over)
                .or(booking::state.eq(BookingState::Held.stored()).and(booking::hold_until.gt(tx.now.ms())))
                .or(booking::state.eq(BookingState::Cancelled.stored()).and(booking::booked_at.is_not_null())),
        )
        .select(booking::id);
    let billed = rows_of_shop!(invoice, id = shop)
        .filter(invoice::quote_id.eq(quote_revision::quote_id.nullable()))
        .filter(invoice::kind.eq(InvoiceKind::Final.as_str()))
        .filter(invoice::state.ne(State::Credited.as_str()))
        .select(invoice::id);
    let found: Vec<String> = rows_of_shop!(quote_revision, id = shop)
        .filter(quote_revision::state.eq(RevisionState::Signed.as_str()))
        .filter(quote_revision::holds_until.gt(since.ms()))
        .filter(not(exists(stands)))
        .filter(not(exists(billed)))
        .order((quote_revision::holds_until.asc(), quote_revision::id.asc()))
        .limit(most)
        .select(quote_revision::quote_id)
        .load(tx.conn)?;
    Ok(ids(found))
}

/// Bookings whose time ended after `since`, found by the index on the end of places.
macro_rules! lately {
    ($shop:expr, $since:expr) => {
        rows_of_shop!(booking, id = $shop).filter(
            booking::id.eq_any(
                rows_of_shop!(placement, id = $shop)
                    .filter(placement::finishes.gt($since.get()))
                    .select(placement::booking_id),
            ),
        )
    };
}

/// Quotes whose booking is held, does not fit, or waits for its deposit, the oldest booking first; bookings whose time
/// ended before `since` are left out.
pub(super) fn to_settle(tx: &mut Tx<'_>, since: Minute, most: i64) -> Stored<Vec<QuoteId>> {
    let shop = tx.studio.id.as_str();
    let states = [BookingState::Held, BookingState::Booked].map(BookingState::stored);
    let unpaid = booking::deposit.is_not_null().and(booking::deposit_received_at.is_null());
    let found: Vec<String> = lately!(shop, since)
        .filter(booking::state.eq_any(states))
        .filter(booking::hold_until.is_null().or(booking::hold_until.gt(tx.now.ms())))
        .filter(booking::hold_until.is_not_null().or(booking::fits.eq(false)).or(unpaid))
        .order(booking::id.asc())
        .limit(most)
        .select(booking::quote_id)
        .load(tx.conn)?;
    Ok(ids(found))
}

/// Quotes whose car is here, which may have a variation to answer or need their bay for longer, the oldest booking
/// first; bookings whose time ended before `since` are left out.
pub(super) fn here(tx: &mut Tx<'_>, since: Minute, most: i64) -> Stored<Vec<QuoteId>> {
    let shop = tx.studio.id.as_str();
    let come = [BookingState::InBay, BookingState::Ready].map(BookingState::stored);
    let found: Vec<String> = lately!(shop, since)
        .filter(booking::state.eq_any(come))
        .order(booking::id.asc())
        .limit(most)
        .select(booking::quote_id)
        .load(tx.conn)?;
    Ok(ids(found))
}

/// Quotes whose car was handed over and that have no issued invoice, the oldest booking first; bookings whose time
/// ended before `since` are left out, for the same reason as in [`without_time`].
pub(super) fn not_billed(tx: &mut Tx<'_>, since: Minute, most: i64) -> Stored<Vec<QuoteId>> {
    let shop = tx.studio.id.as_str();
    let unissued = [State::Draft, State::Credited].map(State::as_str);
    let billed = rows_of_shop!(invoice, id = shop)
        .filter(invoice::quote_id.eq(booking::quote_id.nullable()))
        .filter(invoice::kind.eq(InvoiceKind::Final.as_str()))
        .filter(invoice::state.ne_all(unissued))
        .select(invoice::id);
    let found: Vec<String> = lately!(shop, since)
        .filter(booking::state.eq(BookingState::HandedOver.stored()))
        .filter(not(exists(billed)))
        .order(booking::id.asc())
        .limit(most)
        .select(booking::quote_id)
        .load(tx.conn)?;
    Ok(ids(found))
}
