//! Bookings as they are answered.

use baywright_domain::booking::{BookingMove, BookingState};
use baywright_domain::customer::first_name;
use serde::Serialize;
use utoipa::ToSchema;

use crate::booking::usecase::{Attendance, Booking, Detailed};
use crate::plan::form::HandsWord;
use crate::platform::clock::UtcTime;
use crate::platform::identity::Role;
use crate::platform::tx::Tx;
use crate::platform::wire::{Amount, Instant, Reference, Word};

crate::wire_words! { BookingState => "BookingState", BookingMove => "BookingMove" }

/// A booking's state as its word.
pub(crate) type StateWord = Word<BookingState>;

/// A booking's move as its word.
type MoveWord = Word<BookingMove>;

/// A booking.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Booking)]
pub struct BookingView {
    /// The booking's id.
    id: Reference,
    /// Counts the changes; the same as the ETag.
    #[schema(minimum = 1)]
    version: i64,
    /// Where it is in its life; a hold that has run out is CANCELLED.
    state: StateWord,
    /// The last move, which `undo` takes back; null where there is nothing to undo.
    last_move: Option<MoveWord>,
    /// The signed quote.
    quote_id: Reference,
    /// The plan that the place was made for.
    plan_id: Reference,
    /// Whose car.
    customer_id: Reference,
    /// The customer's name; for technicians the first name.
    #[schema(max_length = 200)]
    customer_name: String,
    /// Which car.
    vehicle_id: Reference,
    /// What people call the car.
    #[schema(max_length = 200, example = "Estate car, dark blue")]
    vehicle_name: String,
    /// Its registration; null where it has none.
    #[schema(max_length = 40)]
    registration: Option<String>,
    /// The bay.
    bay_id: Reference,
    /// When the car takes the bay.
    start: Instant,
    /// When the work is done by its budgets; the bay is free from then on.
    finish: Instant,
    /// What the customer is promised: `finish` and what the work may take longer, as the plan's outlook says, while the bay
    /// is open.
    promised: Instant,
    /// How many pairs of hands the place is made for; ONE where no step allows two.
    hands: HandsWord,
    /// Whether the place still fits the work that is agreed. False after other work was signed: ask for new times at
    /// `/v1/quotes/{quote_id}/availability` and move the booking, or plan the days anew if the car is in its bay.
    fits: bool,
    /// Whether the car stands in the bay now: it came, and was not driven out.
    stands_in_bay: bool,
    /// Until when it is held; null where it isn't only held.
    hold_until: Option<Instant>,
    /// The deposit that was agreed, with tax; null where there is none, and for technicians.
    deposit: Option<Amount>,
    /// Whether a deposit was agreed and hasn't come.
    deposit_due: bool,
    /// When the deposit came.
    deposit_received_at: Option<Instant>,
    /// What the desk wrote beside it.
    #[schema(max_length = 2000)]
    note: String,
    /// Why it was cancelled.
    #[schema(max_length = 500)]
    reason: Option<String>,
    /// When it was agreed.
    booked_at: Option<Instant>,
    /// When the car came.
    arrived_at: Option<Instant>,
    /// When the work was declared done.
    ready_at: Option<Instant>,
    /// When the car was given back.
    handed_over_at: Option<Instant>,
    /// When it was cancelled or missed, or its hold ran out.
    ended_at: Option<Instant>,
    /// Who works on which step when, by step and time; empty in lists.
    #[schema(max_items = 4000)]
    pieces: Vec<PieceView>,
    /// When the record was made.
    created_at: Instant,
    /// When it last changed.
    updated_at: Instant,
}

crate::versioned!(BookingView);

/// A piece of a step.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = BookedPiece)]
pub struct PieceView {
    /// The step's code.
    #[schema(max_length = 40, example = "wash")]
    step: String,
    /// The step's place in the plan, from 0.
    #[schema(minimum = 0, maximum = 1000)]
    place: u32,
    /// Who works on it.
    person_id: Reference,
    /// Whether they help: at a step for two somebody else has its skills and leads, at the same time.
    helps: bool,
    /// From when.
    start: Instant,
    /// Until when.
    finish: Instant,
}

impl From<Attendance> for PieceView {
    fn from(piece: Attendance) -> Self {
        Self {
            step: piece.step,
            place: piece.place,
            person_id: Reference::from(&piece.person),
            helps: piece.helps,
            start: Instant(UtcTime::from_minute(piece.when.from())),
            finish: Instant(UtcTime::from_minute(piece.when.to())),
        }
    }
}

impl BookingView {
    /// Whether it is held, and so may end without a change.
    pub(super) fn is_held(&self) -> bool {
        self.state.0 == BookingState::Held
    }

    /// The booking with its pieces, as the one who asks may see it.
    pub(crate) fn of(detailed: Detailed, tx: &Tx<'_>) -> Self {
        let pieces = detailed.pieces.into_iter().map(PieceView::from).collect();
        Self { pieces, ..Self::listed(detailed.booking, tx) }
    }

    /// The booking without its pieces, as the one who asks may see it.
    pub(crate) fn listed(booking: Booking, tx: &Tx<'_>) -> Self {
        let held_until = booking.hold_until.map(UtcTime::datetime);
        let state = booking.state.at(tx.now.datetime(), held_until);
        let lapsed = state != booking.state;
        let last_move = booking.last_move().map(|last| Word(last.what));
        let first_name_only = matches!(tx.actor.role(), None | Some(Role::Technician));
        let customer_name =
            if first_name_only { first_name(&booking.names.customer).to_owned() } else { booking.names.customer };
        let deposit = booking.deposit.filter(|_| !first_name_only);
        Self {
            id: Reference::from(&booking.id),
            version: booking.version,
            state: Word(state),
            last_move,
            quote_id: Reference::from(&booking.quote),
            plan_id: Reference::from(&booking.plan),
            customer_id: Reference::from(&booking.customer),
            customer_name,
            vehicle_id: Reference::from(&booking.vehicle),
            vehicle_name: booking.names.vehicle,
            registration: booking.names.registration,
            bay_id: Reference::from(&booking.place.bay),
            start: Instant(UtcTime::from_minute(booking.place.starts)),
            finish: Instant(UtcTime::from_minute(booking.place.finishes)),
            promised: Instant(UtcTime::from_minute(booking.place.promised)),
            hands: Word(booking.hands),
            fits: booking.fits,
            stands_in_bay: booking.place.standing,
            hold_until: booking.hold_until.filter(|_| !lapsed).map(Instant),
            deposit: deposit.map(|deposit| Amount::of(deposit, tx.studio.currency)),
            deposit_due: booking.deposit.is_some() && booking.deposit_received_at.is_none(),
            deposit_received_at: booking.deposit_received_at.map(Instant),
            note: booking.note,
            reason: booking.reason,
            booked_at: booking.booked_at.map(Instant),
            arrived_at: booking.arrived_at.map(Instant),
            ready_at: booking.ready_at.map(Instant),
            handed_over_at: booking.handed_over_at.map(Instant),
            ended_at: if lapsed { booking.hold_until } else { booking.ended_at }.map(Instant),
            pieces: Vec::new(),
            created_at: Instant(booking.created_at),
            updated_at: Instant(booking.updated_at),
        }
    }
}
