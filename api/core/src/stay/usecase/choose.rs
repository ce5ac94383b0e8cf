//! A customer chooses a free time.

use baywright_domain::id::BayId;
use baywright_domain::plan::Hands;
use baywright_domain::stay::Moment;
use baywright_domain::time::Minute;

use super::{letter, visit_of};
use crate::booking::usecase::{self as booking, NewBooking, Wish, times_to_choose};
use crate::platform::fail::{Done, Fail};
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::shop;
use crate::signoff::usecase::Link;

/// Books the time that starts at `start`, if it is free: the place is found by the desk's own search, and the database's
/// constraints hold for it. The customer gets the usual mail, and the studio a mail of its own.
///
/// # Errors
/// `Conflict` if customers can't book themselves here, the time was taken meanwhile, or the stay needs no time; `Invalid` for
/// a start that is too soon.
pub fn choose(tx: &mut Tx<'_>, link: &Link, start: Minute) -> Done<()> {
    let visit = visit_of(tx, link)?;
    let setting = shop::usecase::self_booking(tx)?.setting;
    let state = visit.booking.as_ref().map(|booking| booking.state);
    if Moment::of(visit.next, state, setting.allowed) != Moment::PickTime {
        let detail = "A time can't be chosen here now. Read the page again, or contact us.";
        return Err(Refused::conflict("nothing-to-choose", detail).into());
    }
    if start < setting.earliest(tx.now.minute()) {
        let detail = format!("Choose a time at least {} hours from now, or call us.", setting.notice_hours);
        return Err(Refused::field("/time", "too_soon", detail).into());
    }
    let quote = &visit.head.quote;
    let found = times_to_choose(tx, quote, start, 1)?.pop().filter(|found| found.visit.start == start);
    let bay = found.as_ref().and_then(|found| found.visit.stays.first()).map(|stay| BayId::new(stay.bay.as_str()));
    let Some(bay) = bay else { return Err(time_taken().into()) };
    let new = NewBooking {
        quote: quote.clone(),
        bay,
        start,
        may_move: false,
        wish: Wish::Book,
        hands: Hands::One,
        note: String::new(),
    };
    let made = booking::make(tx, &new).map_err(for_customer)?;
    letter::chosen(tx, &made.booking)
}

fn time_taken() -> Refused {
    Refused::conflict("time-taken", "This time was taken a moment ago. Choose another one.")
}

/// A refusal in words for the customer: those of the desk say where to ask for times again.
fn for_customer(fail: Fail) -> Fail {
    match fail {
        Fail::Refused(refused) if refused.code() != "already-booked" => time_taken().into(),
        other => other,
    }
}
