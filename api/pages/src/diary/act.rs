//! What is done with one booking: confirm, hold for longer, deposit, arrival, missed, cancel and undo. A move that is refused
//! is said on the booking's own page.

use actix_web::http::StatusCode;
use actix_web::web::Path;
use actix_web::{get, post};
use baywright_core::booking::usecase;
use baywright_core::diary::usecase::{OneBooking, one};
use baywright_core::invoice::usecase::not_invoiced_since;
use baywright_core::job;
use baywright_core::platform::fail::Done;
use baywright_core::platform::identity::{Audience, Crew, Desk};
use baywright_core::platform::refusal::Refused;
use baywright_core::platform::tx::Tx;
use baywright_core::platform::version::Seen;
use baywright_domain::id::BookingId;
use baywright_http::platform::answer::Answer;
use baywright_http::platform::page::{PageRead, PageWrite};
use baywright_http::platform::problem::Problem;
use baywright_http::platform::wire::Line;

use super::HERE;
use super::shown::CarShown;
use crate::platform::form::{Fields, FormPage, FormView, Input, Reading};
use crate::platform::{Insider, followed, is_mendable};

/// Runs a use case once per key of the form; it gives the address of the page that follows. Gives the answer, or the problem
/// that the form's own page can show: also a move that is refused as things are now.
pub(crate) async fn tried<A: Audience>(
    page: &PageWrite<A>,
    act: impl FnMut(&mut Tx<'_>) -> Done<String> + Send + 'static,
) -> Result<Answer, Problem> {
    match page.once(act).await {
        Ok(outcome) => followed(outcome).map(Ok),
        Err(problem) if can_be_shown(&problem) => Ok(Err(problem)),
        Err(problem) => Err(problem),
    }
}

/// Whether a form's page can show the problem. A question is asked on a page of its own.
pub(super) fn can_be_shown(problem: &Problem) -> bool {
    let refused_now = matches!(problem.status(), StatusCode::CONFLICT | StatusCode::GONE);
    problem.refused().question().is_none() && (is_mendable(problem) || refused_now)
}

/// Makes a move of a booking; a refused one is said on its page. `done` is the word for what was done.
async fn go<A: Audience>(
    page: PageWrite<A>,
    id: Path<String>,
    done: &'static str,
    mut act: impl FnMut(&mut Tx<'_>, &BookingId, Seen) -> Done<()> + Send + 'static,
) -> Answer {
    let id = BookingId::new(id.into_inner());
    let seen = Reading::of(&Fields::of_form(page.form())).version()?;
    let of = id.clone();
    let tried = tried(&page, move |tx| {
        act(tx, &of, seen)?;
        Ok(format!("{HERE}/{of}?done={done}"))
    });
    match tried.await? {
        Ok(answer) => Ok(answer),
        Err(problem) => super::one::refused(page, id, problem).await,
    }
}

/// Confirms a held place.
#[post("/diary/{id}/book")]
pub(super) async fn confirm(page: PageWrite<Desk>, id: Path<String>) -> Answer {
    go(page, id, "booked", |tx, id, seen| usecase::book(tx, id, seen).map(|_| ())).await
}

/// Holds a place for longer.
#[post("/diary/{id}/hold")]
pub(super) async fn keep_holding(page: PageWrite<Desk>, id: Path<String>) -> Answer {
    go(page, id, "held", |tx, id, seen| usecase::hold_longer(tx, id, seen).map(|_| ())).await
}

/// Records that the deposit was received.
#[post("/diary/{id}/deposit")]
pub(super) async fn note_deposit(page: PageWrite<Desk>, id: Path<String>) -> Answer {
    go(page, id, "deposit", |tx, id, seen| usecase::deposit_received(tx, id, seen).map(|_| ())).await
}

/// Records that the car did not come.
#[post("/diary/{id}/missed")]
pub(super) async fn note_missed(page: PageWrite<Desk>, id: Path<String>) -> Answer {
    go(page, id, "missed", |tx, id, seen| usecase::no_show(tx, id, seen).map(|_| ())).await
}

/// Records that the car is here.
#[post("/diary/{id}/arrive")]
pub(super) async fn take_in(page: PageWrite<Crew>, id: Path<String>) -> Answer {
    go(page, id, "arrived", |tx, id, seen| job::usecase::arrive(tx, id, seen).map(|_| ())).await
}

/// The person, and the booking.
fn found(tx: &mut Tx<'_>, id: &BookingId) -> Done<(Insider, OneBooking)> {
    Ok((Insider::of(tx)?, one(tx, id)?))
}

fn reason(label: &'static str) -> Input {
    Input::line("reason", label)
}

/// The version of the booking, as the form carries it.
fn version(booking: &OneBooking) -> Fields {
    Fields::of_record([("version", booking.booking.version.to_string())])
}

/// The page that asks for the reason of a cancellation.
fn asks_to_cancel(insider: Insider, booking: &OneBooking, form: FormView) -> FormPage {
    let (id, car) = (&booking.booking.id, CarShown::of(&booking.car));
    FormPage::new(format!("Cancel the booking of {}", car.name), insider, HERE, form, format!("{HERE}/{id}/cancel"))
        .lead("Its time is free again at once. If the booking was confirmed, the customer gets an email.")
        .form_heading("", "Cancel the booking")
        .leave(format!("{HERE}/{id}"))
}

/// Asks for the reason of a cancellation.
#[get("/diary/{id}/cancel")]
pub(super) async fn to_cancel(page: PageRead<Desk>, id: Path<String>) -> Answer {
    let id = BookingId::new(id.into_inner());
    let (insider, booking) = page.read(move |tx| found(tx, &id)).await?;
    let form = FormView::new(vec![reason("Why it is cancelled")], &version(&booking), page.form_code());
    asks_to_cancel(insider, &booking, form).answer(StatusCode::OK)
}

/// Cancels a booking.
#[post("/diary/{id}/cancel")]
pub(super) async fn call_off(page: PageWrite<Desk>, id: Path<String>) -> Answer {
    let id = BookingId::new(id.into_inner());
    let fields = Fields::of_form(page.form());
    let mut form = Reading::of(&fields);
    let seen = form.version()?;
    let why = form.needed("reason", Line::<500>::parse);
    let of = id.clone();
    let cancelled = match form.done(why) {
        Ok(why) => {
            tried(&page, move |tx| {
                usecase::cancel(tx, &of, seen, why.as_str())?;
                Ok(format!("{HERE}/{of}?done=cancelled"))
            })
            .await?
        }
        Err(refused) => Err(refused.into()),
    };
    let problem = match cancelled {
        Ok(answer) => return Ok(answer),
        Err(problem) => problem,
    };
    let (insider, booking) = page.read(move |tx| found(tx, &id)).await?;
    let form = FormView::new(vec![reason("Why it is cancelled")], &fields, page.form_code());
    asks_to_cancel(insider, &booking, form.after(&problem, &version(&booking))).answer(problem.status())
}

/// The page that undoes the last move of a booking.
fn asks_to_undo(insider: Insider, booking: &OneBooking, form: FormView) -> FormPage {
    let (id, car) = (&booking.booking.id, CarShown::of(&booking.car));
    FormPage::new(format!("Undo for {}", car.name), insider, HERE, form, format!("{HERE}/{id}/undo"))
        .lead("Everything is as it was before the last step. A customer who was told otherwise gets an email.")
        .form_heading("", "Undo it")
        .leave(format!("{HERE}/{id}"))
}

fn reason_to_undo(booking: &OneBooking) -> Vec<Input> {
    let input = reason("Why it is undone");
    let needed = booking.may.undo.as_ref().is_some_and(|(_, needs_reason)| *needs_reason);
    vec![if needed { input } else { input.optional() }]
}

/// Asks whether the last move is to be undone.
#[get("/diary/{id}/undo")]
pub(super) async fn to_undo(page: PageRead<Crew>, id: Path<String>) -> Answer {
    let id = BookingId::new(id.into_inner());
    let (insider, booking) = page.read(move |tx| found(tx, &id)).await?;
    let form = FormView::new(reason_to_undo(&booking), &version(&booking), page.form_code());
    asks_to_undo(insider, &booking, form).answer(StatusCode::OK)
}

/// Undoes the last move of a booking.
#[post("/diary/{id}/undo")]
pub(super) async fn take_back(page: PageWrite<Crew>, id: Path<String>) -> Answer {
    let id = BookingId::new(id.into_inner());
    let fields = Fields::of_form(page.form());
    let mut form = Reading::of(&fields);
    let seen = form.version()?;
    let why = form.optional("reason", Line::<500>::parse);
    let of = id.clone();
    let undone = match form.done(Some(why)) {
        Ok(why) => {
            tried(&page, move |tx| {
                let why = why.as_ref().map(Line::as_str);
                job::usecase::undo_booking(tx, &of, seen, why, not_invoiced_since)?;
                Ok(format!("{HERE}/{of}?done=undone"))
            })
            .await?
        }
        Err(refused) => Err(refused.into()),
    };
    let problem = match undone {
        Ok(answer) => return Ok(answer),
        Err(problem) => at_its_field(problem),
    };
    let (insider, booking) = page.read(move |tx| found(tx, &id)).await?;
    let form = FormView::new(reason_to_undo(&booking), &fields, page.form_code());
    asks_to_undo(insider, &booking, form.after(&problem, &version(&booking))).answer(problem.status())
}

/// The problem that a reason is missing, at the field of the reason.
fn at_its_field(problem: Problem) -> Problem {
    if problem.code() == "undo-reason-needed" && problem.refused().errors().is_empty() {
        return Refused::field("/reason", "missing", problem.detail()).into();
    }
    problem
}
