//! Reads the diary for people.

mod names;
mod offered;
mod one;
mod replanned;
mod week;

use baywright_domain::calendar::Dates;
use baywright_domain::customer::first_name;
use baywright_domain::id::{BookingId, QuoteId};
use baywright_domain::time::Minute;
use chrono::Days;

use crate::booking::usecase::{Attendance, Booking};
use crate::platform::fail::Done;
use crate::platform::identity::Role;
use crate::platform::tx::Tx;

pub use names::Names;
pub use offered::{Asked, Offered, offered, place_of};
pub use one::{May, OneBooking, one};
pub use replanned::{PlaceSeen, Replanned, ReplannedCar, cars_here, replanned};
pub use week::{BayWeek, Day, Filter, Stretch, Week, WeekCar, week};

/// Whether the caller may see only what work on a car needs.
fn is_for_work_only(tx: &Tx<'_>) -> bool {
    matches!(tx.actor.role(), None | Some(Role::Technician))
}

/// Number of days ahead that lists of absences and closures show.
const AHEAD: Days = Days::new(366);

/// The days from today on of which absences and closures are listed.
pub fn days_ahead(tx: &Tx<'_>) -> Done<Dates> {
    let today = tx.today()?;
    Ok(Dates::through(today, today.checked_add_days(AHEAD).unwrap_or(today))?)
}

/// A car of the diary, with what the caller may see of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Car {
    /// Id of the booking; `None` if the work has no time yet.
    pub booking: Option<BookingId>,
    /// Id of the quote.
    pub quote: QuoteId,
    /// Name of the car, such as make and model; empty if it has none.
    pub vehicle: String,
    /// Registration of the car.
    pub registration: Option<String>,
    /// Name of the customer; technicians see the first name only.
    pub customer: String,
    /// Finish that the customer was promised; `None` if the work has no time yet.
    pub promised: Option<Minute>,
}

impl Car {
    fn of(tx: &Tx<'_>, booking: &Booking) -> Self {
        let name = &booking.names.customer;
        let customer = if is_for_work_only(tx) { first_name(name).to_owned() } else { name.clone() };
        Self {
            booking: Some(booking.id.clone()),
            quote: booking.quote.clone(),
            vehicle: booking.names.vehicle.clone(),
            registration: booking.names.registration.clone(),
            customer,
            promised: Some(booking.place.promised),
        }
    }
}

/// The pieces of work of one booking.
fn pieces_of<'a>(
    pieces: &'a [(BookingId, Attendance)],
    booking: &'a BookingId,
) -> impl Iterator<Item = &'a Attendance> {
    pieces.iter().filter(move |(of, _)| of == booking).map(|(_, piece)| piece)
}
