//! A car priced by the draft of the menu, as a trial; nothing is stored.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, get};
use askama::Template;
use baywright_core::menu::usecase::{Ask, Preview, Source, draft, find_in_force, price};
use baywright_core::platform::fail::{Done, Fail};
use baywright_core::platform::identity::Owner;
use baywright_core::platform::kept::Amount;
use baywright_core::platform::refusal::Refused;
use baywright_core::platform::tx::Tx;
use baywright_domain::inspection::ConditionClass;
use baywright_domain::menu::Code;
use baywright_domain::pricing::Item;
use baywright_domain::vehicle::{Car, Powertrain, SizeClass};
use baywright_http::platform::answer::Answer;
use baywright_http::platform::page::PageRead;
use baywright_http::platform::problem::Problem;
use rust_decimal::Decimal;

use super::{HERE, basis};
use crate::platform::form::{Fields, FormView, Input, Reading};
use crate::platform::{DeskFrame, Insider, html};

/// What a trial finds.
pub(super) struct Found {
    insider: Insider,
    version: i64,
    /// Code and name of each service of the draft.
    services: Vec<(String, String)>,
    /// Whether the draft is what quotes are priced from now.
    in_force: bool,
    priced: Option<Result<Priced, Refused>>,
}

/// The prices of a trial, as the page shows them.
struct Priced {
    lines: Vec<PricedLine>,
    total: String,
    basis: &'static str,
    work: String,
    elapsed: String,
}

/// A service with its price.
struct PricedLine {
    name: String,
    minutes: String,
    amount: String,
}

/// The page of a trial.
#[derive(Template)]
#[template(path = "menu/views/trial.html")]
struct Page {
    frame: DeskFrame,
    /// The form that prices, which carries no code: nothing is stored.
    form: FormView,
    /// The form that publishes.
    publish: FormView,
    is_empty: bool,
    in_force: bool,
    priced: Option<Priced>,
}

fn found(tx: &mut Tx<'_>, ask: Option<&Ask>) -> Done<Found> {
    let insider = Insider::of(tx)?;
    let draft = draft(tx)?;
    let in_force = find_in_force(tx)?.is_some_and(|published| published.form == draft.menu);
    let priced = match ask.map(|ask| price(tx, ask)) {
        None => None,
        Some(Ok(preview)) => Some(Ok(Priced::of(&preview))),
        Some(Err(Fail::Refused(refused))) => Some(Err(*refused)),
        Some(Err(other)) => return Err(other),
    };
    let services = draft.menu.services.into_iter().map(|service| (service.code, service.name)).collect();
    Ok(Found { insider, version: draft.version, services, in_force, priced })
}

/// The page without a trial.
pub(super) fn found_plain(tx: &mut Tx<'_>) -> Done<Found> {
    found(tx, None)
}

impl Priced {
    fn of(preview: &Preview) -> Self {
        let amount = |money| Amount::of(money, preview.currency).to_string();
        let line = |line: &baywright_domain::pricing::Line| PricedLine {
            name: line.name.clone(),
            minutes: line.minutes.to_string(),
            amount: amount(line.amount),
        };
        Self {
            lines: preview.lines.iter().map(line).collect(),
            total: amount(preview.total),
            basis: basis(preview.prices),
            work: preview.plan.attended.to_string(),
            elapsed: preview.plan.elapsed.to_string(),
        }
    }
}

fn inputs(services: &[(String, String)]) -> Vec<Input> {
    let sizes = SizeClass::ALL.iter().map(|size| (size.as_str().to_owned(), size.label().to_owned()));
    let conditions = ConditionClass::ALL.iter().map(|class| (class.as_str().to_owned(), class.label().to_owned()));
    let powertrains = Powertrain::ALL.iter().map(|kind| (kind.as_str().to_owned(), kind.label().to_owned()));
    vec![
        Input::short("size", "Size of the car").options(sizes.collect()).beside(),
        Input::short("condition", "Condition").options(conditions.collect()).beside(),
        Input::short("powertrain", "Powertrain").options(powertrains.collect()).beside(),
        Input::ticks("services", "Services", services.to_vec()),
    ]
}

/// What the page is opened with: a usual car, unless another is asked about.
pub(super) fn asked(query: &str) -> Fields {
    let fields = Fields::of_query(query);
    if fields.has("size") {
        return fields;
    }
    let usual = [("size", SizeClass::Medium.as_str()), ("condition", ConditionClass::Fair.as_str())];
    let usual = usual.into_iter().chain([("powertrain", Powertrain::Unknown.as_str())]);
    Fields::of_record(usual.map(|(name, word)| (name, word.to_owned())))
}

/// The question that the fields ask; `None` if no service is ticked.
fn read(fields: &Fields) -> Result<Option<Ask>, Refused> {
    let mut form = Reading::of(fields);
    let choose = "choose one of these";
    let size = form.needed("size", |text| SizeClass::parse(text).map_err(|_| choose.to_owned()));
    let condition = form.needed("condition", |text| ConditionClass::parse(text).map_err(|_| choose.to_owned()));
    let powertrain = form.needed("powertrain", |text| Powertrain::parse(text).map_err(|_| choose.to_owned()));
    let services = form.codes("services");
    let car = size.zip(condition).zip(powertrain);
    let ((size, condition), powertrain) = form.done(car)?;
    if services.is_empty() {
        return Ok(None);
    }
    let item = |code: Code| (Item::Service(code), Decimal::ONE);
    let items = services.into_iter().map(item).collect();
    Ok(Some(Ask { source: Source::Draft, items, car: Car { size, condition, powertrain } }))
}

/// The page of what was found, with what was asked and what was refused.
pub(super) fn shown(found: Found, fields: &Fields, code: &str, problem: Option<&Problem>) -> Answer {
    let mut form = FormView::new(inputs(&found.services), fields, "");
    let publish = FormView::new(Vec::new(), &Fields::of_record([("version", found.version.to_string())]), code);
    let priced = match found.priced {
        Some(Ok(priced)) => Some(priced),
        Some(Err(refused)) => {
            form = form.refused(&refused);
            None
        }
        None => None,
    };
    if let Some(problem) = problem {
        form = match problem.status() {
            StatusCode::PRECONDITION_FAILED => form.telling(
                "Somebody else has changed the draft in the meantime. Check the prices again, then publish it.",
            ),
            _ => form.refused(problem.refused()),
        };
    }
    let status = problem.map_or(StatusCode::OK, Problem::status);
    let frame = DeskFrame::new(form.title("Price a car"), found.insider, code, HERE);
    let is_empty = found.services.is_empty();
    html(status, &Page { frame, form, publish, is_empty, in_force: found.in_force, priced })
}

/// What a car would cost by the draft.
#[get("/menu/trial")]
pub(super) async fn show(page: PageRead<Owner>, request: HttpRequest) -> Answer {
    let fields = asked(request.query_string());
    let (ask, refused) = match read(&fields) {
        Ok(ask) => (ask, None),
        Err(refused) => (None, Some(Problem::from(refused))),
    };
    let found = page.read(move |tx| found(tx, ask.as_ref())).await?;
    shown(found, &fields, page.form_code(), refused.as_ref())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_usual_car_is_asked_about_and_nothing_is_priced_until_a_service_is_ticked() {
        let fields = asked("");
        assert!(read(&fields).unwrap().is_none());
        let ask = read(&asked("size=LARGE&condition=FAIR&powertrain=HYBRID&services=wash&services=wax")).unwrap();
        let ask = ask.unwrap();
        assert_eq!((ask.items.len(), ask.car.size), (2, SizeClass::Large));
        assert!(read(&asked("size=HUGE")).is_err());
    }
}
