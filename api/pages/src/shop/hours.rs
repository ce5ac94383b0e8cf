//! The opening hours of the usual week.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, get, post};
use baywright_core::booking::usecase::warn_of_broken;
use baywright_core::platform::fail::Done;
use baywright_core::platform::identity::Desk;
use baywright_core::platform::refusal::Refused;
use baywright_core::platform::tx::Tx;
use baywright_core::platform::version::Seen;
use baywright_core::shop::usecase::{replace_week, week};
use baywright_domain::calendar::{DayHours, DayOfWeek};
use baywright_http::platform::answer::Answer;
use baywright_http::platform::page::{PageRead, PageWrite};

use crate::platform::form::{Fields, FormPage, FormView, Reading, read_week, week_fields, week_inputs};
use crate::platform::{Insider, taken};

/// The address of the page.
const HERE: &str = "/hours";

/// Name of the rows of hours.
const ROWS: &str = "hours";

/// The person and the week as its form would bring it.
fn found(tx: &mut Tx<'_>) -> Done<(Insider, Fields)> {
    let insider = Insider::of(tx)?;
    let week = week(tx)?;
    let version = Fields::of_record([("version", week.version.to_string())]);
    Ok((insider, version.and(week_fields(ROWS, &week.hours))))
}

/// The version that was seen and the week, or everything that is wrong with the form.
fn read(fields: &Fields) -> Result<(Seen, Vec<(DayOfWeek, DayHours)>), Refused> {
    let mut form = Reading::of(fields);
    let seen = form.version()?;
    let week = read_week(&mut form, fields, ROWS);
    if !fields.has("hours.0.weekday") {
        return Err(Refused::field("/hours", "missing", "Enter the hours of each day, or leave a day blank."));
    }
    Ok((seen, form.done(Some(week))?))
}

fn shown(insider: Insider, form: FormView) -> FormPage {
    FormPage::new("Opening hours", insider, "/shop", form, HERE)
        .lead("When the studio is open in a usual week. Leave a day blank if the studio is closed.")
}

/// The form with the week that is saved.
#[get("/hours")]
pub(super) async fn show(page: PageRead<Desk>, request: HttpRequest) -> Answer {
    let asked = Fields::of_query(request.query_string());
    let (insider, fields) = page.read(found).await?;
    let form = FormView::new(week_inputs(ROWS, &fields), &fields, page.form_code());
    shown(insider, form).saved(asked.yes("saved")).answer(StatusCode::OK)
}

/// Saves the form.
#[post("/hours")]
pub(super) async fn save(page: PageWrite<Desk>) -> Answer {
    let fields = Fields::of_form(page.form());
    let taken = taken(&page, read(&fields), |tx, (seen, hours)| {
        warn_of_broken(tx, "/hours", |tx| replace_week(tx, *seen, hours))?;
        Ok(format!("{HERE}?saved=yes"))
    });
    let problem = match taken.await? {
        Ok(answer) => return Ok(answer),
        Err(problem) => problem,
    };
    let (insider, theirs) = page.read(found).await?;
    let rows = if fields.has("hours.0.weekday") { &fields } else { &theirs };
    let form = FormView::new(week_inputs(ROWS, rows), &fields, page.form_code()).after(&problem, &theirs);
    shown(insider, form).answer(problem.status())
}
