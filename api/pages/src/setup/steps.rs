//! The steps of the guided setup: what is done, and what is next.

use actix_web::get;
use actix_web::http::StatusCode;
use askama::Template;
use baywright_core::platform::fail::Done;
use baywright_core::platform::identity::Owner;
use baywright_core::platform::tx::Tx;
use baywright_core::setup::usecase::{Step, progress};
use baywright_http::platform::answer::Answer;
use baywright_http::platform::page::PageRead;

use crate::platform::{DeskFrame, Insider, html};

/// The page of all steps.
#[derive(Template)]
#[template(path = "setup/views/steps.html")]
struct Page {
    frame: DeskFrame,
    steps: Vec<StepView>,
    /// The first step that is not done; `None` if all are.
    next: Option<StepView>,
    /// Number of steps that are done.
    done: usize,
}

/// A step as the page shows it.
#[derive(Debug, Clone)]
struct StepView {
    title: &'static str,
    why: &'static str,
    address: &'static str,
    done: bool,
}

/// The step that comes next, for the start page.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Pending {
    /// What is to be done.
    pub title: &'static str,
    /// Why it is needed.
    pub why: &'static str,
    /// Its page.
    pub address: &'static str,
}

/// What each step is called, why it is needed, and its page.
const fn words(step: Step) -> Pending {
    let (title, why, address) = match step {
        Step::Shop => {
            ("Enter your studio details", "Quotes, invoices and emails show its address and telephone number.", "/shop")
        }
        Step::Tax => ("Check the tax", "Every price and invoice is computed with it.", "/tax"),
        Step::Hours => ("Set the opening hours", "Bookings are offered only while you are open.", "/hours"),
        Step::Bays => ("Add your bays", "Each car needs a place to stand in while it is worked on.", "/bays"),
        Step::People => (
            "Add people and their hours",
            "Work is planned for people who have working hours and the right skills. Include yourself.",
            "/people",
        ),
        Step::Menu => {
            ("Load a starter menu", "It has the services that most studios offer, with their times.", "/menu")
        }
        Step::Prices => (
            "Price a car, then publish",
            "Check what a car would cost. Quotes use the menu once it is published.",
            "/menu/trial",
        ),
        Step::Mail => ("Send a test email", "It shows whether your quotes will arrive.", "/set-up/mail"),
    };
    Pending { title, why, address }
}

/// The first step that is not done; `None` if all are.
///
/// # Errors
/// Those of the database.
pub fn pending(tx: &mut Tx<'_>) -> Done<Option<Pending>> {
    Ok(progress(tx)?.into_iter().find(|(_, done)| !done).map(|(step, _)| words(step)))
}

fn view((step, done): (Step, bool)) -> StepView {
    let Pending { title, why, address } = words(step);
    StepView { title, why, address, done }
}

/// The person and the steps.
fn found(tx: &mut Tx<'_>) -> Done<(Insider, Vec<StepView>)> {
    Ok((Insider::of(tx)?, progress(tx)?.into_iter().map(view).collect()))
}

/// What is done and what is next.
#[get("/set-up/steps")]
pub(super) async fn show(page: PageRead<Owner>) -> Answer {
    let (insider, steps) = page.read(found).await?;
    let frame = DeskFrame::new("Set up the studio", insider, page.form_code(), "/");
    let next = steps.iter().find(|step| !step.done).cloned();
    let done = steps.iter().filter(|step| step.done).count();
    html(StatusCode::OK, &Page { frame, steps, next, done })
}
