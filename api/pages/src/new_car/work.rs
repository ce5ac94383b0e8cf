//! The fourth step: the work, with price and first day. A script lets them follow the ticks; without one, a button asks for
//! them and saves the choice.

use actix_web::http::StatusCode;
use actix_web::web::Path;
use actix_web::{HttpRequest, get, post};
use askama::Template;
use baywright_core::menu::usecase::find_in_force;
use baywright_core::new_car::usecase::{self, MenuPrice, NewCar, Work, WorkPrice};
use baywright_core::platform::fail::{Done, Fail};
use baywright_core::platform::identity::Desk;
use baywright_core::platform::kept::Amount;
use baywright_core::platform::refusal::Refused;
use baywright_core::platform::tx::Tx;
use baywright_core::platform::version::Seen;
use baywright_core::quote::kept::{DraftCustomItem, DraftItem};
use baywright_core::shop::usecase::{Settings, settings};
use baywright_domain::id::EnquiryId;
use baywright_domain::inspection::ConditionClass;
use baywright_domain::money::Currency;
use baywright_http::platform::answer::Answer;
use baywright_http::platform::page::{PageRead, PageWrite};
use baywright_http::platform::problem::Problem;
use baywright_http::platform::wire::{Code, Line};

use super::priced::{ItemView, PriceView, of_menu};
use super::steps::Head;
use super::{HERE, elsewhere, step, tried};
use crate::platform::assets::new_car_script;
use crate::platform::form::{Fields, FormView, Input, Reading, amount};
use crate::platform::{DeskFrame, Insider, html, see_other};

/// Maximum number of items of the desk's own.
const MOST_OWN: usize = 20;

/// The page of the work.
#[derive(Template)]
#[template(path = "new_car/views/work.html")]
struct Page {
    frame: DeskFrame,
    heading: &'static str,
    head: Head,
    form: FormView,
    /// Whether a menu is published.
    has_menu: bool,
    packages: Vec<ItemView>,
    services: Vec<ItemView>,
    services_fault: Option<String>,
    /// Inputs of the items of the desk's own, and the condition if nobody walked round the car.
    others: Vec<Input>,
    price: Option<PriceView>,
    /// Why the choice can't be priced; empty if it can.
    price_fault: String,
    action: String,
    walk_round: String,
    script: String,
}

/// What the database says for the page.
struct Found {
    insider: Insider,
    new: NewCar,
    settings: Settings,
    /// The menu with its prices; `None` if none is published.
    menu: Option<Vec<MenuPrice>>,
    price: Option<Result<WorkPrice, Refused>>,
    fields: Fields,
}

/// The chosen work as its form would bring it.
fn fields_of(new: &NewCar, currency: Currency) -> Fields {
    let mut fields = vec![("version".to_owned(), new.quote_version().to_string())];
    let lines = new.quote.iter().flat_map(|shown| &shown.revision.draft.lines);
    let mut own = 0;
    for line in lines {
        match (&line.item, of_menu(&line.item)) {
            (_, Some((field, code))) => fields.push((field.to_owned(), code.to_owned())),
            (DraftItem::Custom(item), None) => {
                let price = item.price.money(currency).map(|money| money.to_major(currency)).unwrap_or_default();
                fields.push((format!("own.{own}.name"), item.name.clone()));
                fields.push((format!("own.{own}.price"), price));
                own += 1;
            }
            _ => {}
        }
    }
    let condition = new.condition().unwrap_or(ConditionClass::Fair);
    fields.push(("condition".to_owned(), condition.as_str().to_owned()));
    Fields::of_record(fields)
}

/// Number of rows for items of the desk's own: those that are filled in, and a blank one.
fn rows(fields: &Fields) -> usize {
    let filled = (0..MOST_OWN).filter(|row| !fields.text(&format!("own.{row}.name")).is_empty()).max();
    filled.map_or(1, |last| last + 2).min(MOST_OWN)
}

fn inputs(new: &NewCar, fields: &Fields) -> Vec<Input> {
    let mut inputs = vec![Input::ticks("services", "Services", Vec::new())];
    if new.walk_round.is_none() {
        let classes = ConditionClass::ALL.iter().map(|class| (class.as_str().to_owned(), class.label().to_owned()));
        let condition = Input::radios("condition", "Condition, as the customer says", classes.collect());
        inputs.push(condition.hint("Nobody has walked round the car yet."));
    }
    for row in 0..rows(fields) {
        let name = Input::line(format!("own.{row}.name"), if row == 0 { "Your own line" } else { "Another line" });
        inputs.push(name.hint("Such as: collect the car.").optional().autocomplete("off"));
        inputs.push(Input::short(format!("own.{row}.price"), "Its price").optional().autocomplete("off"));
    }
    inputs
}

/// The work that the form brings, or everything that is wrong with it.
fn read(fields: &Fields, currency: Currency) -> Result<(Seen, Work), Refused> {
    let mut form = Reading::of(fields);
    let seen = form.version()?;
    let work = read_work(&mut form, fields, currency);
    Ok((seen, form.done(Some(work))?))
}

fn read_work(form: &mut Reading<'_>, fields: &Fields, currency: Currency) -> Work {
    let mut items = Vec::new();
    for field in ["packages", "services"] {
        for code in fields.all(field) {
            match Code::parse(code) {
                Ok(code) if field == "packages" => items.push(DraftItem::Package(code.into_string())),
                Ok(code) => items.push(DraftItem::Service(code.into_string())),
                Err(_) => form.fault("services", "bad_code", "Choose from the services on this page."),
            }
        }
    }
    for row in 0..MOST_OWN {
        let (name, price) = (format!("own.{row}.name"), format!("own.{row}.price"));
        if fields.text(&name).trim().is_empty() && fields.text(&price).trim().is_empty() {
            continue;
        }
        let item = form.needed(&name, Line::<200>::parse).zip(form.needed(&price, |text| amount(text, currency)));
        items.extend(item.map(|(name, price)| {
            let price = Amount::of(price, currency);
            DraftItem::Custom(DraftCustomItem { name: name.into_string(), price })
        }));
    }
    if items.is_empty() && form.is_clean() {
        form.fault("services", "empty", "Tick at least one service, or write a line of your own.");
    }
    let condition =
        form.optional("condition", |text| ConditionClass::parse(text).map_err(|_| "choose one of these".to_owned()));
    Work { items, condition }
}

/// The page's data for the fields of a form, or for the saved choice if there are none.
fn found(tx: &mut Tx<'_>, id: &EnquiryId, fields: Option<Fields>) -> Done<Found> {
    let insider = Insider::of(tx)?;
    let new = usecase::show(tx, id)?;
    let settings = settings(tx)?;
    let currency = settings.currency;
    let fields = fields.unwrap_or_else(|| fields_of(&new, currency));
    let mut found = Found { insider, new, settings, menu: None, price: None, fields };
    if found.new.vehicle.is_none() || find_in_force(tx)?.is_none() {
        return Ok(found);
    }
    let mut form = Reading::of(&found.fields);
    let work = read_work(&mut form, &found.fields, currency);
    let said = found.new.walk_round.as_ref().map(|inspection| inspection.judged.condition.class);
    let condition = said.or(work.condition).or(found.new.condition()).unwrap_or(ConditionClass::Fair);
    found.menu = Some(usecase::menu_prices(tx, &found.new, condition)?);
    let work = Work { condition: Some(condition), ..work };
    if form.is_clean() {
        found.price = match usecase::work_price(tx, &found.new, &work) {
            Ok(price) => Some(Ok(price)),
            Err(Fail::Refused(refused)) => Some(Err(*refused)),
            Err(other) => return Err(other),
        };
    }
    Ok(found)
}

fn shown(found: Found, code: &str, problem: Option<&Problem>) -> Answer {
    let Found { insider, new, settings, menu, price, fields } = found;
    let mut form = FormView::new(inputs(&new, &fields), &fields, code);
    if let Some(problem) = problem {
        form = match problem.status() {
            StatusCode::PRECONDITION_FAILED => {
                form.version = new.quote_version().to_string();
                form.telling(
                    "Somebody else has chosen work for this car in the meantime. Check your choice, then save it: it \
                     replaces theirs.",
                )
            }
            _ => form.refused(problem.refused()),
        };
    }
    let has_menu = menu.is_some();
    let ticked = |field: &str, code: &str| fields.all(field).any(|chosen| chosen == code);
    let mut items: Vec<ItemView> =
        menu.into_iter().flatten().filter_map(|priced| ItemView::of(priced, ticked)).collect();
    for field in ["packages", "services"] {
        for code in fields.all(field) {
            if has_menu && !items.iter().any(|item| item.field == field && item.code == code) {
                items.push(ItemView::gone(field, code));
            }
        }
    }
    let (packages, services): (Vec<ItemView>, Vec<ItemView>) =
        items.into_iter().partition(|item| item.field == "packages");
    let (price, price_fault) = match price {
        Some(Ok(price)) => (Some(PriceView::of(price, &settings)), String::new()),
        Some(Err(refused)) => (None, refused_in_words(&refused)),
        None => (None, String::new()),
    };
    let services_fault = form.inputs.iter().find(|input| input.name == "services").and_then(|one| one.fault.clone());
    let page = Page {
        frame: DeskFrame::new(form.title("Choose the work"), insider, code, HERE),
        heading: "Choose the work",
        head: Head::of(&new, 4),
        has_menu,
        packages,
        services,
        services_fault,
        others: form.inputs.iter().filter(|input| input.name != "services").cloned().collect(),
        price,
        price_fault,
        action: step(&new.enquiry.id, "work"),
        walk_round: step(&new.enquiry.id, "walk-round"),
        script: new_car_script(),
        form,
    };
    html(problem.map_or(StatusCode::OK, Problem::status), &page)
}

/// What is wrong with a choice: each fault, or the refusal as a whole.
fn refused_in_words(refused: &Refused) -> String {
    let faults: Vec<&str> = refused.errors().iter().map(|fault| fault.detail.as_str()).collect();
    if faults.is_empty() { refused.detail().to_owned() } else { faults.join(" ") }
}

/// The work that was chosen; with `look=yes`, what the query chooses, without saving it.
#[get("/new-car/{id}/work")]
pub(super) async fn show(page: PageRead<Desk>, id: Path<String>, request: HttpRequest) -> Answer {
    let id = EnquiryId::new(id.into_inner());
    let asked = Fields::of_query(request.query_string());
    let fields = asked.yes("look").then_some(asked);
    let found = page.read(move |tx| found(tx, &id, fields)).await?;
    match elsewhere(&found.new) {
        Some(address) => Ok(see_other(&address)),
        None => shown(found, page.form_code(), None),
    }
}

/// Saves the work in the draft of the quote; shows its price, or continues to the last step.
#[post("/new-car/{id}/work")]
pub(super) async fn save(page: PageWrite<Desk>, id: Path<String>) -> Answer {
    let id = EnquiryId::new(id.into_inner());
    let fields = Fields::of_form(page.form());
    let currency = page.read(|tx| Ok(tx.studio.currency)).await?;
    let of = id.clone();
    let next = if fields.text("go") == "price" { "work" } else { "send" };
    let taken = tried(&page, read(&fields, currency), move |tx, (seen, work)| {
        usecase::choose_work(tx, &of, *seen, work)?;
        Ok(step(&of, next))
    });
    let problem = match taken.await? {
        Ok(answer) => return Ok(answer),
        Err(problem) => problem,
    };
    let found = page.read(move |tx| found(tx, &id, Some(fields))).await?;
    shown(found, page.form_code(), Some(&problem))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn work_is_read_in_the_order_of_the_page_with_lines_of_the_desks_own() {
        let text = "version=0&packages=all&services=wash&services=coat&own.1.name=Collect&own.1.price=35,00";
        let (_, work) = read(&Fields::of_query(text), Currency::EUR).unwrap();
        let names: Vec<String> = work.items.iter().map(|item| format!("{item:?}")).collect();
        assert!(names.len() == 4 && names[0].contains("all") && names[2].contains("coat"), "{names:?}");
        assert!(names[3].contains("35.00"), "{names:?}");
        assert_eq!(rows(&Fields::of_query(text)), 3);
    }

    #[test]
    fn nothing_chosen_and_half_a_line_are_asked_about() {
        let told = |text: &str| -> Vec<String> {
            let refused = read(&Fields::of_query(text), Currency::EUR).unwrap_err();
            refused.errors().iter().map(|fault| fault.pointer.clone()).collect()
        };
        assert_eq!(told("version=0"), ["/services"]);
        assert_eq!(told("version=0&own.0.name=Collect"), ["/own/0/price"]);
    }
}
