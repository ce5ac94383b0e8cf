//! Today: the bays as a picture and as a table, the people, the work that is under way, and what waits for somebody.
//!
//! What each role may see is decided by the use case: technicians get first names, their own jobs and no lists.
//!
//! | address | who | what |
//! | --- | --- | --- |
//! | `GET /today?date=` | owner, desk, technician | the day at the studio |

mod bays;
mod cars;
mod lists;
mod people;

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, get};
use askama::Template;
use baywright_core::platform::fail::Done;
use baywright_core::platform::identity::Crew;
use baywright_core::platform::refusal::Refused;
use baywright_core::platform::tx::Tx;
use baywright_core::today::usecase::{First, Today, today};
use baywright_domain::time::Minute;
use baywright_http::platform::answer::Answer;
use baywright_http::platform::page::PageRead;
use baywright_http::platform::unlisted::{ServiceConfig, Unlisted};
use baywright_http::platform::wire::Day;

use self::cars::CarView;
use self::lists::ListView;
use self::people::PersonView;
use crate::platform::form::Fields;
use crate::platform::picture::Picture;
use crate::platform::{DeskFrame, Insider, Wall, html};
use crate::visit::act::{Press, Verb};
use crate::visit::at;

/// The address of the page.
const HERE: &str = "/today";

/// The page of a day.
#[derive(Template)]
#[template(path = "today/views/today.html")]
struct Page {
    frame: DeskFrame,
    view: View,
}

/// What comes first, in the lamp.
struct Lamp {
    /// Sign and word above the heading.
    word: &'static str,
    /// Class of the word.
    class: &'static str,
    heading: String,
    text: String,
    press: Option<Press>,
    /// Address and label of each link, the main one first if there is no form.
    links: Vec<(String, &'static str)>,
}

/// A day as the page shows it.
struct View {
    heading: String,
    clock: String,
    before: String,
    after: String,
    is_today: bool,
    lamp: Option<Lamp>,
    picture: Picture,
    cars: Vec<CarView>,
    people: Vec<PersonView>,
    lists: Vec<ListView>,
}

/// Adds the feature's page.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(Unlisted::get("/today", show));
}

/// What comes first.
fn lamp(day: &Today, wall: &Wall, insider: &Insider) -> Option<Lamp> {
    let first = day.first.as_ref()?;
    let (First::Late { booking, .. } | First::HandOver(booking) | First::TakeIn(booking)) = first;
    let car = day.cars.iter().find(|car| car.booking == *booking)?;
    let name = car.vehicle_name.as_str();
    let page = (at(&car.quote), "Open this stay");
    let promised = wall.when(car.promised);
    Some(match first {
        First::Late { by, .. } => {
            let job = day.jobs.iter().find(|job| job.booking == *booking);
            let expected = job.and_then(|job| job.forecast.expected);
            let expected = expected.map_or_else(|| "later".to_owned(), |at| wall.when(at));
            let text = format!("It was promised for {promised} and will be done at about {expected}.");
            if insider.is_at_desk() {
                Lamp {
                    word: "Later than promised",
                    class: "late",
                    heading: format!("Tell {}: {name} is {by} late", car.customer_name),
                    text,
                    press: None,
                    links: vec![page, ("/diary".to_owned(), "Look for another way in the diary")],
                }
            } else {
                Lamp {
                    word: "Later than promised",
                    class: "late",
                    heading: format!("{name} is {by} late"),
                    text,
                    press: None,
                    links: vec![("/bay".to_owned(), "Open the work in the bays")],
                }
            }
        }
        First::HandOver(_) => Lamp {
            word: "Ready",
            class: "done",
            heading: format!("Hand {name} over to {}", car.customer_name),
            text: format!("It was promised for {promised}."),
            press: None,
            links: vec![(Verb::HandOver.address(&car.quote), Verb::HandOver.label()), page],
        },
        First::TakeIn(_) => Lamp {
            word: "Expected",
            class: "",
            heading: format!("Take {name} in"),
            text: format!("{} comes at {}.", car.customer_name, wall.when(car.starts)),
            press: Some(Press::new(Verb::Arrive, &car.quote, &car.booking, car.version)),
            links: vec![page],
        },
    })
}

fn found(tx: &mut Tx<'_>, date: Option<Day>) -> Done<(Insider, View)> {
    let insider = Insider::of(tx)?;
    let wall = Wall::of(tx)?;
    let day = today(tx, date.map(|day| day.0))?;
    let is_today = day.day.contains(wall.now());
    let beside = |at: i64| format!("{HERE}?date={}", wall.iso_day(Minute::new(at)));
    let view = View {
        heading: wall.day_in_full(day.day.from()),
        clock: if is_today { wall.time(wall.now()) } else { String::new() },
        before: beside(day.day.from().get() - 1),
        after: beside(day.day.to().get()),
        is_today,
        lamp: lamp(&day, &wall, &insider),
        picture: bays::picture(&day, &wall),
        cars: cars::views(&day, &wall, &insider),
        people: people::views(&day, &wall),
        lists: lists::views(tx, day.lists, &wall),
    };
    Ok((insider, view))
}

/// A day at the studio; the current one unless the address names another.
#[get("/today")]
async fn show(page: PageRead<Crew>, request: HttpRequest) -> Answer {
    let typed = Fields::of_query(request.query_string()).text("date");
    let date = if typed.is_empty() { None } else { Some(Day::parse(&typed).map_err(|_| Refused::not_found("day"))?) };
    let (insider, view) = page.read(move |tx| found(tx, date)).await?;
    let title = if view.is_today { "Today".to_owned() } else { view.heading.clone() };
    let frame = DeskFrame::new(title, insider, page.form_code(), HERE);
    html(StatusCode::OK, &Page { frame, view })
}
