//! Whether customers may choose a free time by themselves.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, get, post};
use baywright_core::platform::fail::Done;
use baywright_core::platform::identity::Owner;
use baywright_core::platform::refusal::Refused;
use baywright_core::platform::tx::Tx;
use baywright_core::platform::version::Seen;
use baywright_core::shop::usecase::{replace_self_booking, self_booking};
use baywright_domain::stay::SelfBooking;
use baywright_http::platform::answer::Answer;
use baywright_http::platform::page::{PageRead, PageWrite};
use baywright_http::platform::wire::Whole;

use crate::platform::form::{Fields, FormPage, FormView, Input, Reading};
use crate::platform::{Insider, taken};

/// The address of the page.
const HERE: &str = "/self-booking";

fn inputs() -> Vec<Input> {
    let allowed = vec![("yes".to_owned(), "Customers may choose a free time on their own page".to_owned())];
    vec![
        Input::ticks("allowed", "Bookings by customers", allowed)
            .hint("They see only times that are really free, and you get an email about each booking."),
        Input::short("notice_hours", "Hours of notice")
            .hint("The earliest time that a customer can choose is this many hours away."),
    ]
}

/// The person, and the setting as its form would bring it.
fn found(tx: &mut Tx<'_>) -> Done<(Insider, Fields)> {
    let insider = Insider::of(tx)?;
    let kept = self_booking(tx)?;
    let allowed = if kept.setting.allowed { "yes" } else { "" };
    let fields = Fields::of_record([
        ("version", kept.version.to_string()),
        ("allowed", allowed.to_owned()),
        ("notice_hours", kept.setting.notice_hours.to_string()),
    ]);
    Ok((insider, fields))
}

/// The version that was seen and the setting, or everything that is wrong with the form.
fn read(fields: &Fields) -> Result<(Seen, SelfBooking), Refused> {
    let mut form = Reading::of(fields);
    let seen = form.version()?;
    let hours = form.needed("notice_hours", |text| {
        let number = text.trim().parse().map_err(|_| "write a whole number from 0 to 720".to_owned())?;
        Whole::<0, 720>::new(number)
    });
    let allowed = fields.yes("allowed");
    let hours = form.done(hours)?;
    Ok((seen, SelfBooking { allowed, notice_hours: hours.get() }))
}

fn shown(insider: Insider, form: FormView) -> FormPage {
    FormPage::new("Bookings by customers", insider, "/shop", form, HERE)
        .lead("After they have accepted a quote, customers can choose a time themselves.")
}

/// The form with the setting that is saved.
#[get("/self-booking")]
pub(super) async fn show(page: PageRead<Owner>, request: HttpRequest) -> Answer {
    let asked = Fields::of_query(request.query_string());
    let (insider, fields) = page.read(found).await?;
    let form = FormView::new(inputs(), &fields, page.form_code());
    shown(insider, form).saved(asked.yes("saved")).answer(StatusCode::OK)
}

/// Saves the form.
#[post("/self-booking")]
pub(super) async fn save(page: PageWrite<Owner>) -> Answer {
    let fields = Fields::of_form(page.form());
    let taken = taken(&page, read(&fields), |tx, (seen, setting)| {
        replace_self_booking(tx, *seen, *setting)?;
        Ok(format!("{HERE}?saved=yes"))
    });
    let problem = match taken.await? {
        Ok(answer) => return Ok(answer),
        Err(problem) => problem,
    };
    let (insider, theirs) = page.read(found).await?;
    let form = FormView::new(inputs(), &fields, page.form_code()).after(&problem, &theirs);
    shown(insider, form).answer(problem.status())
}
