//! One visit: what must happen next, how far it has come, its money, its time, and everything that happened.

mod figures;

use actix_web::http::StatusCode;
use actix_web::web::Path;
use actix_web::{HttpRequest, get};
use askama::Template;
use baywright_core::customer::usecase::{self as customer, Customer};
use baywright_core::message::usecase as message;
use baywright_core::platform::fail::Done;
use baywright_core::platform::identity::Accounts;
use baywright_core::platform::paging::Paging;
use baywright_core::platform::tx::Tx;
use baywright_core::visit::usecase::{self, Told};
use baywright_domain::id::QuoteId;
use baywright_domain::invoice::State;
use baywright_domain::message::MessageState;
use baywright_domain::visit::{Next, Stage};
use baywright_http::platform::answer::Answer;
use baywright_http::platform::page::PageRead;

use self::figures::{money, papers, times};
use super::HERE;
use super::act::{Press, Verb, Way, others, ways};
use super::story::EventView;
use crate::platform::form::Fields;
use crate::platform::{DeskFrame, Insider, Reach, Wall, html};

/// Number of failed mails of the studio among which those of a visit are looked for.
const MOST_FAILED: i64 = 100;

/// The page of a visit.
#[derive(Template)]
#[template(path = "visit/views/one.html")]
struct Page {
    frame: DeskFrame,
    view: View,
    /// What was just done; empty if nothing was.
    said: &'static str,
}

/// A row of figures: label, value, and whether it is a sum.
#[derive(Debug, Clone)]
struct Row {
    label: String,
    value: String,
    is_sum: bool,
}

/// A link.
#[derive(Debug, Clone)]
struct Link {
    address: String,
    label: String,
}

/// A stage on the way of the stay.
#[derive(Debug, Clone)]
struct Bead {
    label: &'static str,
    /// `past`, `here` or empty.
    class: &'static str,
}

/// What comes next, in the lamp.
#[derive(Debug, Clone)]
struct Lamp {
    /// Whose turn it is, or that the stay has ended.
    turn: String,
    heading: String,
    /// The main way on, if one press does it.
    press: Option<Press>,
    /// The other ways on, the main one first if it is a link.
    links: Vec<Link>,
}

/// A visit as the page shows it.
#[derive(Debug, Clone)]
struct View {
    car: String,
    registration: Option<String>,
    customer: String,
    /// Telephone numbers and email addresses of the customer.
    contacts: Vec<Link>,
    /// Address of the other visits of the customer.
    all_of_customer: String,
    lamp: Lamp,
    beads: Vec<Bead>,
    money: Vec<Row>,
    times: Vec<Row>,
    papers: Vec<Row>,
    failed: Vec<Link>,
    others: Vec<Link>,
    events: Vec<EventView>,
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

fn beads(reached: Stage) -> Vec<Bead> {
    let class = |stage: Stage| match stage.cmp(&reached) {
        std::cmp::Ordering::Less => "past",
        std::cmp::Ordering::Equal => "here",
        std::cmp::Ordering::Greater => "",
    };
    Stage::ALL.iter().map(|stage| Bead { label: label(*stage), class: class(*stage) }).collect()
}

const fn label(stage: Stage) -> &'static str {
    match stage {
        Stage::Asked => "Asked",
        Stage::Quoted => "Quoted",
        Stage::Signed => "Signed",
        Stage::Booked => "Booked",
        Stage::Here => "Here",
        Stage::Ready => "Ready",
        Stage::HandedOver => "Handed over",
        Stage::Invoiced => "Invoiced",
        Stage::Paid => "Paid",
    }
}

/// What comes next; only people at the desk get ways on.
fn lamp(told: &Told, is_at_desk: bool) -> Lamp {
    let visit = &told.visit;
    let act = match visit.next {
        Next::Act(act) => act,
        Next::Done(outcome) => {
            let (press, links) = (None, Vec::new());
            return Lamp { turn: "This stay has ended".to_owned(), heading: capital(outcome.label()), press, links };
        }
    };
    let is_drafted = visit.invoice.as_ref().is_some_and(|invoice| invoice.state == State::Draft);
    let mut press = None;
    let mut links = Vec::new();
    let all = if is_at_desk { ways(act, &visit.head.quote, told.enquiries.last(), is_drafted) } else { Vec::new() };
    for (place, way) in all.into_iter().enumerate() {
        match way {
            Way::Do(verb) => match visit.booking.as_ref().filter(|_| place == 0 && verb.is_one_press()) {
                Some(booking) => {
                    press = Some(Press::new(verb, &visit.head.quote, &booking.id, booking.version));
                    if verb == Verb::Invoice {
                        let label = "Add a note or an order number first".to_owned();
                        links.push(Link { address: verb.address(&visit.head.quote), label });
                    }
                }
                None => links.push(link(verb, &visit.head.quote)),
            },
            Way::Go { address, label } => links.push(Link { address, label: label.to_owned() }),
        }
    }
    Lamp { turn: format!("Next: {}", act.by().label()), heading: capital(act.label()), press, links }
}

fn link(verb: Verb, quote: &QuoteId) -> Link {
    Link { address: verb.address(quote), label: verb.label().to_owned() }
}

/// What else can be done, last the way back.
fn beside(told: &Told, wall: &Wall) -> Vec<Link> {
    let visit = &told.visit;
    let booking = visit.booking.as_ref();
    let has_started = booking.is_some_and(|booking| booking.place.starts <= wall.now());
    let mut verbs = others(visit.quote_state, booking.map(|booking| booking.state), has_started);
    if booking.is_some_and(|booking| booking.last_move().is_some()) {
        verbs.push(Verb::Undo);
    }
    verbs.into_iter().map(|verb| link(verb, &visit.head.quote)).collect()
}

/// Links that dial each number of a customer and write to each address.
fn contacts(customer: Customer) -> Vec<Link> {
    let reach =
        |phone: &str, email: &str| Reach { name: String::new(), phone: phone.to_owned(), email: email.to_owned() };
    let phones = customer.details.phones.into_iter();
    let phones = phones.map(|phone| Link { address: reach(&phone, "").tel(), label: phone });
    let emails = customer.details.emails.into_iter();
    let emails = emails.map(|email| Link { address: reach("", &email).mailto(), label: email });
    phones.chain(emails).collect()
}

/// The mails of a visit that did not arrive.
fn failed(tx: &mut Tx<'_>, told: &Told) -> Done<Vec<Link>> {
    if told.messages.is_empty() {
        return Ok(Vec::new());
    }
    let wanted = message::Wanted { states: vec![MessageState::Failed], about: None };
    let failed = message::list(tx, &wanted, &Paging::first(MOST_FAILED))?.items;
    let own = failed.into_iter().filter(|mail| told.messages.contains(&mail.id));
    Ok(own.map(|mail| Link { address: format!("/mails/{}", mail.id), label: mail.letter.subject }).collect())
}

fn found(tx: &mut Tx<'_>, quote: &QuoteId) -> Done<(Insider, View)> {
    let insider = Insider::of(tx)?;
    let told = usecase::show(tx, quote)?;
    let wall = Wall::of(tx)?;
    let head = &told.visit.head;
    let customer: Option<Customer> =
        if insider.is_at_desk() { customer::of_ids(tx, std::slice::from_ref(&head.customer))?.pop() } else { None };
    let view = View {
        car: head.vehicle_name.clone(),
        registration: head.registration.clone(),
        customer: head.customer_name.clone(),
        contacts: customer.map(contacts).unwrap_or_default(),
        all_of_customer: format!("{HERE}?customer_id={}", head.customer),
        lamp: lamp(&told, insider.is_at_desk()),
        beads: beads(told.visit.stage),
        money: money(tx, &told)?,
        times: times(tx, &told, &wall)?,
        papers: papers(tx, &told)?,
        failed: failed(tx, &told)?,
        others: if insider.is_at_desk() { beside(&told, &wall) } else { Vec::new() },
        events: told.events.iter().rev().filter_map(|event| EventView::of(event, &wall)).collect(),
    };
    Ok((insider, view))
}

/// One visit.
#[get("/cars/{id}")]
pub(super) async fn show(page: PageRead<Accounts>, id: Path<String>, request: HttpRequest) -> Answer {
    let quote = QuoteId::new(id.into_inner());
    let done = Fields::of_query(request.query_string()).text("done");
    let said = Verb::of_slug(&done).map_or("", Verb::said);
    let (insider, view) = page.read(move |tx| found(tx, &quote)).await?;
    let frame = DeskFrame::new(format!("{}, {}", view.car, view.customer), insider, page.form_code(), HERE);
    html(StatusCode::OK, &Page { frame, view, said })
}
