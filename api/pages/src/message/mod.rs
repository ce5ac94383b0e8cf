//! One email of the studio: what became of it, and sending a failed one again.
//!
//! | address | who | what |
//! | --- | --- | --- |
//! | `GET`, `POST /mails/{id}` | owner, desk | one email; sends a failed one again |

use actix_web::http::StatusCode;
use actix_web::web::Path;
use actix_web::{HttpRequest, get, post};
use askama::Template;
use baywright_core::message::usecase::{self, Message};
use baywright_core::platform::fail::Done;
use baywright_core::platform::identity::Desk;
use baywright_core::platform::tx::Tx;
use baywright_domain::id::MessageId;
use baywright_domain::message::MessageState;
use baywright_http::platform::answer::Answer;
use baywright_http::platform::page::{PageRead, PageWrite};
use baywright_http::platform::unlisted::{ServiceConfig, Unlisted};
use baywright_http::platform::wire::Email;

use crate::platform::form::{Fields, FormView, Input, Reading};
use crate::platform::{DeskFrame, Insider, Wall, html, taken};

/// The page of an email.
#[derive(Template)]
#[template(path = "message/views/one.html")]
struct Page {
    frame: DeskFrame,
    view: View,
    form: FormView,
    is_sent_again: bool,
}

/// An email as the page shows it.
struct View {
    address: String,
    subject: String,
    to: String,
    state: String,
    written: String,
    text: String,
    can_be_sent_again: bool,
}

/// Adds the feature's pages.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(Unlisted::get("/mails/{id}", show)).service(Unlisted::post("/mails/{id}", send_again));
}

fn found(tx: &mut Tx<'_>, id: &MessageId) -> Done<(Insider, View, Fields)> {
    let insider = Insider::of(tx)?;
    let wall = Wall::of(tx)?;
    let message = usecase::show(tx, id)?;
    let typed = [("email", message.letter.to_email.clone()), ("version", message.version.to_string())];
    Ok((insider, view(message, &wall), Fields::of_record(typed)))
}

fn view(message: Message, wall: &Wall) -> View {
    let state = match message.state {
        MessageState::Sent => "It was accepted by the mail server.".to_owned(),
        MessageState::Queued | MessageState::Sending => "It is waiting to be sent.".to_owned(),
        MessageState::Failed => format!("It could not be sent: {}.", message.trouble.trim_end_matches('.')),
    };
    View {
        address: format!("/mails/{}", message.id),
        subject: message.letter.subject,
        to: message.letter.to_name,
        state,
        written: wall.when(message.created_at.minute()),
        text: message.letter.text,
        can_be_sent_again: message.state == MessageState::Failed,
    }
}

fn inputs() -> Vec<Input> {
    vec![Input::email("email", "Email address").hint("Correct it here. The customer's record does not change.")]
}

fn answered(status: StatusCode, insider: Insider, view: View, form: FormView, is_sent_again: bool) -> Answer {
    let frame = DeskFrame::new(form.title(&view.subject), insider, &form.code, "/today");
    html(status, &Page { frame, view, form, is_sent_again })
}

/// One email.
#[get("/mails/{id}")]
async fn show(page: PageRead<Desk>, id: Path<String>, request: HttpRequest) -> Answer {
    let id = MessageId::new(id.into_inner());
    let is_sent_again = Fields::of_query(request.query_string()).yes("sent");
    let (insider, view, fields) = page.read(move |tx| found(tx, &id)).await?;
    let form = FormView::new(inputs(), &fields, page.form_code());
    answered(StatusCode::OK, insider, view, form, is_sent_again)
}

/// Sends a failed email again.
#[post("/mails/{id}")]
async fn send_again(page: PageWrite<Desk>, id: Path<String>) -> Answer {
    let id = MessageId::new(id.into_inner());
    let fields = Fields::of_form(page.form());
    let mut reading = Reading::of(&fields);
    let email = reading.needed("email", |text| Email::parse(text.trim()));
    let read = reading.version().and_then(|seen| Ok((seen, reading.done(email)?)));
    let of = id.clone();
    let taken = taken(&page, read, move |tx, (seen, email)| {
        usecase::send_again(tx, &of, *seen, Some(email.as_str()))?;
        Ok(format!("/mails/{of}?sent=yes"))
    });
    let problem = match taken.await? {
        Ok(answer) => return Ok(answer),
        Err(problem) => problem,
    };
    let (insider, view, theirs) = page.read(move |tx| found(tx, &id)).await?;
    let form = FormView::new(inputs(), &fields, page.form_code()).after(&problem, &theirs);
    answered(problem.status(), insider, view, form, false)
}
