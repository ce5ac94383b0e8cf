//! Bays: the list with a form for one more, and the page of each.

use std::collections::BTreeSet;

use actix_web::http::StatusCode;
use actix_web::web::Path;
use actix_web::{HttpRequest, get, post};
use baywright_core::booking::usecase::warn_of_broken;
use baywright_core::menu::usecase::known_words;
use baywright_core::platform::fail::Done;
use baywright_core::platform::identity::Desk;
use baywright_core::platform::refusal::Refused;
use baywright_core::platform::tx::Tx;
use baywright_core::platform::version::Seen;
use baywright_core::shop::usecase::{self, Bay, BayDetails};
use baywright_domain::id::BayId;
use baywright_domain::menu::Code;
use baywright_http::platform::answer::Answer;
use baywright_http::platform::page::{PageRead, PageWrite};
use baywright_http::platform::wire::Line;

use crate::platform::form::{Entry, Fields, FormPage, FormView, Input, Reading, spaced};
use crate::platform::{Insider, taken};

/// The address of the list.
const HERE: &str = "/bays";

/// The person, every bay, and the features that steps of the menu ask for.
fn found(tx: &mut Tx<'_>) -> Done<(Insider, Vec<Bay>, BTreeSet<Code>)> {
    Ok((Insider::of(tx)?, usecase::bays(tx)?, known_words(tx)?.bay_features))
}

fn inputs(features: &BTreeSet<Code>) -> Vec<Input> {
    let choices = features.iter().map(|code| (code.to_string(), spaced(code))).collect();
    vec![
        Input::line("name", "Name").hint("Such as Bay 1."),
        Input::ticks("features", "What it has", choices)
            .hint("Some work is planned only in bays that have the equipment for it."),
    ]
}

/// The inputs of a bay that is there.
fn inputs_of(bay: &Bay, features: &BTreeSet<Code>) -> Vec<Input> {
    let mut inputs = inputs(&features.union(&bay.details.features).cloned().collect());
    let used = vec![("yes".to_owned(), "Cars can be booked into it".to_owned())];
    inputs.push(Input::ticks("in_use", "Use", used).hint("If you untick this, existing bookings stay in this bay."));
    inputs
}

/// The bay as its form would bring it.
fn fields_of(bay: &Bay) -> Fields {
    let used = if bay.details.in_use { "yes" } else { "" };
    let version = bay.version.to_string();
    let one = [("version", version), ("name", bay.details.name.clone()), ("in_use", used.to_owned())];
    let features = bay.details.features.iter().map(|code| ("features", code.to_string()));
    Fields::of_record(one).and(Fields::of_record(features))
}

/// The bay that the form describes, or everything that is wrong with it.
fn read(fields: &Fields, in_use: bool) -> Result<BayDetails, Refused> {
    let mut form = Reading::of(fields);
    let name = form.needed("name", Line::<60>::parse);
    let features = form.codes("features");
    let name = form.done(name)?;
    Ok(BayDetails { name: name.into_string(), features, in_use })
}

fn entry(bay: &Bay) -> Entry {
    let features = bay.details.features.iter().map(spaced).collect::<Vec<_>>().join(", ");
    let note = if bay.details.in_use { features } else { "out of use".to_owned() };
    Entry { title: bay.details.name.clone(), note, address: format!("{HERE}/{}", bay.id) }
}

fn list(insider: Insider, bays: &[Bay], form: FormView) -> FormPage {
    FormPage::new("Bays", insider, "/shop", form, HERE)
        .lead("A bay is a place where one car stands while work is done on it.")
        .list("Your bays", bays.iter().map(entry).collect())
        .form_heading("Add a bay", "Add bay")
}

/// The bays, and a form for one more.
#[get("/bays")]
pub(super) async fn show(page: PageRead<Desk>, request: HttpRequest) -> Answer {
    let asked = Fields::of_query(request.query_string());
    let (insider, bays, features) = page.read(found).await?;
    let form = FormView::new(inputs(&features), &Fields::default(), page.form_code());
    list(insider, &bays, form).saved(asked.yes("saved")).answer(StatusCode::OK)
}

/// Adds a bay.
#[post("/bays")]
pub(super) async fn add(page: PageWrite<Desk>) -> Answer {
    let fields = Fields::of_form(page.form());
    let taken = taken(&page, read(&fields, true), |tx, details| {
        usecase::add_bay(tx, details)?;
        Ok(format!("{HERE}?saved=yes"))
    });
    let problem = match taken.await? {
        Ok(answer) => return Ok(answer),
        Err(problem) => problem,
    };
    let (insider, bays, features) = page.read(found).await?;
    let form = FormView::new(inputs(&features), &fields, page.form_code()).refused(problem.refused());
    list(insider, &bays, form).answer(problem.status())
}

/// The person, the bay, and the features that steps of the menu ask for.
fn found_one(tx: &mut Tx<'_>, id: &BayId) -> Done<(Insider, Bay, BTreeSet<Code>)> {
    Ok((Insider::of(tx)?, usecase::show_bay(tx, id)?, known_words(tx)?.bay_features))
}

fn one(insider: Insider, bay: &Bay, form: FormView) -> FormPage {
    FormPage::new(bay.details.name.clone(), insider, HERE, form, format!("{HERE}/{}", bay.id))
}

/// A bay.
#[get("/bays/{id}")]
pub(super) async fn show_one(page: PageRead<Desk>, id: Path<String>) -> Answer {
    let id = BayId::new(id.into_inner());
    let (insider, bay, features) = page.read(move |tx| found_one(tx, &id)).await?;
    let form = FormView::new(inputs_of(&bay, &features), &fields_of(&bay), page.form_code());
    one(insider, &bay, form).answer(StatusCode::OK)
}

/// Saves a bay.
#[post("/bays/{id}")]
pub(super) async fn save_one(page: PageWrite<Desk>, id: Path<String>) -> Answer {
    let id = BayId::new(id.into_inner());
    let fields = Fields::of_form(page.form());
    let read = Reading::of(&fields).version().and_then(|seen| Ok((seen, read(&fields, fields.yes("in_use"))?)));
    let bay = id.clone();
    let taken = taken(&page, read, move |tx, (seen, details)| saved_one(tx, &bay, *seen, details));
    let problem = match taken.await? {
        Ok(answer) => return Ok(answer),
        Err(problem) => problem,
    };
    let (insider, bay, features) = page.read(move |tx| found_one(tx, &id)).await?;
    let form = FormView::new(inputs_of(&bay, &features), &fields, page.form_code()).after(&problem, &fields_of(&bay));
    one(insider, &bay, form).answer(problem.status())
}

/// Saves a bay; gives the page that follows.
fn saved_one(tx: &mut Tx<'_>, id: &BayId, seen: Seen, details: &BayDetails) -> Done<String> {
    warn_of_broken(tx, "/features", |tx| usecase::replace_bay(tx, id, seen, details))?;
    Ok(format!("{HERE}?saved=yes"))
}
