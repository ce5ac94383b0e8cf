//! One booking: when, where and by whom, and what can be done with it now.

use actix_web::http::StatusCode;
use actix_web::web::Path;
use actix_web::{HttpRequest, get};
use askama::Template;
use baywright_core::diary::usecase::{OneBooking, one};
use baywright_core::platform::fail::Done;
use baywright_core::platform::identity::{Audience, Crew};
use baywright_core::platform::ids;
use baywright_core::platform::kept::Amount;
use baywright_core::platform::tx::Tx;
use baywright_domain::booking::{BookingMove, BookingState};
use baywright_domain::id::BookingId;
use baywright_domain::money::Currency;
use baywright_domain::time::{Interval, IntervalSet};
use baywright_http::platform::answer::Answer;
use baywright_http::platform::page::{PageRead, PageWrite};
use baywright_http::platform::problem::Problem;

use super::HERE;
use super::clock::Clock;
use super::shown::{self, CarShown, stay_in_words};
use crate::platform::form::Fields;
use crate::platform::{DeskFrame, Insider, filters, html, plainly};

/// The page of a booking.
#[derive(Template)]
#[template(path = "diary/views/one.html")]
struct OnePage {
    frame: DeskFrame,
    car: CarShown,
    number: String,
    state: (&'static str, &'static str),
    /// Why something was not done; empty if nothing was refused.
    refused: String,
    /// What was done a moment ago; empty for nothing.
    done: &'static str,
    /// Facts about the booking, each with its label.
    facts: Vec<(&'static str, String)>,
    /// What somebody should know about it.
    notes: Vec<&'static str>,
    pieces: Vec<PieceRow>,
    version: i64,
    /// The main act, if there is one.
    main: Option<Act>,
    /// Other acts that are done at once.
    acts: Vec<Act>,
    /// Acts that need a page of their own.
    ways: Vec<(String, &'static str)>,
}

/// A piece of work.
struct PieceRow {
    when: String,
    step: String,
    who: String,
}

/// An act that is done at once, as a form with one button.
struct Act {
    address: String,
    key: String,
    label: &'static str,
    /// What it means, for the main act.
    text: &'static str,
}

/// What the page shows.
struct Found {
    insider: Insider,
    clock: Clock,
    booking: OneBooking,
    currency: Currency,
}

fn found(tx: &mut Tx<'_>, id: &BookingId) -> Done<Found> {
    let (insider, clock, currency) = (Insider::of(tx)?, Clock::of(tx)?, tx.studio.currency);
    Ok(Found { insider, clock, booking: one(tx, id)?, currency })
}

/// What was done, in words.
fn done(word: &str) -> &'static str {
    match word {
        "booked" => "It is booked, and the customer gets an email.",
        "held" => "The time is held.",
        "moved" => "It is moved. If a time that the customer knows has changed, they get an email.",
        "cancelled" => "It is cancelled, and its time is free.",
        "missed" => "It is noted that the car did not come. Its time is free.",
        "deposit" => "The deposit is noted.",
        "arrived" => "The car is here, and its job has begun.",
        "undone" => "The last step is undone.",
        _ => "",
    }
}

fn facts(found: &Found) -> Vec<(&'static str, String)> {
    let Found { clock, booking: one, currency, .. } = found;
    let (booking, place) = (&one.booking, &one.booking.place);
    let work: IntervalSet = one.pieces.iter().map(|piece| piece.when).collect();
    let held = one.state == BookingState::Held;
    let stay = |stay: &baywright_core::booking::usecase::Stay| {
        let when = Interval::new(stay.from, stay.to)?;
        Some(format!("{}: {}", one.names.bay(stay.bay.as_str()), stay_in_words(clock, when, held, &work)))
    };
    let stays: Vec<String> = place.stays.iter().filter_map(stay).collect();
    let mut facts = vec![
        ("Comes", clock.in_full(place.starts)),
        ("Work done", clock.in_full(place.finishes)),
        ("Promised to the customer", clock.in_full(place.promised)),
        (if stays.len() > 1 { "Bays" } else { "Bay" }, stays.join("\n")),
        ("People at the work", booking.hands.label().to_owned()),
    ];
    let at = |moment: Option<baywright_core::platform::clock::UtcTime>| moment.map(|at| clock.in_full(at.minute()));
    facts.extend(at(booking.hold_until.filter(|_| held)).map(|until| ("Held until", until)));
    if let Some(deposit) = one.deposit {
        let amount = Amount::of(deposit, *currency);
        let text = match at(booking.deposit_received_at) {
            Some(when) => format!("{amount}, received {when}"),
            None => format!("{amount}, not received yet"),
        };
        facts.push(("Deposit", text));
    }
    facts.extend(at(booking.arrived_at).map(|when| ("The car came", when)));
    facts.extend(at(booking.ready_at).map(|when| ("Ready", when)));
    facts.extend(at(booking.handed_over_at).map(|when| ("Handed over", when)));
    let ended = if one.state == BookingState::NoShow { "Noted as missed" } else { "Cancelled" };
    facts.extend(at(booking.ended_at).map(|when| (ended, when)));
    let lapsed = booking.hold_until.filter(|_| one.state == BookingState::Cancelled && booking.ended_at.is_none());
    facts.extend(at(lapsed).map(|when| ("The hold ended", when)));
    facts.extend(one.reason.clone().map(|reason| ("Why", reason)));
    facts.extend(Some(one.note.clone()).filter(|note| !note.is_empty()).map(|note| ("Note", note)));
    facts
}

fn notes(one: &OneBooking) -> Vec<&'static str> {
    let mut notes = Vec::new();
    let ahead = matches!(one.state, BookingState::Held | BookingState::Booked);
    if ahead && !one.booking.fits {
        notes.push("Other work was signed since, and this time no longer fits it. Move the booking.");
    }
    if one.state.has_come() && !one.booking.place.standing {
        notes.push("The car is here, but not in its bay. It moves into the bay when its first step starts.");
    }
    notes
}

/// The main act and the others that are done at once.
fn acts(one: &OneBooking) -> (Option<Act>, Vec<Act>) {
    let may = &one.may;
    let act = |is_there: bool, address: &str, label: &'static str, text: &'static str| {
        let address = format!("{HERE}/{}/{address}", one.booking.id);
        is_there.then(|| Act { address, key: ids::new(), label, text })
    };
    let all = [
        act(may.book, "book", "Book this time", "The time is only held. Book it once the customer has agreed to it."),
        act(may.arrive, "arrive", "The car is here", "Press it when the customer has brought the car."),
        act(may.hold_longer, "hold", "Hold it for longer", ""),
        act(may.note_deposit, "deposit", "The deposit has come", ""),
        act(may.no_show, "missed", "The car did not come", ""),
    ];
    let (main, others): (Vec<Act>, Vec<Act>) = all.into_iter().flatten().partition(|act| !act.text.is_empty());
    (main.into_iter().next(), others)
}

/// Acts that need a page of their own.
fn ways(one: &OneBooking) -> Vec<(String, &'static str)> {
    let id = &one.booking.id;
    let undo = one.may.undo.as_ref().map(|(last, _)| match last.what {
        BookingMove::Arrive => "Undo: the car is not here",
        BookingMove::MakeReady => "Undo: it is not ready",
        BookingMove::HandOver => "Undo: it was not handed over",
        BookingMove::NoShow => "Undo: the car will come",
        BookingMove::Cancel => "Undo: it is not cancelled",
        _ => "Undo the last step",
    });
    let way = |is_there: bool, page: &str, label| is_there.then(|| (format!("{HERE}/{id}/{page}"), label));
    let all = [
        way(one.may.relocate, "move", "Move it"),
        way(one.may.cancel, "cancel", "Cancel it"),
        undo.and_then(|label| way(true, "undo", label)),
    ];
    all.into_iter().flatten().collect()
}

fn shown(found: Found, code: &str, said: (&'static str, String), status: StatusCode) -> Answer {
    let facts = facts(&found);
    let Found { insider, clock, booking: one, .. } = found;
    let pieces = one.pieces.iter().map(|piece| {
        let name = one.names.person(piece.person.as_str());
        PieceRow {
            when: clock.stretch(piece.when),
            step: one.steps.get(&piece.step).unwrap_or(&piece.step).clone(),
            who: if piece.helps { format!("{name}, who helps") } else { name.to_owned() },
        }
    });
    let car = CarShown::of(&one.car);
    let (main, acts) = acts(&one);
    let title = if said.1.is_empty() { car.whole() } else { format!("Error: {}", car.whole()) };
    html(
        status,
        &OnePage {
            frame: DeskFrame::new(title, insider, code, HERE),
            state: shown::state(one.state),
            number: one.number.clone(),
            done: said.0,
            refused: said.1,
            facts,
            notes: notes(&one),
            pieces: pieces.collect(),
            version: one.booking.version,
            main,
            acts,
            ways: ways(&one),
            car,
        },
    )
}

/// A booking.
#[get("/diary/{id}")]
pub(super) async fn show(page: PageRead<Crew>, request: HttpRequest, id: Path<String>) -> Answer {
    let asked = Fields::of_query(request.query_string());
    let id = BookingId::new(id.into_inner());
    let found = page.read(move |tx| found(tx, &id)).await?;
    shown(found, page.form_code(), (done(&asked.text("done")), String::new()), StatusCode::OK)
}

/// The page of a booking after a move that was refused.
pub(super) async fn refused<A: Audience>(page: PageWrite<A>, id: BookingId, problem: Problem) -> Answer {
    let found = page.read(move |tx| found(tx, &id)).await?;
    let text = match problem.status() {
        StatusCode::PRECONDITION_FAILED => {
            "Somebody else has changed this booking meanwhile. Nothing was done: look at it, then try again.".to_owned()
        }
        _ => plainly(problem.detail()),
    };
    shown(found, page.form_code(), ("", text), problem.status())
}
