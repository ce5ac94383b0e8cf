//! Times to choose from: for signed work that has no time yet, and for a booking that moves.

use actix_web::http::StatusCode;
use actix_web::web::Path;
use actix_web::{HttpRequest, get, post};
use askama::Template;
use baywright_core::booking::usecase::{self, Destination, NewBooking, Wish};
use baywright_core::diary::usecase::{Car, Names, Offered, offered, place_of};
use baywright_core::job::usecase::has_begun;
use baywright_core::platform::fail::Done;
use baywright_core::platform::identity::{Audience, Desk};
use baywright_core::platform::refusal::Refused;
use baywright_core::platform::tx::Tx;
use baywright_core::platform::version::Seen;
use baywright_domain::id::{BookingId, QuoteId};
use baywright_domain::plan::Hands;
use baywright_http::platform::answer::Answer;
use baywright_http::platform::page::{PageRead, PageWrite};
use baywright_http::platform::problem::Problem;
use baywright_http::platform::wire::Text;

use super::HERE;
use super::act::tried;
use super::clock::Clock;
use super::reasons::{reasons, suggestions};
use super::shown::CarShown;
use super::times::{self, Chosen, TimeRow, chosen, inputs, later, read};
use crate::platform::form::{Fields, FormView, Input, Reading};
use crate::platform::{DeskFrame, Insider, filters, html, plainly, see_other};

/// The page of times.
#[derive(Template)]
#[template(path = "diary/views/times.html")]
struct TimesPage {
    frame: DeskFrame,
    heading: String,
    car: CarShown,
    number: String,
    /// The search, as a form of its own.
    form: FormView,
    /// The form that takes one of the times.
    take: FormView,
    /// The address of the page, which takes both forms.
    here: String,
    rows: Vec<TimeRow>,
    /// Fault of the choice; empty if there is none.
    fault: String,
    reasons: Vec<String>,
    suggestions: Vec<String>,
    /// Number of times before the limits to a bay and a person.
    found: usize,
    /// Address of later times; empty if there are none.
    later: String,
    /// Whether a booking moves, which can't be held or get a note.
    moves: bool,
    /// The page before this one.
    back: String,
}

/// What the times are for.
#[derive(Debug, Clone)]
enum Work {
    /// The signed work of a quote.
    Quote(QuoteId),
    /// The work of a booking.
    Booking(BookingId),
}

/// What the page shows.
struct Found {
    insider: Insider,
    clock: Clock,
    car: Car,
    number: String,
    names: Names,
    /// Id and version of the booking, if the work has one.
    booking: Option<(BookingId, i64)>,
    /// The times, or why they can't be searched.
    times: Result<Offered, Refused>,
    /// Limits of the search, with those that are usual for a booking.
    fields: Fields,
}

impl Work {
    /// Address of the page.
    fn here(&self) -> String {
        match self {
            Self::Quote(id) => format!("{HERE}/book/{id}"),
            Self::Booking(id) => format!("{HERE}/{id}/move"),
        }
    }
}

/// Reads the times for this work.
fn found(tx: &mut Tx<'_>, work: &Work, mut fields: Fields) -> Done<Found> {
    let (insider, clock) = (Insider::of(tx)?, Clock::of(tx)?);
    let (quote, booking) = match work {
        Work::Quote(id) => (id.clone(), usecase::of_quote(tx, id)?),
        Work::Booking(id) => {
            let booking = usecase::show(tx, id)?;
            if !fields.has("hands") {
                let may_move = if booking.place.stays.len() > 1 { "yes" } else { "" };
                let usual = [("hands", booking.hands.as_str().to_owned()), ("may_move", may_move.to_owned())];
                fields = fields.and(Fields::of_record(usual));
            }
            (booking.quote.clone(), Some(booking))
        }
    };
    let (car, number) = place_of(tx, &quote)?;
    let booking = booking.map(|booking| (booking.id, booking.version));
    let names = Names::read(tx)?;
    let times = match read(&fields, &clock) {
        Ok(asked) => Ok(offered(tx, &quote, &asked)?),
        Err(refused) => Err(refused),
    };
    Ok(Found { insider, clock, car, number, names, booking, times, fields })
}

/// The inputs that carry the search in the form that takes a time.
fn hidden() -> Vec<Input> {
    ["from", "by", "bay_id", "person_id", "hands", "may_move"].map(Input::hidden).to_vec()
}

/// The page with what was found; `problem` is why the form was not taken.
fn shown(found: Found, work: &Work, code: &str, problem: Option<&Problem>) -> Answer {
    let Found { insider, clock, car, number, names, booking, times, fields } = found;
    let moves = matches!(work, Work::Booking(_));
    let mut form = FormView::new(inputs(&names), &fields, "");
    if let Err(refused) = &times {
        form = form.refused(refused);
    }
    let note = Input::line("note", "Note for the desk").optional();
    let mut take_inputs = hidden();
    if !moves {
        take_inputs.push(note);
    }
    let version = booking.map(|(_, version)| version.to_string()).unwrap_or_default();
    let mut take = FormView { version, ..FormView::new(take_inputs, &fields, code) };
    let mut fault = String::new();
    if let Some(problem) = problem {
        let errors = problem.refused().errors();
        fault = errors.iter().find(|one| one.pointer == "/time").map(|one| one.detail.clone()).unwrap_or_default();
        take = match problem.status() {
            StatusCode::PRECONDITION_FAILED => {
                take.telling("Somebody else has changed this booking meanwhile. Look at it, then choose again.")
            }
            _ if errors.iter().any(|one| ["/time", "/note"].contains(&one.pointer.as_str())) => {
                take.refused(problem.refused())
            }
            // The start and the bay are one choice here, so a fault of either is one of the whole.
            _ => take.telling(plainly(problem.detail())),
        };
    }
    // The summary above the page has the faults of both forms.
    form.faults.extend(take.faults.clone());
    let car = CarShown::of(&car);
    let heading = if moves { format!("Move {}", car.name) } else { format!("Times for {}", car.name) };
    let status = match (problem, &times) {
        (Some(problem), _) => problem.status(),
        (None, Err(_)) => StatusCode::UNPROCESSABLE_ENTITY,
        (None, Ok(_)) => StatusCode::OK,
    };
    let back = match work {
        Work::Quote(_) => HERE.to_owned(),
        Work::Booking(id) => format!("{HERE}/{id}"),
    };
    let offered = times.ok();
    let rows = offered.as_ref().map(|one| times::rows(one, &clock, &fields.text("time"))).unwrap_or_default();
    let later =
        offered.as_ref().and_then(|one| later(one, &clock)).map(|day| address_of(work, &fields, &day.0.to_string()));
    html(
        status,
        &TimesPage {
            frame: DeskFrame::new(form.title(&heading), insider, code, HERE),
            heading,
            car,
            number,
            form,
            take,
            here: work.here(),
            rows,
            fault,
            reasons: offered.as_ref().map(reasons).unwrap_or_default(),
            suggestions: offered.as_ref().map(|one| suggestions(one, &clock)).unwrap_or_default(),
            found: offered.as_ref().map_or(0, |one| one.found),
            later: later.unwrap_or_default(),
            moves,
            back,
        },
    )
}

/// The address of the same search from another day on.
fn address_of(work: &Work, fields: &Fields, from: &str) -> String {
    let limits = ["bay_id", "person_id", "hands", "may_move"].map(|name| (name, fields.text(name)));
    let limits = limits.iter().filter(|(_, value)| !value.is_empty()).map(|(name, value)| format!("&{name}={value}"));
    format!("{}?from={from}{}", work.here(), limits.collect::<String>())
}

/// Shows the times for this work.
async fn times_of<A: Audience>(page: PageRead<A>, request: HttpRequest, work: Work) -> Answer {
    let fields = Fields::of_query(request.query_string());
    let of = work.clone();
    let found = page.read(move |tx| found(tx, &of, fields)).await?;
    match (&work, &found.booking) {
        (Work::Quote(_), Some((booking, _))) => Ok(see_other(&format!("{HERE}/{booking}"))),
        _ => shown(found, &work, page.form_code(), None),
    }
}

/// Shows the times again with why the form was not taken.
async fn again<A: Audience>(page: PageWrite<A>, work: Work, fields: Fields, problem: Problem) -> Answer {
    let of = work.clone();
    let found = page.read(move |tx| found(tx, &of, fields)).await?;
    shown(found, &work, page.form_code(), Some(&problem))
}

/// Times for a signed quote.
#[get("/diary/book/{id}")]
pub(super) async fn to_book(page: PageRead<Desk>, request: HttpRequest, id: Path<String>) -> Answer {
    times_of(page, request, Work::Quote(QuoteId::new(id.into_inner()))).await
}

/// Times for a booking.
#[get("/diary/{id}/move")]
pub(super) async fn to_move(page: PageRead<Desk>, request: HttpRequest, id: Path<String>) -> Answer {
    times_of(page, request, Work::Booking(BookingId::new(id.into_inner()))).await
}

/// The place that a form asks for.
fn new_booking(fields: &Fields, quote: &QuoteId) -> Result<NewBooking, Refused> {
    let mut form = Reading::of(fields);
    let place = chosen(&mut form);
    let note = form.optional("note", Text::<2000>::parse).map(Text::into_string).unwrap_or_default();
    let hands = form.optional("hands", |text| Hands::parse(text).map_err(|_| "choose one of these".to_owned()));
    let wish = if fields.text("act") == "hold" { Wish::Hold } else { Wish::Book };
    let new = place.map(|Chosen { start, bay }| NewBooking {
        quote: quote.clone(),
        bay,
        start,
        may_move: fields.yes("may_move"),
        wish,
        hands: hands.unwrap_or_default(),
        note,
    });
    form.done(new)
}

/// Holds or books a time for a signed quote.
#[post("/diary/book/{id}")]
pub(super) async fn book(page: PageWrite<Desk>, id: Path<String>) -> Answer {
    let quote = QuoteId::new(id.into_inner());
    let fields = Fields::of_form(page.form());
    let made = match new_booking(&fields, &quote) {
        Ok(new) => {
            tried(&page, move |tx| {
                usecase::is_plainly_taken(tx, &new)?;
                let made = usecase::make(tx, &new)?.booking;
                let done = if new.wish == Wish::Hold { "held" } else { "booked" };
                Ok(format!("{HERE}/{}?done={done}", made.id))
            })
            .await?
        }
        Err(refused) => Err(refused.into()),
    };
    match made {
        Ok(answer) => Ok(answer),
        Err(problem) => again(page, Work::Quote(quote), fields, problem).await,
    }
}

/// The place to which a booking moves.
fn destination(fields: &Fields) -> Result<(Seen, Destination), Refused> {
    let mut form = Reading::of(fields);
    let seen = form.version()?;
    let place = chosen(&mut form);
    let hands = form.optional("hands", |text| Hands::parse(text).map_err(|_| "choose one of these".to_owned()));
    let to = |Chosen { start, bay }: Chosen| Destination { bay, start, may_move: fields.yes("may_move"), hands };
    Ok((seen, form.done(place.map(to))?))
}

/// Moves a booking.
#[post("/diary/{id}/move")]
pub(super) async fn relocate(page: PageWrite<Desk>, id: Path<String>) -> Answer {
    let booking = BookingId::new(id.into_inner());
    let fields = Fields::of_form(page.form());
    let of = booking.clone();
    let moved = match destination(&fields) {
        Ok((seen, to)) => {
            tried(&page, move |tx| {
                let begun = has_begun(tx, &of)?;
                usecase::relocate(tx, &of, seen, &to, begun)?;
                Ok(format!("{HERE}/{of}?done=moved"))
            })
            .await?
        }
        Err(refused) => Err(refused.into()),
    };
    match moved {
        Ok(answer) => Ok(answer),
        Err(problem) => again(page, Work::Booking(booking), fields, problem).await,
    }
}
