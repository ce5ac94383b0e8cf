//! Absences and closures: the page of a list with a form for one more, and what a new one would break, shown before it is
//! made.

use actix_web::http::StatusCode;
use askama::Template;
use baywright_core::booking::usecase::{Breaks, BrokenBooking, broken_by};
use baywright_core::platform::fail::Done;
use baywright_core::platform::identity::Audience;
use baywright_core::platform::ids;
use baywright_core::platform::tx::Tx;
use baywright_http::platform::answer::Answer;
use baywright_http::platform::page::PageWrite;
use baywright_http::platform::problem::Problem;

use super::HERE;
use super::clock::Clock;
use crate::platform::form::{Fields, FormView};
use crate::platform::{DeskFrame, Insider, filters, html};

/// The field that says that what breaks was seen.
pub(super) const SEEN: &str = "seen";

/// A list with a form for one more.
#[derive(Template)]
#[template(path = "diary/views/away.html")]
struct AwayPage {
    frame: DeskFrame,
    words: &'static Words,
    form: FormView,
    entries: Vec<AwayRow>,
    is_saved: bool,
    /// Address of a new plan that moves what was broken; empty if none can.
    plan: String,
}

/// The words of a list.
pub(super) struct Words {
    /// Address of the page.
    pub(super) here: &'static str,
    pub(super) heading: &'static str,
    pub(super) lead: &'static str,
    pub(super) form_heading: &'static str,
    pub(super) button: &'static str,
    pub(super) list_heading: &'static str,
    /// Sentence if the list is empty.
    pub(super) none: &'static str,
    /// Button that makes the change although it breaks something.
    pub(super) anyway: &'static str,
}

/// An entry that can be removed.
pub(super) struct AwayRow {
    pub(super) title: String,
    pub(super) note: String,
    /// Address that removes it.
    pub(super) remove: String,
    /// Other fields of the form that removes it.
    pub(super) fields: Vec<(&'static str, String)>,
    pub(super) key: String,
}

impl AwayRow {
    pub(super) fn new(title: String, note: String, remove: String, fields: Vec<(&'static str, String)>) -> Self {
        Self { title, note, remove, fields, key: ids::new() }
    }
}

/// What a change would break, before it is made.
#[derive(Template)]
#[template(path = "diary/views/breaks.html")]
struct BreaksPage {
    frame: DeskFrame,
    words: &'static Words,
    rows: Vec<BrokenRow>,
    /// Whether a new plan can move some of them.
    can_plan: bool,
    code: String,
    /// Names and values of what was typed.
    typed: Vec<(String, String)>,
}

/// A booking that would break.
struct BrokenRow {
    address: String,
    car: String,
    customer: String,
    starts: String,
    promised: String,
    why: String,
    /// What to do about it.
    what: &'static str,
}

/// The page of a list.
pub(super) fn list(
    words: &'static Words,
    insider: Insider,
    code: &str,
    (form, status): (FormView, StatusCode),
    entries: Vec<AwayRow>,
    asked: &Fields,
) -> Answer {
    let days: Option<u16> = asked.text("days").parse().ok();
    let plan = days.map(|days| format!("{HERE}/week-plan?days={days}"));
    let title = form.title(words.heading);
    let frame = DeskFrame::new(title, insider, code, HERE);
    let is_saved = asked.yes("saved");
    html(status, &AwayPage { frame, words, form, entries, is_saved, plan: plan.unwrap_or_default() })
}

/// Finds out what a change would break, without making it. Gives the page that shows it, or `None` if nothing breaks.
pub(super) async fn shown_first<A: Audience>(
    page: &PageWrite<A>,
    words: &'static Words,
    fields: &Fields,
    mut change: impl FnMut(&mut Tx<'_>) -> Done<()> + Send + 'static,
) -> Result<Option<Answer>, Problem> {
    let tried = page.write(move |tx| {
        let (insider, clock) = (Insider::of(tx)?, Clock::of(tx)?);
        let ((), breaks) = tx.rehearse(|tx| broken_by(tx, &mut change))?;
        Ok((insider, clock, breaks))
    });
    let (insider, clock, breaks) = tried.await?;
    if breaks.bookings.is_empty() {
        return Ok(None);
    }
    let typed = fields.pairs().iter().filter(|(name, _)| !["code", "key", SEEN].contains(&name.as_str()));
    let kept = [("key".to_owned(), ids::new()), (SEEN.to_owned(), "yes".to_owned())];
    Ok(Some(html(
        StatusCode::OK,
        &BreaksPage {
            frame: DeskFrame::new(words.heading, insider, page.form_code(), HERE),
            words,
            rows: breaks.bookings.iter().map(|one| row(one, &clock)).collect(),
            can_plan: breaks.days.is_some(),
            code: page.form_code().to_owned(),
            typed: typed.cloned().chain(kept).collect(),
        },
    )))
}

fn row(broken: &BrokenBooking, clock: &Clock) -> BrokenRow {
    BrokenRow {
        address: format!("{HERE}/{}", broken.booking),
        car: broken.car.clone(),
        customer: broken.customer.clone(),
        starts: clock.moment(broken.starts),
        promised: clock.moment(broken.promised),
        why: broken.reasons.join("; "),
        what: broken.by_hand.unwrap_or("A new plan of the next days can move it."),
    }
}

/// The address of the list after a change, which offers a new plan if one can move what broke.
pub(super) fn after(words: &Words, breaks: &Breaks) -> String {
    let days = breaks.days.map(|days| format!("&days={days}")).unwrap_or_default();
    format!("{}?saved=yes{days}", words.here)
}
