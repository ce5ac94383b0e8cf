//! The last step: the quote as it would be sent. It goes out by mail, or the customer signs on the studio's device.

use std::collections::BTreeSet;

use actix_web::http::StatusCode;
use actix_web::web::Path;
use actix_web::{get, post};
use askama::Template;
use baywright_core::new_car::usecase::{self, NewCar, Sending, Work};
use baywright_core::platform::fail::{Done, Fail};
use baywright_core::platform::identity::Desk;
use baywright_core::platform::refusal::Refused;
use baywright_core::platform::tx::Tx;
use baywright_core::platform::version::Seen;
use baywright_core::quote::usecase::{ByMail, make_link};
use baywright_core::shop::usecase::settings;
use baywright_domain::id::EnquiryId;
use baywright_domain::signoff::Method;
use baywright_http::platform::answer::Answer;
use baywright_http::platform::page::{PageRead, PageWrite};
use baywright_http::platform::problem::Problem;
use baywright_http::platform::wire::{Email, Text};

use super::priced::PriceView;
use super::steps::Head;
use super::{HERE, elsewhere, step, tried, visit};
use crate::platform::form::{Fields, FormView, Input, Reading};
use crate::platform::{DeskFrame, Insider, html, see_other};

/// Value of the button that hands the tablet over.
const SIGN: &str = "sign";

/// The page of the quote.
#[derive(Template)]
#[template(path = "new_car/views/send.html")]
struct Page {
    frame: DeskFrame,
    heading: &'static str,
    head: Head,
    form: FormView,
    price: Option<PriceView>,
    /// Why the quote can't be priced; empty if it can.
    price_fault: String,
    /// Number of findings that the quote shows, in words; empty if nobody walked round the car.
    findings: String,
    action: String,
    work: String,
    walk_round: String,
}

/// What the database says for the page.
struct Found {
    insider: Insider,
    new: NewCar,
    price: Option<Result<PriceView, Refused>>,
}

fn found(tx: &mut Tx<'_>, id: &EnquiryId) -> Done<Found> {
    let insider = Insider::of(tx)?;
    let new = usecase::show(tx, id)?;
    let Some(shown) = new.quote.as_ref().filter(|_| !new.is_sent()) else {
        return Ok(Found { insider, new, price: None });
    };
    let items = shown.revision.draft.lines.iter().map(|line| line.item.clone()).collect();
    let work = Work { items, condition: new.condition() };
    let settings = settings(tx)?;
    let price = match usecase::work_price(tx, &new, &work) {
        Ok(price) => Ok(PriceView::of(price, &settings)),
        Err(Fail::Refused(refused)) => Err(*refused),
        Err(other) => return Err(other),
    };
    Ok(Found { insider, new, price: Some(price) })
}

/// The lines of the draft, to be ticked if the customer may leave them out.
fn inputs(new: &NewCar, price: Option<&PriceView>) -> Vec<Input> {
    let lines = price.map_or(&[][..], |price| price.lines.as_slice());
    let lines: Vec<(String, String)> =
        lines.iter().enumerate().map(|(at, (name, _))| (at.to_string(), name.clone())).collect();
    let mut inputs = Vec::new();
    if lines.len() > 1 {
        let ticks = Input::ticks("optional", "The customer may leave these out", lines);
        inputs.push(ticks.hint("Lines without a tick belong to the quote in any case."));
    }
    let main = new.customer.as_ref().and_then(|customer| customer.email()).unwrap_or_default();
    let hint = if main.is_empty() { "This customer has none yet.".to_owned() } else { format!("Empty: {main}.") };
    inputs.push(Input::long("notes", "Note on the quote").hint("The customer reads it and signs it.").optional());
    inputs.push(Input::email("email", "Email address for this quote").hint(hint).optional().autocomplete("off"));
    inputs.push(Input::long("message", "Message in the mail").optional());
    inputs
}

fn fields_of(new: &NewCar) -> Fields {
    let draft = new.quote.as_ref().map(|shown| &shown.revision.draft);
    let lines = draft.iter().flat_map(|draft| draft.lines.iter().enumerate());
    let optional = lines.filter(|(_, line)| !line.required).map(|(at, _)| ("optional", at.to_string()));
    let one = [
        ("version", new.quote_version().to_string()),
        ("notes", draft.map(|draft| draft.notes.clone()).unwrap_or_default()),
    ];
    Fields::of_record(one).and(Fields::of_record(optional))
}

/// What the form brings, or everything that is wrong with it.
fn read(fields: &Fields) -> Result<(Seen, Sending), Refused> {
    let mut form = Reading::of(fields);
    let seen = form.version()?;
    let optional: BTreeSet<usize> = fields.all("optional").filter_map(|at| at.parse().ok()).collect();
    let notes = form.optional("notes", |text| Text::<4000>::parse(text).map(Text::into_string)).unwrap_or_default();
    let by_mail = if fields.text("go") == SIGN {
        None
    } else {
        let email = form.optional("email", |text| Email::parse(text.trim())).map(Email::into_string);
        let message = form.optional("message", |text| Text::<2000>::parse(text).map(Text::into_string));
        Some(ByMail { email, message: message.unwrap_or_default() })
    };
    form.done(Some((seen, Sending { optional, notes, by_mail })))
}

fn shown(found: Found, fields: &Fields, code: &str, problem: Option<&Problem>) -> Answer {
    let Found { insider, new, price } = found;
    let (price, price_fault) = match price {
        Some(Ok(price)) => (Some(price), String::new()),
        Some(Err(refused)) => (None, refused.detail().to_owned()),
        None => (None, String::new()),
    };
    let mut form = FormView::new(inputs(&new, price.as_ref()), fields, code);
    if let Some(problem) = problem {
        form = match problem.status() {
            StatusCode::PRECONDITION_FAILED => {
                form.version = new.quote_version().to_string();
                form.telling("Somebody else has changed this quote in the meantime. Check it below, then send it.")
            }
            _ if problem
                .refused()
                .errors()
                .iter()
                .any(|fault| fault.pointer == "/email" && fault.code == "missing") =>
            {
                form.refused(&Refused::field("/email", "missing", "Write the address that the quote goes to."))
            }
            _ => form.refused(problem.refused()),
        };
    }
    let walked = new.walk_round.as_ref();
    let page = Page {
        frame: DeskFrame::new(form.title("Check and send"), insider, code, HERE),
        heading: "Check and send",
        head: Head::of(&new, 5),
        price,
        price_fault,
        findings: walked.map(|inspection| counted(inspection.details.findings.len())).unwrap_or_default(),
        action: step(&new.enquiry.id, "send"),
        work: step(&new.enquiry.id, "work"),
        walk_round: step(&new.enquiry.id, "walk-round"),
        form,
    };
    html(problem.map_or(StatusCode::OK, Problem::status), &page)
}

/// A number of findings in words.
fn counted(findings: usize) -> String {
    match findings {
        0 => "no findings".to_owned(),
        1 => "1 finding".to_owned(),
        many => format!("{many} findings"),
    }
}

/// The quote as it would be sent.
#[get("/new-car/{id}/send")]
pub(super) async fn show(page: PageRead<Desk>, id: Path<String>) -> Answer {
    let id = EnquiryId::new(id.into_inner());
    let found = page.read(move |tx| found(tx, &id)).await?;
    if let Some(address) = elsewhere(&found.new) {
        return Ok(see_other(&address));
    }
    if found.new.quote.is_none() {
        return Ok(see_other(&step(&found.new.enquiry.id, "work")));
    }
    let fields = fields_of(&found.new);
    shown(found, &fields, page.form_code(), None)
}

/// Sends the quote; or freezes it and leads to the customer's page, to be signed on this device.
#[post("/new-car/{id}/send")]
pub(super) async fn save(page: PageWrite<Desk>, id: Path<String>) -> Answer {
    let id = EnquiryId::new(id.into_inner());
    let fields = Fields::of_form(page.form());
    let of = id.clone();
    let taken =
        tried(&page, read(&fields), move |tx, (seen, sending)| Ok(visit(&usecase::send(tx, &of, *seen, sending)?)));
    let problem = match taken.await? {
        Ok(_) if fields.text("go") == SIGN => return handed_over(&page, id).await,
        Ok(answer) => return Ok(answer),
        Err(problem) => problem,
    };
    let found = page.read(move |tx| found(tx, &id)).await?;
    shown(found, &fields, page.form_code(), Some(&problem))
}

/// The customer's page, on this device. Its link is kept as a digest alone, so a form that is sent twice makes another
/// link; once the quote is answered, the visit follows.
async fn handed_over(page: &PageWrite<Desk>, id: EnquiryId) -> Answer {
    let link = page.write(move |tx| {
        let quote = usecase::show(tx, &id)?.quote()?.quote.id.clone();
        match make_link(tx, &quote, Method::InPerson, "") {
            Ok((_, url)) => Ok(url.strip_prefix(tx.config.public_url.as_str()).unwrap_or(&url).to_owned()),
            Err(Fail::Refused(_)) => Ok(visit(&quote)),
            Err(other) => Err(other),
        }
    });
    Ok(see_other(&link.await?))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_quote_is_mailed_unless_the_tablet_is_handed_over() {
        let of = |text: &str| read(&Fields::of_query(text)).map(|(_, sending)| sending);
        let mailed = of("version=2&email=niamh%40example.com&optional=1&optional=3").unwrap();
        assert_eq!(mailed.by_mail.and_then(|mail| mail.email).as_deref(), Some("niamh@example.com"));
        assert_eq!(mailed.optional, BTreeSet::from([1, 3]));
        assert!(of("version=2&email=nobody&go=sign").unwrap().by_mail.is_none());
        assert!(of("version=2&email=nobody&go=mail").is_err());
    }
}
