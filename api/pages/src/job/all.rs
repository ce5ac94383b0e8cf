//! The cars whose work is under way.

use actix_web::get;
use actix_web::http::StatusCode;
use askama::Template;
use baywright_core::job::usecase::{Listed, Wanted, list};
use baywright_core::platform::fail::Done;
use baywright_core::platform::identity::Crew;
use baywright_core::platform::paging::Paging;
use baywright_core::platform::tx::Tx;
use baywright_domain::customer::first_name;
use baywright_http::platform::answer::Answer;
use baywright_http::platform::page::PageRead;

use super::HERE;
use crate::platform::{DeskFrame, Insider, Wall, html};

/// Cars that the page shows at most; a studio has fewer bays than that.
const MOST: i64 = 100;

/// The page.
#[derive(Template)]
#[template(path = "job/views/all.html")]
struct AllPage {
    frame: DeskFrame,
    cars: Vec<CarRow>,
}

/// A car that is here.
struct CarRow {
    address: String,
    name: String,
    registration: Option<String>,
    customer: String,
    progress: String,
}

impl CarRow {
    fn of(job: &Listed, wall: &Wall) -> Self {
        let (names, place) = (&job.booking.names, &job.booking.place);
        Self {
            address: format!("{HERE}/{}", job.id),
            name: names.vehicle.clone(),
            registration: names.registration.clone(),
            customer: first_name(&names.customer).to_owned(),
            progress: format!(
                "{} of {} steps done, promised for {}",
                job.settled(),
                job.steps.len(),
                wall.when(place.promised)
            ),
        }
    }
}

fn found(tx: &mut Tx<'_>) -> Done<(Insider, Wall, Vec<Listed>)> {
    let wanted = Wanted { mine: false, open: true };
    Ok((Insider::of(tx)?, Wall::of(tx)?, list(tx, &wanted, &Paging::first(MOST))?.items))
}

/// The cars whose work is under way, those that are promised first on top.
#[get("/bay")]
pub(super) async fn show(page: PageRead<Crew>) -> Answer {
    let (insider, wall, mut jobs) = page.read(found).await?;
    jobs.sort_by_key(|job| job.booking.place.promised);
    let cars = jobs.iter().map(|job| CarRow::of(job, &wall)).collect();
    let frame = DeskFrame::new("Work in the bays", insider, page.form_code(), HERE);
    html(StatusCode::OK, &AllPage { frame, cars })
}
