//! The first step: who called. A known customer is found by name, telephone or registration; a new one is written down.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, get, post};
use askama::Template;
use baywright_core::customer::usecase as customer;
use baywright_core::new_car::usecase::{self, Begun};
use baywright_core::platform::fail::Done;
use baywright_core::platform::identity::Desk;
use baywright_core::platform::refusal::KnownRecord;
use baywright_core::platform::tx::Tx;
use baywright_core::platform::warning::CONFIRM;
use baywright_core::search::usecase::search;
use baywright_core::vehicle::usecase::{self as vehicle, Vehicle};
use baywright_domain::id::{CustomerId, VehicleId};
use baywright_http::platform::answer::Answer;
use baywright_http::platform::page::{PageRead, PageWrite};
use baywright_http::platform::problem::Problem;

use super::contact::{blank, of_caller, of_wish, read};
use super::steps::Head;
use super::{HERE, next_step, tried};
use crate::platform::form::{Fields, FormView, Input};
use crate::platform::{DeskFrame, Insider, html};

/// Maximum number of records that are found.
const MOST: i64 = 12;

/// A record that was found.
struct Found {
    title: String,
    note: String,
    address: String,
}

/// The page of a call.
#[derive(Template)]
#[template(path = "new_car/views/call.html")]
struct Page {
    frame: DeskFrame,
    heading: &'static str,
    head: Head,
    /// What was looked for.
    query: String,
    found: Vec<Found>,
    begun: Vec<Begun>,
    /// Name and contact details of the customer, if they are known.
    known: Option<(String, String)>,
    form: FormView,
    /// Customers who may be the one that was written down.
    alike: Vec<KnownRecord>,
}

/// What the database says for the page.
struct Seen {
    insider: Insider,
    found: Vec<Found>,
    begun: Vec<Begun>,
    known: Option<(customer::Customer, Vec<Vehicle>)>,
}

fn look(tx: &mut Tx<'_>, query: &str, known: &str) -> Done<Seen> {
    let insider = Insider::of(tx)?;
    let known = if known.is_empty() {
        None
    } else {
        let known = customer::standing(tx, &CustomerId::new(known))?;
        let cars = vehicle::of_customer(tx, &known.id)?;
        Some((known, cars.into_iter().filter(|car| car.merged_into.is_none()).collect()))
    };
    let found = if query.trim().is_empty() { Vec::new() } else { looked_for(tx, query)? };
    let begun = if known.is_none() { usecase::begun(tx)? } else { Vec::new() };
    Ok(Seen { insider, found, begun, known })
}

/// Customers, cars and callers that the words lead to.
fn looked_for(tx: &mut Tx<'_>, query: &str) -> Done<Vec<Found>> {
    let (hits, _) = search(tx, query, MOST)?;
    let cars: Vec<VehicleId> =
        hits.iter().filter(|hit| hit.kind == "vehicle").map(|hit| VehicleId::new(hit.id.as_str())).collect();
    let cars = vehicle::of_ids(tx, &cars)?;
    let owners: Vec<CustomerId> = cars.iter().map(|car| car.details.customer_id.clone()).collect();
    let owners = customer::of_ids(tx, &owners)?;
    let found = hits.iter().filter_map(|hit| match hit.kind.as_str() {
        "customer" => Some(Found {
            title: hit.title.clone(),
            note: hit.detail.clone(),
            address: format!("{HERE}?customer={}", hit.id),
        }),
        "vehicle" => {
            let car = cars.iter().find(|car| car.id.as_str() == hit.id)?;
            let owner = owners.iter().find(|owner| owner.id == car.details.customer_id)?;
            Some(Found {
                title: format!("{}: {}", owner.details.name, hit.title),
                note: hit.detail.clone(),
                address: format!("{HERE}?customer={}&vehicle={}", owner.id, car.id),
            })
        }
        "enquiry" => Some(Found {
            title: hit.title.clone(),
            note: "called before, without a quote".to_owned(),
            address: format!("{HERE}/{}", hit.id),
        }),
        _ => None,
    });
    Ok(found.collect())
}

/// The inputs of the form.
fn inputs(known: Option<&(customer::Customer, Vec<Vehicle>)>) -> Vec<Input> {
    let Some((_, cars)) = known else { return of_caller(true).into_iter().chain(of_wish()).collect() };
    let cars = cars.iter().map(|car| (car.id.to_string(), car.label()));
    let cars: Vec<(String, String)> = cars.chain([(String::new(), "Another car".to_owned())]).collect();
    let cars = Input::radios("vehicle", "Car", cars);
    [Input::hidden("customer"), cars].into_iter().chain(of_wish()).collect()
}

/// What the form is opened with: what was looked for as a name or a number, or the only car of the customer.
fn opened(query: &Fields, seen: &Seen) -> Fields {
    let typed = query.text("q");
    let mut fields = Vec::new();
    match &seen.known {
        Some((known, cars)) => {
            fields.push(("customer", known.id.to_string()));
            let only = if let [car] = cars.as_slice() { car.id.to_string() } else { String::new() };
            let asked = query.text("vehicle");
            let car = if asked.is_empty() { only } else { asked };
            if !car.is_empty() || cars.is_empty() {
                fields.push(("vehicle", car));
            }
        }
        None if typed.chars().filter(char::is_ascii_digit).count() > 2 => fields.push(("caller.phone", typed)),
        None if typed.contains('@') => fields.push(("caller.email", typed)),
        None => fields.push(("caller.name", typed)),
    }
    Fields::of_record(fields).and(blank())
}

fn shown(seen: Seen, fields: &Fields, query: String, code: &str, problem: Option<&Problem>) -> Answer {
    let mut form = FormView::new(inputs(seen.known.as_ref()), fields, code);
    let mut alike = Vec::new();
    if let Some(problem) = problem {
        let question = problem.refused().question();
        alike = problem.refused().known().to_vec();
        form = match question {
            Some(question) => {
                let mut yes = Input::hidden(CONFIRM);
                yes.value.clone_from(&question.confirm);
                let mut asking = form.telling(question.text.clone());
                asking.inputs.push(yes);
                asking
            }
            None => form.refused(problem.refused()),
        };
    }
    let known = seen.known.map(|(known, _)| {
        let reach = known.details.phones.iter().chain(&known.details.emails).cloned().collect::<Vec<_>>().join(", ");
        (known.details.name, reach)
    });
    let heading = "Who is calling?";
    let frame = DeskFrame::new(form.title("New car"), seen.insider, code, HERE);
    let page =
        Page { frame, heading, head: Head::first(), query, found: seen.found, begun: seen.begun, known, form, alike };
    html(problem.map_or(StatusCode::OK, Problem::status), &page)
}

/// The page of a call.
#[get("/new-car")]
pub(super) async fn show(page: PageRead<Desk>, request: HttpRequest) -> Answer {
    let asked = Fields::of_query(request.query_string());
    let (query, known) = (asked.text("q"), asked.text("customer"));
    let wanted = query.clone();
    let seen = page.read(move |tx| look(tx, &wanted, &known)).await?;
    let fields = opened(&asked, &seen);
    shown(seen, &fields, query, page.form_code(), None)
}

/// Saves a call: an enquiry, and the customer if they are new.
#[post("/new-car")]
pub(super) async fn begin(page: PageWrite<Desk>) -> Answer {
    let fields = Fields::of_form(page.form());
    let taken = tried(&page, read(&fields), |tx, call| {
        let id = usecase::begin(tx, call)?;
        Ok(next_step(&usecase::show(tx, &id)?))
    });
    let problem = match taken.await {
        Ok(Ok(answer)) => return Ok(answer),
        Ok(Err(problem)) => problem,
        Err(problem) if problem.refused().code() == "known-customer" => problem,
        Err(problem) => return Err(problem),
    };
    let known = fields.text("customer");
    let seen = page.read(move |tx| look(tx, "", &known)).await?;
    shown(seen, &fields, String::new(), page.form_code(), Some(&problem))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_looked_for_is_not_typed_again() {
        let insider =
            Insider { studio: String::new(), name: String::new(), role: baywright_domain::people::Role::Desk };
        let seen = Seen { insider, found: Vec::new(), begun: Vec::new(), known: None };
        for (query, field) in [
            ("q=Niamh+Keane", "caller.name"),
            ("q=020+910+0042", "caller.phone"),
            ("q=niamh%40example.com", "caller.email"),
        ] {
            let query = Fields::of_query(query);
            assert_eq!(opened(&query, &seen).text(field), query.text("q"), "{field}");
        }
    }
}
