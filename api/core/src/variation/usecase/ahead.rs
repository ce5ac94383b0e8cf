//! The time by which a car would be done with the work of a variation that is not answered yet.

use baywright_domain::id::{BookingId, VariationId};
use baywright_domain::time::Minute;
use baywright_domain::variation::VariationState;

use super::compose::compose;
use super::send::still_of;
use super::write::under_way;
use crate::agreement::usecase::{agreed, find};
use crate::platform::fail::Done;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::{booking, job};

/// A car in its bay with the work of a variation, if the customer says yes to its required lines.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WithWork {
    /// The booking of the car.
    pub booking: BookingId,
    /// Time until which the diary keeps its bay now.
    pub booked: Minute,
    /// Time when it would be done.
    pub finish: Minute,
}

/// The car of a variation that is a draft or with the customer.
///
/// # Errors
/// `NotFound` if the shop has no such variation; `Conflict` if the work is not under way, or a later revision of the quote
/// was signed; `Invalid` if it is answered already, can't be planned, or would not be done in the days of the diary.
pub fn done_with(tx: &mut Tx<'_>, id: &VariationId) -> Done<WithWork> {
    let variation = find(tx, id)?;
    if !matches!(variation.state, VariationState::Draft | VariationState::Sent) {
        let detail =
            "The customer has answered this variation already. Choose one that is a draft or not answered yet.";
        return Err(Refused::field("/variation_id", "answered", detail).into());
    }
    let id = under_way(tx, &variation.quote)?;
    let agreed = agreed(tx, &variation.quote)?;
    still_of(&variation, &agreed)?;
    let booking = booking::usecase::show(tx, &id)?;
    let booked = booking.place.finishes;
    let finish = match compose(tx, &agreed, variation.number, &variation.draft)?.work {
        Some(work) => job::usecase::done_with(tx, &booking, &work)?,
        None => Some(tx.now.minute()),
    };
    let Some(finish) = finish else {
        let days = booking::usecase::AHEAD_DAYS;
        let detail = format!("With this work the car would not be done within {days} days. Check its lines.");
        return Err(Refused::field("/variation_id", "never_ends", detail).into());
    };
    Ok(WithWork { booking: id, booked, finish })
}
