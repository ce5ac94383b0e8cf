//! The first step again: the call of an enquiry, to be corrected.

use actix_web::http::StatusCode;
use actix_web::web::Path;
use actix_web::{get, post};
use askama::Template;
use baywright_core::new_car::usecase::{self, Call, NewCar};
use baywright_core::platform::fail::Done;
use baywright_core::platform::identity::Desk;
use baywright_core::platform::refusal::Refused;
use baywright_core::platform::tx::Tx;
use baywright_core::platform::version::Seen;
use baywright_domain::id::EnquiryId;
use baywright_http::platform::answer::Answer;
use baywright_http::platform::page::{PageRead, PageWrite};

use super::contact::{fields_of, of_caller, of_wish, read};
use super::steps::Head;
use super::{HERE, next_step, tried, visit};
use crate::platform::form::{Fields, FormView, Input, Reading};
use crate::platform::{DeskFrame, Insider, html, see_other};

/// The page of a call that was saved.
#[derive(Template)]
#[template(path = "new_car/views/correct.html")]
struct Page {
    frame: DeskFrame,
    heading: &'static str,
    head: Head,
    form: FormView,
    action: String,
}

fn found(tx: &mut Tx<'_>, id: &EnquiryId) -> Done<(Insider, NewCar)> {
    Ok((Insider::of(tx)?, usecase::show(tx, id)?))
}

fn inputs(new: &NewCar) -> Vec<Input> {
    let caller = of_caller(new.customer.is_none()).into_iter();
    caller.chain(of_wish()).chain([Input::hidden("customer_version")]).collect()
}

fn shown(insider: Insider, new: &NewCar, form: FormView, status: StatusCode) -> Answer {
    let frame = DeskFrame::new(form.title("The call"), insider, &form.code, HERE);
    let action = format!("{HERE}/{}", new.enquiry.id);
    html(status, &Page { frame, heading: "The call", head: Head::of(new, 1), form, action })
}

/// The call as it was saved.
#[get("/new-car/{id}")]
pub(super) async fn show(page: PageRead<Desk>, id: Path<String>) -> Answer {
    let id = EnquiryId::new(id.into_inner());
    let (insider, new) = page.read(move |tx| found(tx, &id)).await?;
    if let Some(sent) = new.quote.as_ref().filter(|_| new.is_sent()) {
        return Ok(see_other(&visit(&sent.quote.id)));
    }
    let form = FormView::new(inputs(&new), &fields_of(&new), page.form_code());
    shown(insider, &new, form, StatusCode::OK)
}

/// What the form brings, with the versions of enquiry and customer that were seen.
fn read_all(fields: &Fields) -> Result<((Seen, Seen), Call), Refused> {
    let seen = Reading::of(fields).version()?;
    let seen_customer = Seen(fields.text("customer_version").parse().unwrap_or_default());
    Ok(((seen, seen_customer), read(fields)?))
}

/// Saves the call and the customer's contact details.
#[post("/new-car/{id}")]
pub(super) async fn save(page: PageWrite<Desk>, id: Path<String>) -> Answer {
    let id = EnquiryId::new(id.into_inner());
    let fields = Fields::of_form(page.form());
    let of = id.clone();
    let taken = tried(&page, read_all(&fields), move |tx, (seen, call)| {
        usecase::correct(tx, &of, *seen, call)?;
        Ok(next_step(&usecase::show(tx, &of)?))
    });
    let problem = match taken.await? {
        Ok(answer) => return Ok(answer),
        Err(problem) => problem,
    };
    let (insider, new) = page.read(move |tx| found(tx, &id)).await?;
    let theirs = fields_of(&new);
    let mut form = FormView::new(inputs(&new), &fields, page.form_code()).after(&problem, &theirs);
    if problem.status() == StatusCode::PRECONDITION_FAILED {
        form.stale.retain(|row| !row.label.is_empty());
        for input in form.inputs.iter_mut().filter(|input| input.name == "customer_version") {
            input.value = theirs.text("customer_version");
        }
        if !form.is_wrong() {
            form = form.telling("Somebody else has changed this customer in the meantime. Save your form again.");
        }
    }
    shown(insider, &new, form, problem.status())
}
