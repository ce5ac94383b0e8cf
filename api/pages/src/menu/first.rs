//! The services of the draft, and the form that loads the starter menu into it.

use actix_web::http::StatusCode;
use actix_web::{get, post};
use baywright_core::menu::kept::MenuForm;
use baywright_core::menu::usecase::{FirstMenu, draft, find_in_force, first_menu, load_first};
use baywright_core::platform::fail::Done;
use baywright_core::platform::identity::Owner;
use baywright_core::platform::refusal::Refused;
use baywright_core::platform::tx::Tx;
use baywright_core::platform::version::Seen;
use baywright_core::shop::usecase::rates;
use baywright_domain::document::Prices;
use baywright_domain::money::Currency;
use baywright_http::platform::answer::Answer;
use baywright_http::platform::page::{PageRead, PageWrite};

use super::{HERE, basis};
use crate::platform::form::{Entry, Fields, FormPage, FormView, Input, Reading, amount};
use crate::platform::{Insider, taken};

/// What the page shows.
struct Found {
    insider: Insider,
    /// The fields of a new form.
    fields: Fields,
    /// Code and name of each service of the starter menu.
    services: Vec<(String, String)>,
    /// The services of the draft.
    drafted: Vec<Entry>,
    basis: Prices,
    currency: Currency,
}

fn found(tx: &mut Tx<'_>) -> Done<Found> {
    let insider = Insider::of(tx)?;
    let (menu, usual) = first_menu()?;
    let draft = draft(tx)?;
    let factors = rates(tx)?.0.factors;
    let currency = tx.studio.currency;
    let numbers = Fields::of_record([
        ("version", draft.version.to_string()),
        ("labour_rate", factors.labour_rate.to_major(currency)),
        ("price_step", factors.price_step.to_major(currency)),
    ]);
    let ticked = Fields::of_record(usual.iter().map(|code| ("services", (*code).to_owned())));
    let services = menu.services.into_iter().map(|service| (service.code, service.name)).collect();
    let state = if find_in_force(tx)?.is_some() { "Quotes use a published menu." } else { "Not published yet." };
    let drafted = if draft.menu == MenuForm::empty() {
        Vec::new()
    } else {
        let title = format!("{} services, {} packages", draft.menu.services.len(), draft.menu.packages.len());
        vec![Entry { title, note: state.to_owned(), address: "/menu/trial".to_owned() }]
    };
    Ok(Found { insider, fields: numbers.and(ticked), services, drafted, basis: draft.prices, currency })
}

fn inputs(found: &Found) -> Vec<Input> {
    let (basis, code) = (basis(found.basis), found.currency.code());
    vec![
        Input::short("labour_rate", "Price of one hour of work").hint(format!("In {code}, {basis}.")),
        Input::short("price_step", "Round prices up to a multiple of").hint(format!("In {code}, such as 5.")),
        Input::ticks("services", "Services", found.services.clone()).hint("The usual ones are ticked already."),
    ]
}

/// The version that was seen and the wishes, or everything that is wrong with the form.
fn read(fields: &Fields, currency: Currency) -> Result<(Seen, FirstMenu), Refused> {
    let mut form = Reading::of(fields);
    let seen = form.version()?;
    let labour_rate = form.needed("labour_rate", |text| amount(text, currency));
    let price_step = form.needed("price_step", |text| amount(text, currency));
    let services: Vec<_> = form.codes("services").into_iter().collect();
    if services.is_empty() {
        form.fault("services", "missing", "Tick at least one service.");
    }
    let (labour_rate, price_step) = form.done(labour_rate.zip(price_step))?;
    Ok((seen, FirstMenu { labour_rate, price_step, services }))
}

/// The page of what was found, with that form.
fn shown(found: Found, form: FormView) -> FormPage {
    FormPage::new("Menu", found.insider, HERE, form, HERE)
        .lead(
            "Start with the services that most studios offer. Their times are typical values: check them against your \
             own work before you rely on them.",
        )
        .list("Your draft", found.drafted)
        .form_heading("Starter menu", "Load into the draft")
}

/// The services of the draft, and the form that loads the starter menu.
#[get("/menu")]
pub(super) async fn show(page: PageRead<Owner>) -> Answer {
    let found = page.read(found).await?;
    let form = FormView::new(inputs(&found), &found.fields, page.form_code());
    shown(found, form).answer(StatusCode::OK)
}

/// Loads the starter menu into the draft; a draft that is not empty is replaced only after a question.
#[post("/menu")]
pub(super) async fn load(page: PageWrite<Owner>) -> Answer {
    let fields = Fields::of_form(page.form());
    let currency = page.read(|tx| Ok(tx.studio.currency)).await?;
    let taken = taken(&page, read(&fields, currency), |tx, (seen, wanted)| {
        load_first(tx, *seen, wanted)?;
        Ok("/menu/trial".to_owned())
    });
    let problem = match taken.await? {
        Ok(answer) => return Ok(answer),
        Err(problem) => problem,
    };
    let theirs = page.read(found).await?;
    let form = FormView::new(inputs(&theirs), &fields, page.form_code()).after(&problem, &theirs.fields);
    shown(theirs, form).answer(problem.status())
}
