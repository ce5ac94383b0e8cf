//! Reads a day at the shop.

mod first;
mod lists;
mod to_book;

use std::collections::{BTreeMap, BTreeSet};

use baywright_domain::booking::BookingState;
use baywright_domain::customer::first_name;
use baywright_domain::id::{BookingId, PersonId, QuoteId};
use baywright_domain::job::{JobStep, StepState};
use baywright_domain::time::{Interval, IntervalSet, Minute};
use baywright_domain::visit::{Act, StretchKind, stretches};
use chrono::{DateTime, NaiveDate, Utc};

use crate::booking::usecase::{Attendance, Booking};
use crate::job::usecase::UnderWay;
use crate::platform::clock::UtcTime;
use crate::platform::fail::Done;
use crate::platform::identity::Role;
use crate::platform::tx::Tx;
use crate::shop::usecase::Bay;
use crate::{booking, job, people, plan};

pub use super::details::{BayDay, Car, First, JobDay, PersonDay, Piece, StepAtHand, Stretch, Today};
pub use lists::{About, Entry, MOST_ENTRIES, ShortList};
pub use to_book::to_book;

/// Whether the caller may see only what work on a car needs.
fn is_for_work_only(tx: &Tx<'_>) -> bool {
    matches!(tx.actor.role(), None | Some(Role::Technician))
}

/// Reads the day at the shop; `None` means the current day in the shop's time zone.
///
/// # Errors
/// `Invalid` if the day does not exist in the shop's time zone.
pub fn today(tx: &mut Tx<'_>, date: Option<NaiveDate>) -> Done<Today> {
    let date = match date {
        Some(date) => date,
        None => tx.today()?,
    };
    let (day, all_bays, bookings) = booking::usecase::day(tx, date)?;
    let ids: Vec<BookingId> = bookings.iter().map(|booking| booking.id.clone()).collect();
    let pieces = booking::usecase::pieces_of(tx, &ids)?;
    let everyone = people::usecase::everyone(tx)?;
    let hours = booking::usecase::timetable_of(tx, &all_bays, &everyone, (day.from(), day.to()))?;
    let open: BTreeMap<String, IntervalSet> = hours.bays.into_iter().map(|bay| (bay.code, bay.open)).collect();
    let bays = bays(day, &all_bays, &open, &bookings, &pieces);
    let names = names_of_steps(tx, &bookings)?;
    let working: BTreeMap<String, IntervalSet> =
        hours.technicians.into_iter().map(|one| (one.code, one.working)).collect();
    let people = everyone
        .iter()
        .map(|person| PersonDay {
            id: person.id.clone(),
            name: person.details.name.clone(),
            working: working.get(person.id.as_str()).cloned().unwrap_or_default(),
            pieces: pieces_by(&person.id, day, &bookings, &pieces, &names),
        })
        .filter(|person| !person.pieces.is_empty() || working.contains_key(person.id.as_str()))
        .collect();
    let in_bay: Vec<Booking> =
        bookings.iter().filter(|booking| booking.state == BookingState::InBay).cloned().collect();
    let under_way = job::usecase::under_way(tx, in_bay)?;
    let names = lists::Names {
        at_work: at_work(&under_way, &pieces, tx.now.minute()),
        people: everyone.into_iter().map(|one| (one.id, one.details.name)).collect(),
        bays: all_bays.into_iter().map(|bay| (bay.id, bay.details.name)).collect(),
    };
    let quotes: BTreeSet<QuoteId> = bookings.iter().map(|booking| booking.quote.clone()).collect();
    let lists::Waiting { lists, next } =
        if is_for_work_only(tx) { lists::Waiting::default() } else { lists::read(tx, &names, quotes)? };
    let now = tx.now.datetime();
    let jobs: Vec<JobDay> = under_way.into_iter().map(|one| job_day(one, now, &names.people)).collect();
    let cars: Vec<Car> = bookings.into_iter().map(|booking| car(tx, booking, &next)).collect();
    let first = if day.contains(tx.now.minute()) { first::first(&cars, &jobs, tx.now.minute()) } else { None };
    Ok(Today { date, day, cars, bays, people, jobs, first, lists })
}

fn car(tx: &Tx<'_>, booking: Booking, next: &BTreeMap<QuoteId, Act>) -> Car {
    let state = booking.state_at(tx.now);
    let name = booking.names.customer;
    Car {
        state,
        next: next.get(&booking.quote).copied(),
        version: booking.version,
        booking: booking.id,
        quote: booking.quote,
        vehicle: booking.vehicle,
        vehicle_name: booking.names.vehicle,
        registration: booking.names.registration,
        customer_name: if is_for_work_only(tx) { first_name(&name).to_owned() } else { name },
        standing: booking.place.standing,
        starts: booking.place.starts,
        promised: booking.place.promised,
    }
}

fn bays(
    day: Interval,
    all: &[Bay],
    open: &BTreeMap<String, IntervalSet>,
    bookings: &[Booking],
    pieces: &[(BookingId, Attendance)],
) -> Vec<BayDay> {
    let mut found = Vec::with_capacity(all.len());
    for bay in all {
        let mut of_bay: Vec<Stretch> = Vec::new();
        let stays = bookings.iter().flat_map(|booking| booking.place.stays.iter().map(move |stay| (booking, stay)));
        for (booking, stay) in stays.filter(|(_, stay)| stay.bay == bay.id) {
            let place = Interval::new(stay.from, stay.to);
            // The booked time of a car that is here earlier or later than booked may be on another day.
            let Some(place) = place.and_then(|place| place.intersection(day)) else { continue };
            let own = pieces.iter().filter(|(of, _)| *of == booking.id).map(|(_, piece)| piece.when);
            let held = booking.state == BookingState::Held;
            let parts = stretches(place, held, &own.collect());
            of_bay.extend(parts.into_iter().map(|(kind, when)| Stretch {
                kind,
                when,
                booking: Some(booking.id.clone()),
            }));
        }
        let hours = open.get(bay.id.as_str());
        if hours.is_none() && of_bay.is_empty() {
            continue;
        }
        let whole: IntervalSet = [day].into_iter().collect();
        let closed = hours.map_or_else(|| whole.clone(), |hours| whole.difference(hours));
        of_bay.extend(closed.iter().map(|when| Stretch { kind: StretchKind::Closed, when: *when, booking: None }));
        of_bay.sort_by_key(|one| (one.when.from(), one.kind));
        found.push(BayDay { id: bay.id.clone(), name: bay.details.name.clone(), stretches: of_bay });
    }
    found
}

/// Names of the steps of the given bookings, by booking and code.
fn names_of_steps(tx: &mut Tx<'_>, bookings: &[Booking]) -> Done<BTreeMap<(BookingId, String), String>> {
    let plans: BTreeSet<_> = bookings.iter().map(|booking| booking.plan.clone()).collect();
    let names = plan::usecase::step_names(tx, &plans.into_iter().collect::<Vec<_>>())?;
    let mut found = BTreeMap::new();
    for ((plan, code), name) in names {
        for booking in bookings.iter().filter(|booking| booking.plan == plan) {
            found.insert((booking.id.clone(), code.clone()), name.clone());
        }
    }
    Ok(found)
}

fn pieces_by(
    person: &PersonId,
    day: Interval,
    bookings: &[Booking],
    pieces: &[(BookingId, Attendance)],
    names: &BTreeMap<(BookingId, String), String>,
) -> Vec<Piece> {
    let of_day = |(of, piece): &(BookingId, Attendance)| {
        let when = piece.when.intersection(day).filter(|_| piece.person == *person)?;
        let booking = bookings.iter().find(|booking| booking.id == *of)?;
        let name = names.get(&(of.clone(), piece.step.clone()));
        Some(Piece {
            booking: of.clone(),
            bay: booking.place.bay_at(when.from()).clone(),
            step_name: name.unwrap_or(&piece.step).clone(),
            step: piece.step.clone(),
            helps: piece.helps,
            when,
        })
    };
    pieces.iter().filter_map(of_day).collect()
}

/// The person at each car now, by quote: one whose clock is running, or else one who is booked for it at this minute.
fn at_work(jobs: &[UnderWay], pieces: &[(BookingId, Attendance)], now: Minute) -> BTreeMap<QuoteId, PersonId> {
    let mut found = BTreeMap::new();
    for one in jobs {
        let runs = one.job.rules.steps.iter().flat_map(|step| &step.pieces).find(|piece| piece.until.is_none());
        let booked = pieces.iter().find(|(of, piece)| *of == one.booking.id && piece.when.contains(now));
        let who = runs.map(|piece| &piece.who).or(booked.map(|(_, piece)| &piece.person));
        found.extend(who.map(|who| (one.booking.quote.clone(), who.clone())));
    }
    found
}

fn job_day(one: UnderWay, now: DateTime<Utc>, names: &BTreeMap<PersonId, String>) -> JobDay {
    let steps = &one.job.rules.steps;
    let running = steps.iter().find(|step| step.state == StepState::Running);
    let next = running.or_else(|| one.job.rules.startable(now).first().copied());
    let step = if let Some(step) = next {
        Some(at_hand(step, None, names))
    } else {
        let open = steps.iter().find(|step| !step.state.is_settled());
        open.map(|step| at_hand(step, drying_until(steps, now), names))
    };
    JobDay {
        step,
        settled: steps.iter().filter(|step| step.state.is_settled()).count(),
        steps: steps.len(),
        id: one.job.id,
        booking: one.booking.id,
        forecast: one.forecast,
    }
}

fn at_hand(step: &JobStep, not_before: Option<UtcTime>, names: &BTreeMap<PersonId, String>) -> StepAtHand {
    let at_it = step.pieces.iter().filter(|piece| piece.until.is_none());
    let name = |who: &PersonId| names.get(who).cloned().unwrap_or_default();
    StepAtHand {
        code: step.code.to_string(),
        name: step.name.clone(),
        state: step.state,
        people: at_it.map(|piece| (piece.who.clone(), name(&piece.who))).collect(),
        not_before,
    }
}

/// The first time after now at which something has dried.
fn drying_until(steps: &[JobStep], now: DateTime<Utc>) -> Option<UtcTime> {
    steps.iter().filter_map(|step| step.clear_from).filter(|until| *until > now).min().map(UtcTime::from)
}
