//! A test mail, and what became of the last one.

use actix_web::http::StatusCode;
use actix_web::{get, post};
use baywright_core::platform::fail::Done;
use baywright_core::platform::identity::Owner;
use baywright_core::platform::tx::Tx;
use baywright_core::setup::usecase::{last_test_mail, send_test_mail};
use baywright_domain::message::MessageState;
use baywright_http::platform::answer::Answer;
use baywright_http::platform::page::{PageRead, PageWrite};
use baywright_http::platform::wire::Email;

use crate::platform::form::{Entry, Fields, FormPage, FormView, Input, Reading};
use crate::platform::{Insider, taken};

/// The address of the page.
const HERE: &str = "/set-up/mail";

/// The person, the fields of a new form, and the last test mail.
fn found(tx: &mut Tx<'_>) -> Done<(Insider, Fields, Vec<Entry>)> {
    let insider = Insider::of(tx)?;
    let own = baywright_core::access::usecase::me(tx)?.email;
    let has_server = tx.config.mail.host.is_some();
    let last = last_test_mail(tx)?.map(|mail| {
        let note = match mail.state {
            MessageState::Sent if !has_server => {
                "was only saved as a file, because the service has no mail server yet. Customers get no email until it \
                 has one."
                    .to_owned()
            }
            MessageState::Sent => "was accepted by the mail server. Check the mailbox.".to_owned(),
            MessageState::Queued if mail.trouble.is_empty() => {
                "is waiting to be sent. Open this page again.".to_owned()
            }
            MessageState::Sending => "is being sent. Open this page again.".to_owned(),
            MessageState::Queued => format!("could not be sent yet: {}. We will try again.", mail.trouble),
            MessageState::Failed => format!("could not be sent: {}.", mail.trouble),
        };
        Entry { title: format!("The email to {}", mail.letter.to_email), note, address: String::new() }
    });
    Ok((insider, Fields::of_record([("email", own)]), last.into_iter().collect()))
}

fn shown(insider: Insider, form: FormView, last: Vec<Entry>) -> FormPage {
    FormPage::new("Send a test email", insider, "/", form, HERE)
        .lead("If this email and your reply to it both arrive, quotes and invoices will arrive too.")
        .list("The last test", last)
        .form_heading("New test", "Send the test")
}

fn inputs() -> Vec<Input> {
    vec![Input::email("email", "Email address").hint("Preferably one outside the studio.").autocomplete("email")]
}

/// The form, and what became of the last test mail.
#[get("/set-up/mail")]
pub(super) async fn show(page: PageRead<Owner>) -> Answer {
    let (insider, fields, last) = page.read(found).await?;
    let form = FormView::new(inputs(), &fields, page.form_code());
    shown(insider, form, last).answer(StatusCode::OK)
}

/// Sends a test mail.
#[post("/set-up/mail")]
pub(super) async fn send(page: PageWrite<Owner>) -> Answer {
    let fields = Fields::of_form(page.form());
    let mut reading = Reading::of(&fields);
    let email = reading.needed("email", |text| Email::parse(text.trim()));
    let taken = taken(&page, reading.done(email), |tx, email| {
        send_test_mail(tx, email.as_str())?;
        Ok(HERE.to_owned())
    });
    let problem = match taken.await? {
        Ok(answer) => return Ok(answer),
        Err(problem) => problem,
    };
    let (insider, theirs, last) = page.read(found).await?;
    let form = FormView::new(inputs(), &fields, page.form_code()).after(&problem, &theirs);
    shown(insider, form, last).answer(problem.status())
}
