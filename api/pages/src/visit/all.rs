//! All visits, newest first, in groups.

use actix_web::get;
use actix_web::http::StatusCode;
use askama::Template;
use baywright_core::platform::fail::Done;
use baywright_core::platform::identity::Accounts;
use baywright_core::platform::kept::Amount;
use baywright_core::platform::paging::{Paging, Slice};
use baywright_core::platform::tx::Tx;
use baywright_core::visit::usecase::{self, Visit, Wanted};
use baywright_domain::visit::VisitGroup;
use baywright_http::platform::answer::Answer;
use baywright_http::platform::cursor::List;
use baywright_http::platform::page::PageRead;
use baywright_http::visit::VisitFilter;

use super::{HERE, at};
use crate::platform::{DeskFrame, Insider, Wall, html};

/// The page of the list.
#[derive(Template)]
#[template(path = "visit/views/all.html")]
struct Page {
    frame: DeskFrame,
    heading: String,
    groups: Vec<Group>,
    cars: Vec<Car>,
    next: Option<String>,
    prev: Option<String>,
}

/// A link to a group.
struct Group {
    address: String,
    label: &'static str,
    is_here: bool,
}

/// A visit in the list.
pub(crate) struct Car {
    /// Its page.
    pub(crate) address: String,
    /// What people call the car.
    pub(crate) name: String,
    /// Its registration.
    pub(crate) registration: Option<String>,
    /// The customer, the number of the quote and the day on which it was made.
    pub(crate) about: String,
    /// What comes next, or how it ended.
    pub(crate) next: String,
    /// What it is about in money; empty if there is none.
    pub(crate) amount: String,
}

impl Car {
    /// The visit with what it is about in money: the unpaid amount, or what was offered.
    pub(crate) fn of(visit: &Visit, tx: &Tx<'_>, wall: &Wall) -> Self {
        let head = &visit.head;
        let issued = visit.invoice.as_ref().filter(|invoice| invoice.number.is_some());
        let amount = |money| Amount::of(money, tx.studio.currency);
        let amount = match issued {
            Some(invoice) => Some(format!("{} to pay", amount(invoice.open))),
            None => visit.payable.map(|payable| amount(payable).to_string()),
        };
        let day = wall.day(head.created_at.minute());
        Self {
            address: at(&head.quote),
            name: head.vehicle_name.clone(),
            registration: head.registration.clone(),
            about: format!("{}, {}, {day}", head.customer_name, head.number),
            next: match visit.next.outcome() {
                Some(outcome) => format!("Ended: {}", outcome.label()),
                None => format!("Next: {}", visit.next.words()),
            },
            amount: amount.unwrap_or_default(),
        }
    }
}

const fn label(group: VisitGroup) -> &'static str {
    match group {
        VisitGroup::Offered => "Quotes to send or to sign",
        VisitGroup::Booked => "Booked",
        VisitGroup::Here => "Here now",
        VisitGroup::Unpaid => "To invoice or to pay",
    }
}

fn groups(chosen: Option<VisitGroup>, is_narrowed: bool) -> Vec<Group> {
    let all = Group { address: HERE.to_owned(), label: "All cars", is_here: chosen.is_none() && !is_narrowed };
    let others = VisitGroup::ALL.iter().map(|group| Group {
        address: format!("{HERE}?group={}", group.as_str()),
        label: label(*group),
        is_here: chosen == Some(*group),
    });
    std::iter::once(all).chain(others).collect()
}

fn found(tx: &mut Tx<'_>, wanted: &Wanted, paging: &Paging) -> Done<(Insider, Slice<Car>, String)> {
    let insider = Insider::of(tx)?;
    let wall = Wall::of(tx)?;
    let visits = usecase::list(tx, wanted, paging)?;
    let first = visits.items.first().map(|visit| &visit.head);
    let heading = match (first, &wanted.customer, &wanted.vehicle) {
        (Some(head), Some(_), _) => format!("Cars of {}", head.customer_name),
        (Some(head), None, Some(_)) => format!("Stays of the {}", head.vehicle_name),
        _ => "Cars".to_owned(),
    };
    Ok((insider, visits.map(|visit| Car::of(&visit, tx, &wall)), heading))
}

/// All visits.
#[get("/cars")]
pub(super) async fn show(page: PageRead<Accounts>, list: List<VisitFilter>) -> Answer {
    let wanted = list.filter.wanted();
    let groups = groups(wanted.group, wanted.customer.is_some() || wanted.vehicle.is_some());
    let paging = list.paging;
    let (insider, cars, heading) = page.read(move |tx| found(tx, &wanted, &paging)).await?;
    let cars = list.links.page(cars);
    let frame = DeskFrame::new(heading.clone(), insider, page.form_code(), HERE);
    html(StatusCode::OK, &Page { frame, heading, groups, next: cars.next, prev: cars.prev, cars: cars.items })
}
