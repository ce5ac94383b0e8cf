//! Use cases of feeds, and the calendar that a calendar program reads.

use std::collections::BTreeMap;

use baywright_domain::booking::BookingState;
use baywright_domain::id::{BayId, FeedId, PersonId};
use baywright_domain::time::{Interval, Minutes};
use serde_json::json;

use super::store;
use crate::booking::usecase::{self as booking, Attendance, Booking, Stay};
use crate::documents::calendar::{self, Appointment, Standing};
use crate::platform::clock::UtcTime;
use crate::platform::db::Conn;
use crate::platform::door::Door;
use crate::platform::fail::Done;
use crate::platform::identity::Actor;
use crate::platform::paging::{Mark, Paging, Slice};
use crate::platform::refusal::Refused;
use crate::platform::token::{self, Token};
use crate::platform::tx::Tx;
use crate::platform::{ids, record};
use crate::{people, plan, shop};

/// Days of the past that a feed shows.
const BACK_DAYS: u32 = 30;

/// Days ahead that a feed shows.
const AHEAD_DAYS: u32 = 180;

/// Bay or person whose diary a feed shows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Of {
    /// Cars in a bay.
    Bay(BayId),
    /// Work of a person.
    Person(PersonId),
}

/// A stored feed; its secret is not stored.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Feed {
    /// Its id.
    pub id: FeedId,
    /// Bay or person whose diary it shows.
    pub of: Of,
    /// Time when it was made.
    pub created_at: UtcTime,
    /// Time when it was revoked.
    pub revoked_at: Option<UtcTime>,
}

/// Creates a feed; returns it with its address, which is not stored.
///
/// # Errors
/// `Invalid` if the shop has no such bay or person.
pub fn make(tx: &mut Tx<'_>, of: &Of) -> Done<(Feed, String)> {
    let (kind, id) = match of {
        Of::Bay(bay) => ("bay", shop::usecase::show_bay(tx, bay).map(|bay| bay.id.to_string())),
        Of::Person(person) => ("person", people::usecase::show(tx, person).map(|person| person.id.to_string())),
    };
    let id = id.map_err(|_| {
        Refused::field(
            format!("/{kind}_id"),
            "unknown",
            format!("The shop has no such {kind}. Choose one that it has."),
        )
    })?;
    let token = Token::new()?;
    let feed = Feed { id: ids::new(), of: of.clone(), created_at: tx.now, revoked_at: None };
    store::insert(tx, &feed, &token.digest())?;
    record::write(tx, "feed.made", ("feed", feed.id.as_str()), json!({ "of": kind, "of_id": id }))?;
    let url = format!("{}/feeds/{}.ics", tx.config.public_url, token.as_str());
    Ok((feed, url))
}

/// One page of feeds, newest first.
pub fn list(tx: &mut Tx<'_>, paging: &Paging) -> Done<Slice<Feed>> {
    let found = store::page(tx, paging)?;
    Ok(paging.page(found, |feed| Mark::of_id(feed.id.as_str())))
}

/// Revokes a feed for good; revoking it again changes nothing.
///
/// # Errors
/// `NotFound` if there is no such feed.
pub fn revoke(tx: &mut Tx<'_>, id: &FeedId) -> Done<Feed> {
    let feed = store::find(tx, id)?.ok_or_else(|| Refused::not_found("calendar feed"))?;
    if feed.revoked_at.is_some() {
        return Ok(feed);
    }
    store::end(tx, id)?;
    record::write(tx, "feed.revoked", ("feed", id.as_str()), json!({}))?;
    Ok(Feed { revoked_at: Some(tx.now), ..feed })
}

/// The calendar at a secret address.
///
/// # Errors
/// `NotFound` if there is no feed at this address, `Gone` if it was revoked or its person has left.
pub fn calendar(door: &Door, secret: &str) -> Done<Vec<u8>> {
    let known = |conn: &mut Conn| Ok(store::of_hash(conn, &token::digest(secret))?);
    let found = if token::is_plausible(secret) { door.read(known)? } else { None };
    let (shop, feed) = found.ok_or_else(|| door.missed("calendar"))?;
    door.read_in(&shop, Actor::Clockwork, |tx| file(tx, &feed))
}

fn file(tx: &mut Tx<'_>, feed: &Feed) -> Done<Vec<u8>> {
    let now = tx.now.minute();
    let shown = Interval::new(now - Minutes::new(BACK_DAYS * 1440), now + Minutes::new(AHEAD_DAYS * 1440));
    let (name, active, events) = match (&feed.of, shown) {
        (_, None) => (String::new(), true, Vec::new()),
        (Of::Bay(id), Some(shown)) => {
            let bay = shop::usecase::show_bay(tx, id)?;
            (bay.details.name, true, of_bay(tx, id, shown)?)
        }
        (Of::Person(id), Some(shown)) => {
            let person = people::usecase::show(tx, id)?;
            (person.details.name, person.active, of_person(tx, id, shown)?)
        }
    };
    if feed.revoked_at.is_some() || !active {
        return Err(Refused::gone(
            "link-ended",
            "This calendar is no longer available. Ask the studio for a new address.",
        )
        .into());
    }
    Ok(calendar::feed(&format!("{name}, {}", tx.studio.name), &events))
}

/// One event for each stay of a car in the bay: from the time when it takes the bay until it leaves.
fn of_bay(tx: &mut Tx<'_>, bay: &BayId, shown: Interval) -> Done<Vec<Appointment>> {
    let standing = booking::within(tx, shown)?;
    let stays = standing.iter().flat_map(|booking| booking.place.stays.iter().enumerate().map(move |at| (booking, at)));
    let here = stays.filter(|(_, (_, stay))| stay.bay == *bay);
    let event = |(booking, (at, stay)): (&Booking, (usize, &Stay))| {
        let when = Interval::new(stay.from, stay.to)?;
        let uid = if at == 0 { booking.id.to_string() } else { format!("{}-stay-{at}", booking.id) };
        Some(event(booking, uid, booking.car(), when))
    };
    Ok(here.filter_map(event).collect())
}

/// One event for each piece of work; it says if they help a colleague.
fn of_person(tx: &mut Tx<'_>, person: &PersonId, shown: Interval) -> Done<Vec<Appointment>> {
    let pieces = booking::work_of(tx, person, shown)?;
    let ids: Vec<_> = pieces.iter().map(|(booking, _)| booking.clone()).collect();
    let bookings = booking::of_ids(tx, &ids)?;
    let plans: Vec<_> = bookings.iter().map(|booking| booking.plan.clone()).collect();
    let steps = plan::usecase::step_names(tx, &plans)?;
    let bays: BTreeMap<BayId, String> =
        shop::usecase::bays(tx)?.into_iter().map(|bay| (bay.id, bay.details.name)).collect();
    let each = pieces.iter().filter_map(|(id, piece): &(_, Attendance)| {
        let booking = bookings.iter().find(|booking| booking.id == *id)?;
        let step = steps.get(&(booking.plan.clone(), piece.step.clone())).unwrap_or(&piece.step);
        let (mark, part) = if piece.helps { ("-helps", ", helping") } else { ("", "") };
        let uid = format!("{id}-{}-{}{mark}", piece.place, piece.when.from().get());
        let event = event(booking, uid, format!("{step}{part}: {}", booking.car()), piece.when);
        let bay = booking.place.bay_at(piece.when.from());
        Some(Appointment { location: bays.get(bay).cloned().unwrap_or_default(), ..event })
    });
    Ok(each.collect())
}

/// The time stamp is that of the booking's last change, so that a calendar that has not changed has the same bytes.
fn event(booking: &Booking, uid: String, summary: String, when: Interval) -> Appointment {
    Appointment {
        uid,
        sequence: booking.version,
        stamp: booking.updated_at,
        start: UtcTime::from_minute(when.from()),
        finish: UtcTime::from_minute(when.to()),
        summary,
        location: String::new(),
        description: String::new(),
        contact: String::new(),
        organizer: None,
        alarm_minutes: None,
        standing: if booking.state == BookingState::Held { Standing::Tentative } else { Standing::Confirmed },
    }
}
