//! Views of bookings.

use baywright_core::booking::usecase::{Attendance, Booking, Detailed, Stay};
use baywright_core::platform::clock::UtcTime;
use baywright_core::platform::identity::Role;
use baywright_core::platform::tx::Tx;
use baywright_domain::booking::{BookingMove, BookingState};
use baywright_domain::customer::first_name;
use baywright_domain::time::Minute;
use serde::Serialize;
use utoipa::ToSchema;

use crate::plan::HandsWord;
use crate::platform::wire::{Amount, Instant, Reference, Word};

/// A booking's state as its word.
pub(crate) type StateWord = Word<BookingState>;

/// A booking's move as its word.
type MoveWord = Word<BookingMove>;

/// Booking of a bay and people for the work of a signed quote.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Booking)]
pub struct BookingView {
    /// Id of the booking.
    id: Reference,
    /// Version of the record, which every change raises by one; the same number as in the ETag.
    #[schema(minimum = 1)]
    version: i64,
    /// State of the booking; a hold that has run out is CANCELLED, a no-show is NO_SHOW.
    state: StateWord,
    /// Latest move, which `undo` takes back; null if there is nothing to undo.
    last_move: Option<MoveWord>,
    /// Id of the signed quote.
    quote_id: Reference,
    /// Id of the plan that the place was made for.
    plan_id: Reference,
    /// Id of the customer whose car it is.
    customer_id: Reference,
    /// Name of the customer; technicians see the first name only.
    #[schema(max_length = 200)]
    customer_name: String,
    /// Id of the vehicle.
    vehicle_id: Reference,
    /// Short name of the vehicle, such as its make and model.
    #[schema(max_length = 200, example = "Estate car, dark blue")]
    vehicle_name: String,
    /// Registration of the vehicle; null if it has none.
    #[schema(max_length = 40)]
    registration: Option<String>,
    /// Id of the bay that the car is in, or that it enters first.
    bay_id: Reference,
    /// Bays in which the car is, one after another from start to finish. Several if it is moved while the work is done.
    #[schema(min_items = 1, max_items = 10)]
    stays: Vec<StayView>,
    /// Time when the car takes its first bay, RFC 3339 in UTC.
    start: Instant,
    /// Time when the work is done by its budgets and the last bay becomes free, RFC 3339 in UTC.
    finish: Instant,
    /// Finish that the customer is promised, RFC 3339 in UTC: `finish` plus a margin for longer work, within the bay's
    /// opening hours.
    promised: Instant,
    /// Number of people the place is made for: `ONE` or `TWO`; `ONE` if no step allows two.
    hands: HandsWord,
    /// Whether the place still fits the agreed work. False after other work was signed: ask for new times at
    /// `/v1/quotes/{quote_id}/availability` and move the booking, or make a rescheduling if the car is in its
    /// bay.
    fits: bool,
    /// Whether the car is in the bay now: it came and was not driven out.
    stands_in_bay: bool,
    /// Time until which the place is held, RFC 3339 in UTC; null if it is not only held.
    hold_until: Option<Instant>,
    /// Agreed deposit, with tax; null if there is none, and for technicians.
    deposit: Option<Amount>,
    /// Whether a deposit was agreed and has not been received.
    deposit_due: bool,
    /// Time when the deposit was received, RFC 3339 in UTC; null before.
    deposit_received_at: Option<Instant>,
    /// Note of the desk about the booking.
    #[schema(max_length = 2000)]
    note: String,
    /// Reason for the cancellation; null if the booking was not cancelled.
    #[schema(max_length = 500)]
    reason: Option<String>,
    /// Time when the booking was confirmed, RFC 3339 in UTC; null before.
    booked_at: Option<Instant>,
    /// Time when the car came, RFC 3339 in UTC; null before.
    arrived_at: Option<Instant>,
    /// Time when the work was declared done, RFC 3339 in UTC; null before.
    ready_at: Option<Instant>,
    /// Time when the car was handed over, RFC 3339 in UTC; null before.
    handed_over_at: Option<Instant>,
    /// Time of the cancellation or no-show, or when the hold ran out, RFC 3339 in UTC; null for other bookings.
    ended_at: Option<Instant>,
    /// Pieces of work with people and times, by step and time; empty in lists.
    #[schema(max_items = 4000)]
    pieces: Vec<PieceView>,
    /// Time when the record was created, RFC 3339 in UTC.
    created_at: Instant,
    /// Time of the last change, RFC 3339 in UTC.
    updated_at: Instant,
}

crate::versioned!(BookingView);

/// Stay of a car in one bay.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Stay)]
pub struct StayView {
    /// Id of the bay.
    bay_id: Reference,
    /// Time when the car takes the bay, RFC 3339 in UTC: for a later bay the start of the first step there.
    start: Instant,
    /// Time when the car leaves the bay, RFC 3339 in UTC.
    finish: Instant,
}

impl From<&Stay> for StayView {
    fn from(stay: &Stay) -> Self {
        Self::of(&stay.bay, stay.from, stay.to)
    }
}

impl StayView {
    /// A stay in that bay from one minute to another.
    pub(crate) fn of(bay: impl AsRef<str>, from: Minute, to: Minute) -> Self {
        let instant = |minute| Instant(UtcTime::from_minute(minute));
        Self { bay_id: Reference::from(&bay), start: instant(from), finish: instant(to) }
    }
}

/// Piece of a step's work.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = BookedPiece)]
pub struct PieceView {
    /// Code of the step.
    #[schema(max_length = 40, example = "wash")]
    step: String,
    /// Index of the step in the plan, from 0.
    #[schema(minimum = 0, maximum = 1000)]
    step_index: u32,
    /// Id of the person who works on the piece.
    person_id: Reference,
    /// Whether the person helps: somebody else leads the step at the same time and has its skills.
    helps: bool,
    /// Start of the piece, RFC 3339 in UTC.
    start: Instant,
    /// End of the piece, RFC 3339 in UTC.
    finish: Instant,
}

impl From<Attendance> for PieceView {
    fn from(piece: Attendance) -> Self {
        Self {
            step: piece.step,
            step_index: piece.place,
            person_id: Reference::from(&piece.person),
            helps: piece.helps,
            start: Instant(UtcTime::from_minute(piece.when.from())),
            finish: Instant(UtcTime::from_minute(piece.when.to())),
        }
    }
}

impl BookingView {
    /// Whether it is only held, and so may end without a change of its version.
    pub(super) fn is_held(&self) -> bool {
        self.state.0 == BookingState::Held
    }

    /// The booking with its pieces of work, as far as the signed-in person may see it.
    pub(crate) fn of(detailed: Detailed, tx: &Tx<'_>) -> Self {
        let pieces = detailed.pieces.into_iter().map(PieceView::from).collect();
        Self { pieces, ..Self::listed(detailed.booking, tx) }
    }

    /// The booking without its pieces of work, as far as the signed-in person may see it.
    pub(crate) fn listed(booking: Booking, tx: &Tx<'_>) -> Self {
        let state = booking.state_at(tx.now);
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
            stays: booking.place.stays.iter().map(StayView::from).collect(),
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
