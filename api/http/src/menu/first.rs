//! The starter menu over HTTP.

use actix_web::{get, post};
use baywright_core::menu::kept::MenuForm;
use baywright_core::menu::usecase::{self, FirstMenu};
use baywright_core::platform::fail::{Done, Fail};
use baywright_core::platform::faults::Faults;
use baywright_core::platform::identity::{Desk, Owner};
use baywright_domain::menu;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;

use super::body::{MenuBody, Shown};
use super::draft::MenuDraftView;
use crate::platform::answer::{Answer, plain};
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::etag::IfMatch;
use crate::platform::wire::{Amount, Code, at_most};

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config.service(show_first).service(load_first);
}

/// Starter menu: usual services to begin with, without prices.
#[derive(Debug, Serialize, ToSchema)]
pub struct FirstMenuView {
    /// Source of the values, and advice on checking them before use.
    #[schema(max_length = 1000)]
    about: String,
    /// Codes of the services that are loaded if the request names none.
    #[schema(max_items = 100, value_type = Vec<Code>)]
    usual_services: Vec<String>,
    /// Complete starter menu. Services are priced from their time once it is loaded.
    #[schema(value_type = MenuBody)]
    menu: Shown<MenuForm>,
}

/// Settings with which the starter menu is loaded.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "labour_rate": { "amount": "65.00", "currency": "EUR" }, "price_step": { "amount": "1.00", "currency": "EUR" }
}))]
pub struct FirstMenuBody {
    /// Price of one hour of work by one person, with or before tax as `private_prices` in the rates says.
    labour_rate: Amount,
    /// Step to which prices are rounded up, with or before tax as `private_prices` says: each price becomes a multiple
    /// of this amount.
    price_step: Amount,
    /// Codes of the services to load; empty or left out for those that most studios offer.
    #[serde(default, deserialize_with = "at_most::<100, _, _>")]
    #[schema(max_items = 100, required = false)]
    services: Vec<Code>,
}

const ABOUT: &str = "Times, waits, mixes, amounts, skills and cautions are common practice without a published source. They \
     are starting points: check each against your own work, the product's own label and safety data sheet, and local law. \
     Where work needs a licence, a licensed person does it. Each item is marked common_practice until you clear the mark.";

/// Read the starter menu.
///
/// Returns about 25 usual services and some rarer ones, with the steps and products that they need.
#[utoipa::path(tag = "menu", responses((status = 200, description = "Starter menu without prices.",
    body = FirstMenuView)))]
#[get("/v1/menu/first-menu")]
async fn show_first(call: Call<Desk>) -> Answer {
    let (menu, usual) = call.read(|_| usecase::first_menu()).await?;
    let usual_services = usual.iter().map(|code| (*code).to_owned()).collect();
    Ok(plain(&FirstMenuView { about: ABOUT.to_owned(), usual_services, menu: Shown(menu) }))
}

/// Load the starter menu into the draft.
///
/// Sets the shop's labour rate and price step, gives every service the shop's usual tax, prices services from their
/// time and packages slightly below the sum of their services. Check the draft, enter the prices of products, then
/// publish. A draft that is not empty is replaced only with a confirmation.
#[utoipa::path(tag = "menu", request_body = FirstMenuBody,
    extensions(("x-if-match" = json!(true)), ("x-confirm" = json!(["draft-not-empty"]))),
    responses((status = 200, description = "The draft after the change.", body = MenuDraftView),
        (status = 409, description = "The draft is not empty.")))]
#[post("/v1/menu/draft/first-menu")]
async fn load_first(call: Call<Owner>, IfMatch(seen): IfMatch, body: Body<FirstMenuBody>) -> Answer {
    let body = body.value;
    let services = body.services.iter().map(|code| Ok(menu::Code::parse(code.as_str())?)).collect::<Done<Vec<_>>>()?;
    call.change(move |tx| {
        let currency = tx.studio.currency;
        let mut faults = Faults::default();
        let labour_rate = faults.note(body.labour_rate.positive(currency, "/labour_rate"));
        let price_step = faults.note(body.price_step.positive(currency, "/price_step"));
        let amounts = labour_rate.zip(price_step);
        // With amounts that can be read, the services are checked together with the price step.
        if let (None, Err(Fail::Refused(problem))) = (&amounts, usecase::has_first_services(&services)) {
            faults.note(Err::<(), _>(*problem));
        }
        let (labour_rate, price_step) = faults.all_or(amounts)?;
        let wanted = FirstMenu { labour_rate, price_step, services: services.clone() };
        Ok(MenuDraftView::from(usecase::load_first(tx, seen, &wanted)?))
    })
    .await
}
