//! The cars of the day, by bay: those that are here, with the step at hand, and those that come today.

use std::collections::BTreeMap;

use actix_web::get;
use actix_web::http::StatusCode;
use askama::Template;
use baywright_core::job::usecase::{Listed, Wanted, list};
use baywright_core::platform::fail::Done;
use baywright_core::platform::identity::Bay;
use baywright_core::platform::paging::Paging;
use baywright_core::platform::tx::Tx;
use baywright_core::shop::usecase::bays;
use baywright_core::today::usecase::{Car, JobDay, StepAtHand, Today, today};
use baywright_domain::booking::BookingState;
use baywright_domain::customer::first_name;
use baywright_domain::id::{BayId, BookingId, JobId};
use baywright_domain::job::StepState;
use baywright_http::platform::answer::Answer;
use baywright_http::platform::page::PageRead;

use super::HERE;
use super::frame::{BayFrame, Worker};
use crate::platform::{Wall, html};

/// Cars that the page shows at most; a studio has fewer bays than that.
const MOST: i64 = 100;

/// The page.
#[derive(Template)]
#[template(path = "job/views/all.html")]
struct AllPage {
    frame: BayFrame,
    bays: Vec<BayRow>,
}

/// A bay with its cars.
struct BayRow {
    id: String,
    name: String,
    cars: Vec<CarRow>,
}

/// A car that is here, or that the person works on later in the day.
struct CarRow {
    /// The page of the car; empty if it has not come yet.
    address: String,
    name: String,
    registration: Option<String>,
    customer: String,
    /// Sign and word of the state.
    state: (&'static str, &'static str),
    /// The step at hand, or the work of the day.
    step: String,
    progress: String,
}

/// What the page shows.
struct Found {
    worker: Worker,
    wall: Wall,
    bays: Vec<(BayId, String)>,
    jobs: Vec<Listed>,
    today: Today,
}

fn found(tx: &mut Tx<'_>) -> Done<Found> {
    let worker = Worker::of(tx)?;
    let wanted = Wanted { mine: false, open: true };
    let mut jobs = list(tx, &wanted, &Paging::first(MOST))?.items;
    jobs.sort_by_key(|job| job.booking.place.promised);
    let bays = bays(tx)?.into_iter().map(|bay| (bay.id, bay.details.name)).collect();
    Ok(Found { worker, wall: Wall::of(tx)?, bays, jobs, today: today(tx, None)? })
}

/// The step at hand in words.
fn at_hand(step: Option<&StepAtHand>, wall: &Wall) -> ((&'static str, &'static str), String) {
    let Some(step) = step else { return (("done", "done"), "All steps are done".to_owned()) };
    if let Some(until) = step.not_before {
        return (("wait", "drying"), format!("{}, from {}", step.name, wall.when(until.minute())));
    }
    match step.state {
        StepState::Running => {
            let names: Vec<&str> = step.people.iter().map(|(_, name)| name.as_str()).collect();
            (("on", "running"), format!("{}: {}", step.name, names.join(", ")))
        }
        StepState::Paused => (("wait", "stopped"), step.name.clone()),
        _ => (("", "next"), step.name.clone()),
    }
}

impl CarRow {
    fn here(job: &Listed, day: Option<&JobDay>, wall: &Wall) -> Self {
        let (names, place) = (&job.booking.names, &job.booking.place);
        let (state, step) = match day {
            Some(day) => at_hand(day.step.as_ref(), wall),
            None => (("", "here"), String::new()),
        };
        let (settled, all, promised) = (job.settled(), job.steps.len(), wall.when(place.promised));
        Self {
            address: format!("{HERE}/{}", job.id),
            name: names.vehicle.clone(),
            registration: names.registration.clone(),
            customer: first_name(&names.customer).to_owned(),
            state,
            step,
            progress: format!("{settled} of {all} steps done, promised for {promised}"),
        }
    }

    fn coming(car: &Car, step: String) -> Self {
        Self {
            address: String::new(),
            name: car.vehicle_name.clone(),
            registration: car.registration.clone(),
            customer: first_name(&car.customer_name).to_owned(),
            state: ("", "comes"),
            step,
            progress: String::new(),
        }
    }
}

/// Cars on which the person works today and that have not come yet, each with its bay.
fn coming(found: &Found) -> Vec<(BayId, CarRow)> {
    let here = |booking: &BookingId| found.jobs.iter().any(|job| job.booking.id == *booking);
    let mine = found.today.people.iter().filter(|person| person.id == found.worker.id);
    let mut rows: Vec<(BookingId, BayId, CarRow)> = Vec::new();
    for piece in mine.flat_map(|person| &person.pieces).filter(|piece| !here(&piece.booking)) {
        let car = found.today.cars.iter().find(|car| car.booking == piece.booking);
        let Some(car) = car.filter(|car| car.state == BookingState::Booked) else { continue };
        if rows.iter().all(|(known, _, _)| *known != piece.booking) {
            let step = format!("{} at {}", piece.step_name, found.wall.time(piece.when.from()));
            rows.push((piece.booking.clone(), piece.bay.clone(), CarRow::coming(car, step)));
        }
    }
    rows.into_iter().map(|(_, bay, row)| (bay, row)).collect()
}

/// The bays that have cars, in the shop's order.
fn by_bay(found: &Found) -> Vec<BayRow> {
    let days: BTreeMap<&JobId, &JobDay> = found.today.jobs.iter().map(|job| (&job.id, job)).collect();
    let here = found
        .jobs
        .iter()
        .map(|job| (job.booking.place.bay.clone(), CarRow::here(job, days.get(&job.id).copied(), &found.wall)));
    let mut cars: BTreeMap<BayId, Vec<CarRow>> = BTreeMap::new();
    for (bay, row) in here.chain(coming(found)) {
        cars.entry(bay).or_default().push(row);
    }
    let of_bay = |(id, name): &(BayId, String)| {
        let cars = cars.remove(id)?;
        Some(BayRow { id: id.to_string(), name: name.clone(), cars })
    };
    found.bays.iter().filter_map(of_bay).collect()
}

/// The cars of the day, by bay; in each, those that are promised first on top.
#[get("/bay")]
pub(super) async fn show(page: PageRead<Bay>) -> Answer {
    let found = page.read(found).await?;
    let bays = by_bay(&found);
    let place = found.worker.insider.studio.clone();
    let frame = BayFrame::new("Work in the bays", place, found.worker, page.form_code());
    html(StatusCode::OK, &AllPage { frame, bays })
}
