//! Rows of bookings, of the bays' time and of the people's.

mod attendance;
mod list;
mod placement;
mod row;
mod stay;
mod undo;

use baywright_domain::booking::BookingState;
use baywright_domain::id::{BookingId, CustomerId, PlanId, QuoteId};
use baywright_domain::money::Money;
use baywright_domain::plan::Hands;
use diesel::prelude::*;

use super::usecase::Booking;
use crate::plan::usecase::Plan;
use crate::platform::clock::UtcTime;
use crate::platform::db::rows_of_shop;
use crate::platform::fail::Stored;
use crate::platform::kept::Named;
use crate::platform::tx::Tx;
use crate::schema::{booking, customer, placement as place, vehicle};

pub(super) use attendance::{attendance_by, attendance_of, attendance_of_all, people_taken};
pub(super) use list::{LONGEST, here_before, page, within};
pub(super) use placement::{
    bay_at, bays_taken, begin, bring_to, car_taken, here, hold, last_finish, release, settle, stand, standing_early,
    standing_in, take,
};
use row::Row;
pub(super) use undo::{Entry, begin_as_agreed, driven_out, keep_driven_out, take_again};

/// A new booking, without its place.
pub(super) struct NewRow<'a> {
    pub(super) id: &'a BookingId,
    pub(super) plan: &'a Plan,
    pub(super) state: BookingState,
    pub(super) hands: Hands,
    pub(super) hold_until: Option<UtcTime>,
    pub(super) note: &'a str,
}

/// Fields that a move changes.
pub(super) struct Change {
    pub(super) state: BookingState,
    pub(super) hands: Hands,
    pub(super) plan: PlanId,
    pub(super) fits: bool,
    pub(super) hold_until: Option<UtcTime>,
    pub(super) booked_at: Option<UtcTime>,
    pub(super) arrived_at: Option<UtcTime>,
    pub(super) ready_at: Option<UtcTime>,
    pub(super) handed_over_at: Option<UtcTime>,
    pub(super) ended_at: Option<UtcTime>,
    pub(super) reason: Option<String>,
    pub(super) deposit: Option<Money>,
    pub(super) deposit_received_at: Option<UtcTime>,
}

impl Change {
    /// A move that changes nothing yet.
    pub(super) fn of(booking: &Booking) -> Self {
        Self {
            state: booking.state,
            hands: booking.hands,
            plan: booking.plan.clone(),
            fits: booking.fits,
            hold_until: booking.hold_until,
            booked_at: booking.booked_at,
            arrived_at: booking.arrived_at,
            ready_at: booking.ready_at,
            handed_over_at: booking.handed_over_at,
            ended_at: booking.ended_at,
            reason: booking.reason.clone(),
            deposit: booking.deposit,
            deposit_received_at: booking.deposit_received_at,
        }
    }
}

/// Bookings with their place and names, the start of every query of whole bookings.
macro_rules! whole {
    ($tx:expr) => {
        booking::table
            .inner_join(place::table.on(place::shop_id.eq(booking::shop_id).and(place::booking_id.eq(booking::id))))
            .inner_join(
                customer::table.on(customer::shop_id.eq(booking::shop_id).and(customer::id.eq(booking::customer_id))),
            )
            .inner_join(
                vehicle::table.on(vehicle::shop_id.eq(booking::shop_id).and(vehicle::id.eq(booking::vehicle_id))),
            )
            .filter($crate::platform::db::of_shop!(booking, $tx))
            .select(Row::as_select())
    };
}
use whole;

/// The bookings of these rows, in the same order, each with its stays.
fn read(tx: &mut Tx<'_>, rows: Vec<Row>) -> Stored<Vec<Booking>> {
    let ids: Vec<String> = rows.iter().map(|row| row.id().to_owned()).collect();
    let mut stays = stay::of(tx, &ids)?;
    let each = rows.into_iter().map(|row| {
        let own = stays.remove(row.id()).unwrap_or_default();
        row.read(own)
    });
    each.collect()
}

/// The booking of this row, if there is one.
fn read_one(tx: &mut Tx<'_>, row: Option<Row>) -> Stored<Option<Booking>> {
    Ok(read(tx, row.into_iter().collect())?.pop())
}

pub(super) fn find(tx: &mut Tx<'_>, id: &BookingId) -> Stored<Option<Booking>> {
    let row: Option<Row> = whole!(tx).filter(booking::id.eq(id.as_str())).first(tx.conn).optional()?;
    read_one(tx, row)
}

pub(super) fn of_ids(tx: &mut Tx<'_>, ids: &[BookingId]) -> Stored<Vec<Booking>> {
    let ids: Vec<&str> = ids.iter().map(BookingId::as_str).collect();
    let rows: Vec<Row> = whole!(tx).filter(booking::id.eq_any(ids)).load(tx.conn)?;
    read(tx, rows)
}

/// All bookings of the given quotes, including ended ones, oldest first.
pub(super) fn of_quotes(tx: &mut Tx<'_>, quotes: &[QuoteId]) -> Stored<Vec<Booking>> {
    let quotes: Vec<&str> = quotes.iter().map(QuoteId::as_str).collect();
    let rows: Vec<Row> = whole!(tx).filter(booking::quote_id.eq_any(quotes)).order(booking::id.asc()).load(tx.conn)?;
    read(tx, rows)
}

/// Limits bookings to the current one of a quote: not cancelled, no no-show, and not a hold that has run out.
macro_rules! current {
    ($bookings:expr, $quote:expr, $tx:expr) => {
        $bookings
            .filter(booking::quote_id.eq($quote.as_str()))
            .filter(booking::state.ne(BookingState::Cancelled.stored()))
            .filter(booking::state.ne(BookingState::NoShow.stored()))
            .filter(booking::hold_until.is_null().or(booking::hold_until.gt($tx.now.ms())))
    };
}

/// The current booking of a quote.
pub(super) fn standing(tx: &mut Tx<'_>, quote: &QuoteId) -> Stored<Option<Booking>> {
    let row: Option<Row> = current!(whole!(tx), quote, tx).first(tx.conn).optional()?;
    read_one(tx, row)
}

/// Whether the place of a quote's current booking fits the work that is agreed; `None` if it has none.
pub(super) fn fits(tx: &mut Tx<'_>, quote: &QuoteId) -> Stored<Option<bool>> {
    Ok(current!(rows_of_shop!(booking, tx), quote, tx).select(booking::fits).first(tx.conn).optional()?)
}

/// Holds that have run out but are not marked yet, each with its end.
pub(super) fn lapsed(tx: &mut Tx<'_>) -> Stored<Vec<(Booking, UtcTime)>> {
    let rows: Vec<Row> = whole!(tx)
        .filter(booking::state.eq(BookingState::Held.stored()))
        .filter(booking::hold_until.le(tx.now.ms()))
        .load(tx.conn)?;
    let bookings = read(tx, rows)?;
    Ok(bookings.into_iter().filter_map(|booking| booking.hold_until.map(|until| (booking, until))).collect())
}

pub(super) fn insert(tx: &mut Tx<'_>, new: &NewRow<'_>) -> Stored<()> {
    let booked_at = (new.state == BookingState::Booked).then(|| tx.now.ms());
    diesel::insert_into(booking::table)
        .values((
            booking::id.eq(new.id.as_str()),
            booking::shop_id.eq(tx.studio.id.as_str()),
            booking::quote_id.eq(new.plan.quote.as_str()),
            booking::plan_id.eq(new.plan.id.as_str()),
            booking::customer_id.eq(new.plan.customer.as_str()),
            booking::vehicle_id.eq(new.plan.vehicle.as_str()),
            booking::state.eq(new.state.stored()),
            booking::hands.eq(new.hands.as_str()),
            booking::hold_until.eq(new.hold_until.map(UtcTime::ms)),
            booking::booked_at.eq(booked_at),
            booking::note.eq(new.note),
            booking::deposit.eq(new.plan.deposit.map(Money::minor)),
            booking::version.eq(1_i64),
            booking::created_at.eq(tx.now.ms()),
            booking::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

/// Writes what a move changes, as the booking's next version.
pub(super) fn set(tx: &mut Tx<'_>, before: &Booking, change: &Change) -> Stored<()> {
    let one = rows_of_shop!(booking, tx).filter(booking::id.eq(before.id.as_str()));
    diesel::update(one)
        .set((
            booking::state.eq(change.state.stored()),
            booking::hands.eq(change.hands.as_str()),
            booking::plan_id.eq(change.plan.as_str()),
            booking::fits.eq(change.fits),
            booking::hold_until.eq(change.hold_until.map(UtcTime::ms)),
            booking::booked_at.eq(change.booked_at.map(UtcTime::ms)),
            booking::arrived_at.eq(change.arrived_at.map(UtcTime::ms)),
            booking::ready_at.eq(change.ready_at.map(UtcTime::ms)),
            booking::handed_over_at.eq(change.handed_over_at.map(UtcTime::ms)),
            booking::ended_at.eq(change.ended_at.map(UtcTime::ms)),
            booking::reason.eq(change.reason.as_deref()),
            booking::deposit.eq(change.deposit.map(Money::minor)),
            booking::deposit_received_at.eq(change.deposit_received_at.map(UtcTime::ms)),
            booking::version.eq(before.version + 1),
            booking::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    // A car that was handed over is in no bay because its placement is no longer current; its state before is kept for
    // an undo.
    if !change.state.has_come() && change.state != BookingState::HandedOver {
        stand(tx, &before.id, false)?;
    }
    Ok(())
}

/// Number of a customer's bookings that are not over yet.
pub(super) fn open_of(tx: &mut Tx<'_>, customer: &CustomerId) -> Stored<usize> {
    let over = [BookingState::HandedOver, BookingState::Cancelled, BookingState::NoShow].map(BookingState::stored);
    let count: i64 = rows_of_shop!(booking, tx)
        .filter(booking::customer_id.eq(customer.as_str()))
        .filter(booking::state.ne_all(over))
        .filter(booking::hold_until.is_null().or(booking::hold_until.gt(tx.now.ms())))
        .count()
        .get_result(tx.conn)?;
    Ok(usize::try_from(count).unwrap_or(usize::MAX))
}

/// Blanks the notes of a customer's bookings, and the reasons why they ended.
pub(super) fn blank(tx: &mut Tx<'_>, customer: &CustomerId) -> Stored<()> {
    diesel::update(rows_of_shop!(booking, tx).filter(booking::customer_id.eq(customer.as_str())))
        .set((
            booking::note.eq(""),
            booking::reason.eq(None::<String>),
            booking::version.eq(booking::version + 1_i64),
            booking::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}
