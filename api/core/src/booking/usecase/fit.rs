//! Whether a booking's place still fits what is agreed. The customer may sign other work after the place was booked,
//! and the studio should hear of it at the signing, not when the car arrives.
//!
//! The column `booking.fits` is written when something is signed, and not computed at each reading: to list a day of
//! bookings, two plans would have to be compared for each car.

use baywright_domain::calendar::Zone;
use baywright_domain::id::BookingId;
use baywright_domain::money::Money;
use baywright_domain::schedule::stays::Stay;
use baywright_domain::schedule::{NoPlace, Obstacle};
use serde_json::json;

use super::store::{self, Change};
use super::{Booking, Question, availability, show};
use crate::plan::usecase::Plan;
use crate::platform::fail::{Done, Fail};
use crate::platform::kept::Amount;
use crate::platform::record;
use crate::platform::tx::Tx;
use crate::{plan, shop};

/// Number of new times that are named if a place no longer fits.
const NEW_TIMES: usize = 3;

/// The ways in which a booking no longer fits after other work was signed, in sentences for the studio.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Misfit {
    /// Problem and next step, each a sentence.
    pub sentences: Vec<String>,
}

/// Refuses a car whose place was made for other work.
pub(super) fn must_fit(tx: &mut Tx<'_>, booking: &Booking) -> Done<()> {
    let agreed = plan::usecase::of_quote(tx, &booking.quote)?;
    let Some(obstacle) = misfit(tx, booking, agreed)? else { return Ok(()) };
    let zone = Zone::named(&tx.studio.zone)?;
    Err(NoPlace::new(obstacle, &zone, "").into())
}

/// Checks the booking of a quote on which something has just been signed, if its car has not come yet: stores whether
/// its place still fits, takes over the agreed deposit, and returns what the studio should know.
pub fn after_signing(tx: &mut Tx<'_>, booking: &Booking) -> Done<Option<Misfit>> {
    let agreed = plan::usecase::of_quote(tx, &booking.quote)?;
    let mut sentences = Vec::new();
    if agreed.deposit != booking.deposit {
        let say = |deposit: Option<Money>| match deposit {
            None => "no deposit".to_owned(),
            Some(deposit) => format!("a deposit of {}", Amount::of(deposit, tx.studio.currency)),
        };
        let (before, now) = (say(booking.deposit), say(agreed.deposit));
        sentences.push(match booking.deposit_received_at {
            None => format!("The booking now asks for {now} instead of {before}."),
            Some(_) => {
                format!("Settle the difference with the customer: {before} was received, and {now} is agreed now.")
            }
        });
        if booking.deposit_received_at.is_none() {
            store::set(tx, booking, &Change { deposit: agreed.deposit, ..Change::of(booking) })?;
            let amount = agreed.deposit.map(|deposit| Amount::of(deposit, tx.studio.currency).to_string());
            let detail = json!({ "deposit": amount });
            record::write(tx, "booking.deposit-changed", ("booking", booking.id.as_str()), detail)?;
        }
    }
    let fits = misfit(tx, booking, agreed)?.is_none();
    note_fit(tx, &booking.id, fits)?;
    if !fits {
        let settings = shop::usecase::settings(tx)?;
        sentences.push(format!(
            "Move booking {} to a time that fits: the customer has signed other work since it was made. It still has \
             its old time, {} to {}, and its old promise.",
            booking.id,
            settings.wall(booking.place.starts),
            settings.wall(booking.place.finishes),
        ));
        sentences.push(new_times(tx, booking)?);
    }
    Ok(Some(sentences).filter(|all| !all.is_empty()).map(|sentences| Misfit { sentences }))
}

/// Stores whether a booking's place still fits what is agreed.
pub(super) fn note_fit(tx: &mut Tx<'_>, id: &BookingId, fits: bool) -> Done<()> {
    let booking = show(tx, id)?;
    if fits == booking.fits {
        return Ok(());
    }
    store::set(tx, &booking, &Change { fits, ..Change::of(&booking) })?;
    record::write(tx, "booking.fit-changed", ("booking", id.as_str()), json!({ "fits": fits }))
}

/// A sentence with the times to which a booking could be moved; the place that it has counts as free.
fn new_times(tx: &mut Tx<'_>, booking: &Booking) -> Done<String> {
    let from = Some(booking.place.starts).filter(|starts| *starts > tx.now.minute());
    let question = Question { from, by: None, count: NEW_TIMES, hands: booking.hands, may_move: false };
    let settings = shop::usecase::settings(tx)?;
    let times = match availability(tx, &booking.quote, question) {
        Ok(offer) => offer.times,
        Err(Fail::Refused(_)) => Vec::new(),
        Err(fail) => return Err(fail),
    };
    if times.is_empty() {
        return Ok("No new time that fits was found. The available times of the quote say why.".to_owned());
    }
    let bays = shop::usecase::bays(tx)?;
    let each = times.iter().map(|time| {
        let visit = &time.visit;
        let name = |stay: &Stay| {
            let bay = bays.iter().find(|bay| bay.id.as_str() == stay.bay);
            bay.map_or(stay.bay.clone(), |bay| bay.details.name.clone())
        };
        let names: Vec<String> = visit.stays.iter().map(name).collect();
        format!("{} to {} in {}", settings.wall(visit.start), settings.wall(visit.finish), names.join(", then "))
    });
    Ok(format!("The next times that fit are: {}.", each.collect::<Vec<_>>().join("; ")))
}

/// Reason why the place is not possible for the work that is agreed now, even if everything else moved; `None` if it is
/// possible.
fn misfit(tx: &mut Tx<'_>, booking: &Booking, agreed: Plan) -> Done<Option<Obstacle>> {
    if agreed.id == booking.plan {
        return Ok(None);
    }
    let made_for = plan::usecase::show(tx, &booking.plan)?.with(booking.hands)?.work()?.to_schedule()?;
    let agreed = agreed.with(booking.hands)?.work()?.to_schedule()?;
    Ok(made_for.still_fits(&agreed).err())
}
