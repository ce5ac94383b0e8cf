//! The second step: which car. A known one is chosen by one tap, a new one is written down, and the chosen one can be
//! corrected.

use actix_web::http::StatusCode;
use actix_web::web::Path;
use actix_web::{HttpRequest, get, post};
use askama::Template;
use baywright_core::new_car::usecase::{self, NewCar};
use baywright_core::platform::fail::Done;
use baywright_core::platform::identity::Desk;
use baywright_core::platform::refusal::{KnownRecord, Refused};
use baywright_core::platform::tx::Tx;
use baywright_core::platform::version::Seen;
use baywright_core::platform::warning::CONFIRM;
use baywright_core::vehicle::usecase::{self as vehicle, Details, Vehicle};
use baywright_domain::id::{CustomerId, EnquiryId, VehicleId};
use baywright_domain::vehicle::{
    Market, OdometerUnit, PaintType, Powertrain, SizeClass, is_possible_year, searchable_registration,
};
use baywright_http::platform::answer::Answer;
use baywright_http::platform::page::{PageRead, PageWrite};
use baywright_http::platform::problem::Problem;
use baywright_http::platform::wire::Line;
use rust_decimal::prelude::ToPrimitive;

use super::steps::Head;
use super::{HERE, next_step, step, tried};
use crate::platform::form::{Fields, FormView, Input, Reading, number};
use crate::platform::{DeskFrame, Insider, html, see_other};

/// The page of the car.
#[derive(Template)]
#[template(path = "new_car/views/car.html")]
struct Page {
    frame: DeskFrame,
    heading: &'static str,
    head: Head,
    /// Id and name of each known car of the customer but the chosen one.
    cars: Vec<(String, String)>,
    /// Version of the enquiry, for the choice of a known car.
    version: i64,
    /// Name of the car that the form corrects; empty if it is for a new one.
    corrected: String,
    form: FormView,
    /// Known cars of the customer that may be the one that was written down.
    alike: Vec<KnownRecord>,
    action: String,
}

/// What the database says for the page.
struct Found {
    insider: Insider,
    new: NewCar,
    cars: Vec<Vehicle>,
}

fn found(tx: &mut Tx<'_>, id: &EnquiryId) -> Done<Found> {
    let insider = Insider::of(tx)?;
    let new = usecase::show(tx, id)?;
    let cars = match &new.customer {
        Some(customer) => vehicle::of_customer(tx, &customer.id)?,
        None => Vec::new(),
    };
    let cars = cars.into_iter().filter(|car| car.merged_into.is_none()).collect();
    Ok(Found { insider, new, cars })
}

fn inputs() -> Vec<Input> {
    let sizes = SizeClass::ALL.iter().map(|size| (size.as_str().to_owned(), example(*size).to_owned()));
    let powertrains = Powertrain::ALL.iter().map(|kind| (kind.as_str().to_owned(), kind.label().to_owned()));
    let paints = PaintType::ALL.iter().map(|kind| (kind.as_str().to_owned(), kind.label().to_owned()));
    vec![
        Input::short("registration", "Registration").optional().autocomplete("off"),
        Input::line("make", "Make").autocomplete("off"),
        Input::line("model", "Model").autocomplete("off"),
        Input::radios("size_class", "Size", sizes.collect()).hint("Prices and times depend on it."),
        Input::radios("powertrain", "Powertrain", powertrains.collect())
            .hint("Unknown counts as electric: the work then has the cautions for high voltage."),
        Input::short("colour", "Colour").optional().autocomplete("off"),
        Input::short("year", "Year of make").optional().autocomplete("off"),
        Input::short("paint_type", "Paint").options(paints.collect()),
        Input::hidden("chosen"),
    ]
}

const fn example(size: SizeClass) -> &'static str {
    match size {
        SizeClass::Small => "Small: city car",
        SizeClass::Medium => "Medium: compact, saloon",
        SizeClass::Large => "Large: estate, sport utility",
        SizeClass::ExtraLarge => "Extra large: van, pick-up",
    }
}

/// A new car before anything is typed.
fn blank(new: &NewCar) -> Fields {
    Fields::of_record([
        ("version", new.enquiry.version.to_string()),
        ("powertrain", Powertrain::Unknown.as_str().to_owned()),
        ("paint_type", PaintType::Unknown.as_str().to_owned()),
    ])
}

/// The chosen car as its form would bring it.
fn fields_of(car: &Vehicle) -> Fields {
    let details = &car.details;
    Fields::of_record([
        ("version", car.version.to_string()),
        ("chosen", car.id.to_string()),
        ("registration", details.registration.clone().unwrap_or_default()),
        ("make", details.make.clone()),
        ("model", details.model.clone()),
        ("size_class", details.size.as_str().to_owned()),
        ("powertrain", details.powertrain.as_str().to_owned()),
        ("colour", details.colour.clone().unwrap_or_default()),
        ("year", details.year.map(|year| year.to_string()).unwrap_or_default()),
        ("paint_type", details.paint.as_str().to_owned()),
    ])
}

/// What a form brings.
enum Read {
    /// A known car is chosen.
    Known(Seen, VehicleId),
    /// A new car is added.
    New(Seen, Details),
    /// The chosen car is corrected.
    Corrected(Seen, Details),
}

/// What the form brings, or everything that is wrong with it.
fn read(fields: &Fields) -> Result<Read, Refused> {
    let mut form = Reading::of(fields);
    let seen = form.version()?;
    let known = fields.text("vehicle");
    if !known.is_empty() {
        return Ok(Read::Known(seen, VehicleId::new(known)));
    }
    let choose = "choose one of these";
    let registration = form.optional("registration", |text| {
        let plate = Line::<20>::parse(text)?;
        if searchable_registration(plate.as_str()).is_empty() {
            return Err("write the registration with its letters and digits".to_owned());
        }
        Ok(plate)
    });
    let make = form.needed("make", Line::<60>::parse);
    let model = form.needed("model", Line::<60>::parse);
    let size = form.needed("size_class", |text| SizeClass::parse(text).map_err(|_| choose.to_owned()));
    let powertrain = form.needed("powertrain", |text| Powertrain::parse(text).map_err(|_| choose.to_owned()));
    let colour = form.optional("colour", Line::<60>::parse);
    let year = form.optional("year", |text| {
        let year = number(text, 0)?.to_i32().filter(|year| is_possible_year(*year));
        year.ok_or_else(|| "write the year with four digits".to_owned())
    });
    let paint = form.optional("paint_type", |text| PaintType::parse(text).map_err(|_| choose.to_owned()));
    let details = make.zip(model).zip(size.zip(powertrain)).map(|((make, model), (size, powertrain))| Details {
        // The call names the owner.
        customer_id: CustomerId::new(""),
        registration: registration.map(Line::into_string),
        country: None,
        vin: None,
        market: Market::Elsewhere,
        make: make.into_string(),
        model: model.into_string(),
        year,
        colour: colour.map(Line::into_string),
        size,
        paint: paint.unwrap_or(PaintType::Unknown),
        powertrain,
        odometer_unit: OdometerUnit::Kilometres,
        notes: String::new(),
    });
    let details = form.done(details)?;
    let is_new = fields.text("chosen").is_empty();
    Ok(if is_new { Read::New(seen, details) } else { Read::Corrected(seen, details) })
}

fn shown(found: Found, fields: &Fields, code: &str, problem: Option<&Problem>) -> Answer {
    let Found { insider, new, cars } = found;
    let chosen = new.vehicle.as_ref().filter(|car| car.id.as_str() == fields.text("chosen"));
    let mut form = FormView::new(inputs(), fields, code);
    let mut alike = Vec::new();
    if let Some(problem) = problem {
        let theirs = chosen.map_or_else(|| blank(&new), fields_of);
        form = match problem.refused().question() {
            Some(question) => {
                let known = problem.refused().known().iter();
                let theirs = known.filter(|one| cars.iter().any(|car| car.id.as_str() == one.id));
                alike = theirs.cloned().collect();
                let mut yes = Input::hidden(CONFIRM);
                yes.value.clone_from(&question.confirm);
                let mut asking = form.telling(question.text.clone());
                asking.inputs.push(yes);
                asking
            }
            None if problem.status() == StatusCode::PRECONDITION_FAILED && chosen.is_none() => {
                form.version = theirs.text("version");
                form.telling(
                    "Somebody else has changed this call in the meantime. Check it, then save your form again.",
                )
            }
            None => form.after(problem, &theirs),
        };
    }
    let others = cars.iter().filter(|car| chosen.is_none_or(|chosen| chosen.id != car.id));
    let page = Page {
        heading: "Which car?",
        head: Head::of(&new, 2),
        version: new.enquiry.version,
        cars: others.map(|car| (car.id.to_string(), car.label())).collect(),
        corrected: chosen.map(Vehicle::label).unwrap_or_default(),
        frame: DeskFrame::new(form.title("Which car?"), insider, code, HERE),
        form,
        alike,
        action: step(&new.enquiry.id, "car"),
    };
    html(problem.map_or(StatusCode::OK, Problem::status), &page)
}

/// The page of the car: the chosen one to be corrected, or a form for a new one.
#[get("/new-car/{id}/car")]
pub(super) async fn show(page: PageRead<Desk>, id: Path<String>, request: HttpRequest) -> Answer {
    let id = EnquiryId::new(id.into_inner());
    let asked = Fields::of_query(request.query_string());
    let found = page.read(move |tx| found(tx, &id)).await?;
    if found.new.is_sent() || found.new.customer.is_none() {
        return Ok(see_other(&next_step(&found.new)));
    }
    let chosen = found.new.vehicle.as_ref().filter(|_| !asked.yes("another"));
    let fields = chosen.map_or_else(|| blank(&found.new), fields_of);
    shown(found, &fields, page.form_code(), None)
}

/// Chooses, adds or corrects the car.
#[post("/new-car/{id}/car")]
pub(super) async fn save(page: PageWrite<Desk>, id: Path<String>) -> Answer {
    let id = EnquiryId::new(id.into_inner());
    let fields = Fields::of_form(page.form());
    let of = id.clone();
    let taken = tried(&page, read(&fields), move |tx, read| {
        match read {
            Read::Known(seen, car) => usecase::choose_car(tx, &of, *seen, car)?,
            Read::New(seen, details) => usecase::add_car(tx, &of, *seen, details)?,
            Read::Corrected(seen, details) => usecase::correct_car(tx, &of, *seen, details)?,
        }
        Ok(next_step(&usecase::show(tx, &of)?))
    });
    let problem = match taken.await {
        Ok(Ok(answer)) => return Ok(answer),
        Ok(Err(problem)) => problem,
        Err(problem) if problem.refused().code() == "known-vehicle" => problem,
        Err(problem) => return Err(problem),
    };
    let found = page.read(move |tx| found(tx, &id)).await?;
    shown(found, &fields, page.form_code(), Some(&problem))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_form_chooses_adds_or_corrects() {
        let of = |text: &str| read(&Fields::of_query(text));
        assert!(matches!(of("version=3&vehicle=v1"), Ok(Read::Known(Seen(3), _))));
        let car = "version=2&make=Merrow&model=Osprey&size_class=LARGE&powertrain=HYBRID&year=2023";
        assert!(matches!(of(car), Ok(Read::New(Seen(2), details)) if details.year == Some(2023)));
        assert!(matches!(of(&format!("{car}&chosen=v1")), Ok(Read::Corrected(Seen(2), _))));
        let Err(refused) = of("version=1&year=soon&registration=-") else { panic!("nothing is said") };
        let told: Vec<&str> = refused.errors().iter().map(|fault| fault.pointer.as_str()).collect();
        assert_eq!(told, ["/registration", "/make", "/model", "/size_class", "/powertrain", "/year"]);
    }
}
