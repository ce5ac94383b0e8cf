//! New plans of the next days: asking for one, looking at it beside the diary, and accepting it.

use std::num::NonZeroU32;

use actix_web::http::StatusCode;
use actix_web::web::Path;
use actix_web::{HttpRequest, get, post};
use askama::Template;
use baywright_core::booking::usecase::{MOST_DAYS, Overrun, USUAL_DAYS};
use baywright_core::diary::usecase::{Car, Replanned, cars_here, replanned};
use baywright_core::platform::fail::Done;
use baywright_core::platform::identity::{Desk, Owner};
use baywright_core::platform::ids;
use baywright_core::platform::paging::Paging;
use baywright_core::platform::refusal::Refused;
use baywright_core::platform::tx::Tx;
use baywright_core::rescheduling::usecase::{self, Another, Question, Rescheduling, Thought};
use baywright_core::today::usecase::to_book;
use baywright_core::visit::usecase::Head;
use baywright_domain::id::{BookingId, QuoteId, ReschedulingId};
use baywright_domain::rescheduling::ReschedulingState;
use baywright_http::platform::answer::Answer;
use baywright_http::platform::call::blocking;
use baywright_http::platform::page::{PageRead, PageWrite};
use baywright_http::platform::problem::Problem;
use baywright_http::platform::wire::Day;

use super::HERE;
use super::act::{can_be_shown, tried};
use super::clock::Clock;
use super::picture::Picture;
use super::plan_view::{self, MovedRow};
use super::shown::CarShown;
use crate::platform::form::{Entry, Fields, FormPage, FormView, Input, Reading, minute_of_day};
use crate::platform::{DeskFrame, Insider, filters, html, plainly};

/// The address of the page that asks for a plan.
const PLANS: &str = "/diary/week-plan";

/// Number of earlier plans that are listed.
const LISTED: i64 = 10;

/// What the page that asks for a plan shows.
struct Found {
    insider: Insider,
    clock: Clock,
    to_book: Vec<Head>,
    here: Vec<Car>,
    plans: Vec<Rescheduling>,
}

fn found(tx: &mut Tx<'_>) -> Done<Found> {
    Ok(Found {
        insider: Insider::of(tx)?,
        clock: Clock::of(tx)?,
        to_book: to_book(tx)?,
        here: cars_here(tx)?,
        plans: usecase::list(tx, &Paging::first(LISTED))?.items,
    })
}

fn inputs(found: &Found) -> Vec<Input> {
    let days = format!("From 1 to {MOST_DAYS}. Bookings after these days stay as they are.");
    let mut inputs = vec![Input::short("days", "Number of days from now").hint(days)];
    if !found.to_book.is_empty() {
        let quotes = found.to_book.iter().map(|head| {
            (head.quote.to_string(), format!("{}, {}, {}", head.number, head.customer_name, head.vehicle_name))
        });
        let ticks = Input::ticks("quotes", "Signed work that should get a place too", quotes.collect());
        inputs.push(ticks.hint("Leave all of it out to plan only what is booked."));
    }
    if !found.here.is_empty() {
        let none = [(String::new(), "No car".to_owned())];
        let here = found.here.iter().map(|car| {
            let id = car.booking.as_ref().map(ToString::to_string).unwrap_or_default();
            (id, CarShown::of(car).whole())
        });
        let cars = Input::short("longer.booking_id", "A car that stays longer than planned");
        inputs.push(cars.options(none.into_iter().chain(here).collect()));
        inputs.push(Input { kind: "date", ..Input::short("longer.day", "Until") }.optional().beside());
        inputs.push(Input::short("longer.time", "Time").optional().beside());
    }
    inputs
}

/// What the form asks for, or everything that is wrong with it.
fn read(fields: &Fields, clock: &Clock) -> Result<Question, Refused> {
    let mut form = Reading::of(fields);
    let days = form.needed("days", |text| {
        let days = text.trim().parse().ok().filter(|days| (1..=MOST_DAYS).contains(days));
        days.ok_or_else(|| format!("write a whole number from 1 to {MOST_DAYS}"))
    });
    let another = |quote: &str| Another {
        quote: QuoteId::new(quote),
        from: None,
        due: None,
        latest: None,
        weight: NonZeroU32::MIN,
    };
    let others = fields.all("quotes").map(another).collect();
    let mut overruns = Vec::new();
    if let Some(booking) = form.optional("longer.booking_id", |text| Ok(BookingId::new(text))) {
        let day = form.needed("longer.day", |text| Day::parse(text.trim()));
        let time = form.needed("longer.time", minute_of_day);
        overruns.extend(day.zip(time).map(|(day, time)| Overrun { booking, finish: clock.at(day, time) }));
    }
    form.done(days.map(|days| Question { days, others, overruns }))
}

fn entry(plan: &Rescheduling, clock: &Clock) -> Entry {
    let note = match (plan.state, plan.week.moves()) {
        (ReschedulingState::Accepted, _) => "accepted".to_owned(),
        (ReschedulingState::Open, 0) => "moves no promise".to_owned(),
        (ReschedulingState::Open, 1) => "moves 1 promise".to_owned(),
        (ReschedulingState::Open, moves) => format!("moves {moves} promises"),
    };
    let title = format!("Plan of {}", clock.moment(plan.created_at.minute()));
    Entry { title, note, address: format!("{PLANS}/{}", plan.id) }
}

fn shown(found: Found, form: FormView, status: StatusCode) -> Answer {
    let plans = found.plans.iter().map(|plan| entry(plan, &found.clock)).collect();
    FormPage::new("New plan of the next days", found.insider, HERE, form, PLANS)
        .lead(
            "All booked cars that have not come yet are placed again, so that as few promises as possible move. It takes a \
             few seconds, and nothing changes before you accept the plan.",
        )
        .list("Earlier plans", plans)
        .form_heading("Ask for a plan", "Make a plan")
        .leave(HERE)
        .answer(status)
}

/// The form that asks for a plan, and earlier plans.
#[get("/diary/week-plan")]
pub(super) async fn show(page: PageRead<Desk>, request: HttpRequest) -> Answer {
    let asked = Fields::of_query(request.query_string());
    let found = page.read(found).await?;
    let usual = Fields::of_record([("days", USUAL_DAYS.to_string())]);
    let form = FormView::new(inputs(&found), &asked.and(usual), page.form_code());
    shown(found, form, StatusCode::OK)
}

/// Runs the search. Only a few run at once, since each keeps a processor busy for seconds.
async fn thought(page: &PageWrite<Desk>, question: Question) -> Result<Thought, Problem> {
    let busy = |_| Refused::unavailable("Other plans are being made right now. Try again in a few seconds.");
    let place = page.app().thinking.clone().try_acquire_owned().map_err(busy)?;
    let asked = page.read(move |tx| usecase::ask(tx, &question)).await?;
    blocking(move || {
        // Held as long as the search runs, even if the browser that asked has gone.
        let _place = place;
        Ok(usecase::think(&asked))
    })
    .await
}

/// Makes a plan and keeps it; gives the answer, or the problem that the form can show.
async fn made(page: &PageWrite<Desk>, fields: &Fields) -> Result<Answer, Problem> {
    let clock = page.read(|tx| Clock::of(tx)).await?;
    let question = match read(fields, &clock) {
        Ok(question) => question,
        Err(refused) => return Ok(Err(refused.into())),
    };
    match thought(page, question).await {
        Ok(Thought::Placed(week)) => {
            tried(page, move |tx| Ok(format!("{PLANS}/{}", usecase::keep(tx, &week)?.id))).await
        }
        Ok(Thought::Unplaced { quotes, .. }) => {
            let detail = match quotes.len() {
                1 => "One of the cars does not fit into these days with the others. Leave it out, or plan more days.",
                _ => "Some of the cars do not fit into these days with the others. Leave some out, or plan more days.",
            };
            Ok(Err(Refused::conflict("does-not-fit", detail).into()))
        }
        Err(problem) if can_be_shown(&problem) => Ok(Err(at_its_field(problem))),
        Err(problem) => Err(problem),
    }
}

/// Faults of the request for a plan, at the fields of the form.
fn at_its_field(problem: Problem) -> Problem {
    let moved = problem.refused().errors().iter().cloned().map(|mut fault| {
        if fault.pointer.starts_with("/overruns") {
            "/longer/time".clone_into(&mut fault.pointer);
        } else if fault.pointer.starts_with("/quotes") {
            "/quotes".clone_into(&mut fault.pointer);
        }
        fault
    });
    let moved: Vec<_> = moved.collect();
    if moved.is_empty() { problem } else { problem.with_faults(moved) }
}

/// Makes a plan, which can then be accepted.
#[post("/diary/week-plan")]
pub(super) async fn ask(page: PageWrite<Desk>) -> Answer {
    let fields = Fields::of_form(page.form());
    let problem = match made(&page, &fields).await? {
        Ok(answer) => return Ok(answer),
        Err(problem) => problem,
    };
    let found = page.read(found).await?;
    let form = FormView::new(inputs(&found), &fields, page.form_code()).after(&problem, &Fields::default());
    shown(found, form, problem.status())
}

/// The page of a plan.
#[derive(Template)]
#[template(path = "diary/views/plan.html")]
struct PlanPage {
    frame: DeskFrame,
    /// Why it was not accepted; empty if nothing was refused.
    refused: String,
    /// Whether it was accepted a moment ago.
    is_accepted_now: bool,
    is_open: bool,
    rows: Vec<MovedRow>,
    /// The days before and after; empty if no place changes.
    pictures: Vec<Picture>,
    /// Cars that stay longer, each with its new finish.
    longer: Vec<(CarShown, String)>,
    /// Cars that no plan moves, although their bookings can't be kept.
    by_hand: Vec<CarShown>,
    kept: usize,
    promises: usize,
    proven: bool,
    accept: String,
    key: String,
    version: i64,
}

fn plan_page(
    (insider, plan, clock): (Insider, Replanned, Clock),
    code: &str,
    (refused, is_accepted_now): (String, bool),
    status: StatusCode,
) -> Answer {
    let pictures = plan_view::pictures(&plan, &clock);
    let title = if refused.is_empty() { "Plan of the next days" } else { "Error: Plan of the next days" };
    html(
        status,
        &PlanPage {
            frame: DeskFrame::new(title, insider, code, HERE),
            refused,
            is_accepted_now,
            is_open: plan.is_open,
            rows: plan_view::rows(&plan, &clock),
            pictures: pictures.map(|(before, after)| vec![before, after]).unwrap_or_default(),
            longer: plan.longer.iter().map(|(car, at)| (CarShown::of(car), clock.moment(*at))).collect(),
            by_hand: plan.unmoved.iter().filter(|(_, broken)| *broken).map(|(car, _)| CarShown::of(car)).collect(),
            kept: plan.kept.len(),
            promises: plan.promises,
            proven: plan.proven,
            accept: format!("{PLANS}/{}/accept", plan.id),
            key: ids::new(),
            version: plan.version,
        },
    )
}

fn found_one(tx: &mut Tx<'_>, id: &ReschedulingId) -> Done<(Insider, Replanned, Clock)> {
    Ok((Insider::of(tx)?, replanned(tx, id)?, Clock::of(tx)?))
}

/// A plan beside the diary as it was.
#[get("/diary/week-plan/{id}")]
pub(super) async fn show_one(page: PageRead<Desk>, request: HttpRequest, id: Path<String>) -> Answer {
    let asked = Fields::of_query(request.query_string());
    let id = ReschedulingId::new(id.into_inner());
    let found = page.read(move |tx| found_one(tx, &id)).await?;
    plan_page(found, page.form_code(), (String::new(), asked.yes("accepted")), StatusCode::OK)
}

/// Changes the diary to a plan.
#[post("/diary/week-plan/{id}/accept")]
pub(super) async fn take(page: PageWrite<Owner>, id: Path<String>) -> Answer {
    let id = ReschedulingId::new(id.into_inner());
    let seen = Reading::of(&Fields::of_form(page.form())).version()?;
    let of = id.clone();
    let accepted = tried(&page, move |tx| {
        usecase::accept(tx, &of, seen)?;
        Ok(format!("{PLANS}/{of}?accepted=yes"))
    });
    let problem = match accepted.await? {
        Ok(answer) => return Ok(answer),
        Err(problem) => problem,
    };
    let found = page.read(move |tx| found_one(tx, &id)).await?;
    plan_page(found, page.form_code(), (plainly(problem.detail()), false), problem.status())
}
