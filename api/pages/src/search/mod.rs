//! One box that finds people, cars and papers by any part of a name, registration, telephone number or number.
//!
//! | address | who | what |
//! | --- | --- | --- |
//! | `GET /find` | owner, desk | what was found, in groups |

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, get};
use askama::Template;
use baywright_core::platform::fail::Done;
use baywright_core::platform::identity::Desk;
use baywright_core::platform::tx::Tx;
use baywright_core::search::usecase::{Hit, MOST, search};
use baywright_core::visit::usecase::{Visit, of_hits};
use baywright_http::platform::answer::Answer;
use baywright_http::platform::page::PageRead;
use baywright_http::platform::unlisted::{ServiceConfig, Unlisted};

use crate::platform::form::Fields;
use crate::platform::{DeskFrame, Insider, Wall, html};
use crate::visit::{Car, at};

/// Maximum number of visits on the page.
const MOST_VISITS: i64 = 20;

/// Maximum length of what is looked for, in characters.
const LONGEST: usize = 100;

/// The page of what was found.
#[derive(Template)]
#[template(path = "search/views/find.html")]
struct Page {
    frame: DeskFrame,
    /// What was typed.
    typed: String,
    cars: Vec<Car>,
    groups: Vec<Group>,
    /// Whether there is more than the page shows.
    more: bool,
}

/// Records of one kind.
struct Group {
    id: &'static str,
    label: &'static str,
    hits: Vec<HitView>,
}

/// A record that was found.
struct HitView {
    title: String,
    detail: String,
    /// Its page; empty if it has none.
    address: String,
}

/// Adds the feature's page.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(Unlisted::get("/find", find));
}

/// Kind of each group, with its id and label on the page.
const GROUPS: [(&str, &str, &str); 5] = [
    ("customer", "customers", "Customers"),
    ("vehicle", "vehicles", "Vehicles"),
    ("enquiry", "enquiries", "Enquiries"),
    ("quote", "quotes", "Quotes"),
    ("invoice", "invoices", "Invoices"),
];

fn address(hit: &Hit, visits: &[Visit]) -> String {
    match hit.kind.as_str() {
        "customer" => format!("/cars?customer_id={}", hit.id),
        "vehicle" => format!("/cars?vehicle_id={}", hit.id),
        "enquiry" => format!("/new-car/{}", hit.id),
        "quote" => format!("/cars/{}", hit.id),
        _ => {
            let of_invoice = |visit: &&Visit| visit.invoice.as_ref().is_some_and(|one| one.id.as_str() == hit.id);
            visits.iter().find(of_invoice).map(|visit| at(&visit.head.quote)).unwrap_or_default()
        }
    }
}

fn groups(hits: &[Hit], visits: &[Visit]) -> Vec<Group> {
    let of_kind = |kind: &str| -> Vec<HitView> {
        let hits = hits.iter().filter(|hit| hit.kind == kind);
        hits.map(|hit| HitView { title: hit.title.clone(), detail: hit.detail.clone(), address: address(hit, visits) })
            .collect()
    };
    let all = GROUPS.into_iter().map(|(kind, id, label)| Group { id, label, hits: of_kind(kind) });
    all.filter(|group| !group.hits.is_empty()).collect()
}

/// The person, the visits and the other records that match, and whether there are more.
fn found(tx: &mut Tx<'_>, typed: &str) -> Done<(Insider, Vec<Car>, Vec<Group>, bool)> {
    let insider = Insider::of(tx)?;
    if typed.is_empty() {
        return Ok((insider, Vec::new(), Vec::new(), false));
    }
    let wall = Wall::of(tx)?;
    let (hits, more) = search(tx, typed, MOST)?;
    let visits = of_hits(tx, &hits, MOST_VISITS)?;
    let cars = visits.iter().map(|visit| Car::of(visit, tx, &wall)).collect();
    Ok((insider, cars, groups(&hits, &visits), more))
}

/// What was found, and the box to look for something else.
#[get("/find")]
async fn find(page: PageRead<Desk>, request: HttpRequest) -> Answer {
    let typed: String = Fields::of_query(request.query_string()).text("q").trim().chars().take(LONGEST).collect();
    let of = typed.clone();
    let (insider, cars, groups, more) = page.read(move |tx| found(tx, &of)).await?;
    let title = if typed.is_empty() { "Find".to_owned() } else { format!("Find: {typed}") };
    let frame = DeskFrame::new(title, insider, page.form_code(), "/find");
    html(StatusCode::OK, &Page { frame, typed, cars, groups, more })
}
