//! Answers to suppositions.

use baywright_core::booking::usecase::Booking;
use baywright_core::platform::clock::UtcTime;
use baywright_core::what_if::usecase::{Answer, Gain, Moved, SoonerCar};
use baywright_domain::schedule::stays::Visit;
use baywright_domain::time::Minute;
use baywright_domain::what_if::SUPPOSED;
use serde::Serialize;
use utoipa::ToSchema;

use crate::platform::wire::{Instant, Reference};

/// Effect of a supposition on the booked cars. Nothing has changed.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = WhatIf)]
pub(super) struct WhatIfView {
    /// Start of the period that was looked at, RFC 3339 in UTC.
    from: Instant,
    /// End of the period that was looked at, RFC 3339 in UTC. Bookings that end later stay where they are.
    until: Instant,
    /// Time when the car would be done with the work of the supposed variation, RFC 3339 in UTC; null for other
    /// suppositions.
    finish: Option<Instant>,
    /// Promises that would move, by their booked starts: as few as possible. Empty for a supposition that only gives time.
    #[schema(max_items = 500)]
    moved: Vec<MovedPromiseView>,
    /// Whether no other schedule would move fewer promises and be less late.
    proven: bool,
    /// Ids of the bookings that can't keep their places even without the supposition. They are left where they are: ask for
    /// a rescheduling.
    #[schema(max_items = 500)]
    broken_booking_ids: Vec<Reference>,
    /// Time that would be saved; null for a supposition that takes time.
    gain: Option<GainView>,
}

/// Promise that would move: the car would have to come at another time, or be finished later.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = MovedPromise)]
struct MovedPromiseView {
    /// Booking of the car.
    booking: SupposedBooking,
    /// Id of the bay in which the car would be, of the first one if it is moved from bay to bay; null if no place was found
    /// for it.
    bay_id: Option<Reference>,
    /// Time when the car would have to come, RFC 3339 in UTC; null if no place was found for it.
    start: Option<Instant>,
    /// Time when its work would be done, RFC 3339 in UTC; null if no place was found for it.
    finish: Option<Instant>,
    /// Reason why the car can't keep its place, as a sentence; null if no single reason is known.
    #[schema(max_length = 1000, example = "Niall Quirke is away from Tue 3 March 2026 to Wed 4 March 2026.")]
    because: Option<String>,
}

/// Booked car with its current place.
#[derive(Debug, Serialize, ToSchema)]
struct SupposedBooking {
    /// Id of the booking.
    id: Reference,
    /// Id of the quote whose work it is.
    quote_id: Reference,
    /// Name of the customer.
    #[schema(max_length = 300, example = "Aoife Byrne")]
    customer: String,
    /// Name of the car.
    #[schema(max_length = 300, example = "Estate car, dark blue")]
    vehicle: String,
    /// Id of the bay, of the first one if the car is moved from bay to bay.
    bay_id: Reference,
    /// Time when the car comes, RFC 3339 in UTC.
    start: Instant,
    /// Time when its work is done by the diary, RFC 3339 in UTC.
    finish: Instant,
}

/// Time that a supposition would save, if all customers came when their cars could be taken. Two diaries are compared. In
/// the first one the booked cars move up in the shop as it is: in the order of their starts, each takes the first free time
/// if it is finished sooner there, until none can move. In the second one they go on to do so in the supposed shop. What
/// could be sooner in the shop as it is, is not counted.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = SupposedGain)]
struct GainView {
    /// Days saved: calendar days, in the shop's time zone, from each car's finish in the second diary to that in the first,
    /// summed over all cars.
    #[schema(minimum = 0, maximum = 9_007_199_254_740_991_u64, example = 7)]
    days_saved: u64,
    /// Minutes saved between the same finishes, summed over all cars.
    #[schema(minimum = 0, maximum = 9_007_199_254_740_991_u64, example = 10_215)]
    minutes_saved: u64,
    /// Time when the last of the cars would be finished in the first diary, RFC 3339 in UTC; null without cars.
    last_finish_without: Option<Instant>,
    /// Time when the last of the cars would be finished in the second diary, RFC 3339 in UTC; null without cars.
    last_finish_with: Option<Instant>,
    /// Cars that would be finished sooner, by their booked starts.
    #[schema(max_items = 500)]
    sooner: Vec<SoonerView>,
    /// Whether the search came to its end; if not, the numbers may be too low or too high.
    complete: bool,
}

/// Car that would be finished sooner.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = SoonerCar)]
struct SoonerView {
    /// Booking of the car.
    booking: SupposedBooking,
    /// Finish in the shop as it is, if the cars move up, RFC 3339 in UTC.
    finish_without: Instant,
    /// Finish in the supposed shop, RFC 3339 in UTC.
    finish_with: Instant,
    /// Calendar days between the two, in the shop's time zone; 0 if both are on one day.
    #[schema(minimum = 0, maximum = 100, example = 1)]
    days_saved: u32,
}

fn moment(at: Minute) -> Instant {
    Instant(UtcTime::from_minute(at))
}

impl From<&Booking> for SupposedBooking {
    fn from(booking: &Booking) -> Self {
        Self {
            id: Reference::from(&booking.id),
            quote_id: Reference::from(&booking.quote),
            customer: booking.names.customer.clone(),
            vehicle: booking.car(),
            bay_id: Reference::from(&booking.place.bay),
            start: moment(booking.place.starts),
            finish: moment(booking.place.finishes),
        }
    }
}

impl From<Moved> for MovedPromiseView {
    fn from(moved: Moved) -> Self {
        let bay = |visit: &Visit| visit.stays.first().map(|stay| stay.bay.clone()).filter(|bay| bay != SUPPOSED);
        Self {
            booking: SupposedBooking::from(&moved.booking),
            bay_id: moved.after.as_ref().and_then(bay).as_ref().map(Reference::from),
            start: moved.after.as_ref().map(|after| moment(after.start)),
            finish: moved.after.as_ref().map(|after| moment(after.finish)),
            because: moved.because,
        }
    }
}

impl From<SoonerCar> for SoonerView {
    fn from(car: SoonerCar) -> Self {
        Self {
            booking: SupposedBooking::from(&car.booking),
            finish_without: moment(car.finishes.without),
            finish_with: moment(car.finishes.with),
            days_saved: car.days,
        }
    }
}

impl From<Gain> for GainView {
    fn from(gain: Gain) -> Self {
        Self {
            days_saved: gain.days,
            minutes_saved: gain.minutes,
            last_finish_without: gain.last_without.map(moment),
            last_finish_with: gain.last_with.map(moment),
            sooner: gain.sooner.into_iter().map(SoonerView::from).collect(),
            complete: gain.complete,
        }
    }
}

impl From<Answer> for WhatIfView {
    fn from(answer: Answer) -> Self {
        Self {
            from: moment(answer.from),
            until: moment(answer.until),
            finish: answer.finish.map(moment),
            moved: answer.moved.into_iter().map(MovedPromiseView::from).collect(),
            proven: answer.proven,
            broken_booking_ids: answer.broken_already.iter().map(|booking| Reference::from(&booking.id)).collect(),
            gain: answer.gain.map(GainView::from),
        }
    }
}
