//! The draft item by item; every change carries the ETag of the whole draft.

use actix_web::web::Path;
use actix_web::{delete, put};
use baywright_core::menu::kept::{PackageForm, ProductForm, ServiceForm, StepForm};
use baywright_core::menu::usecase::{self, Draft};
use baywright_core::platform::fail::{Done, Fail};
use baywright_core::platform::identity::Desk;
use baywright_core::platform::tx::Tx;
use baywright_core::platform::version::Seen;
use serde::Serialize;
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;

use super::body::{PackageBody, ProductBody, ServiceBody, Shown, StepBody};
use crate::platform::answer::{Answer, Versioned};
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::etag::IfMatch;
use crate::platform::wire::{Code, Instant};

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config.service(put_product).service(remove_product).service(put_step).service(remove_step);
    config.service(put_service).service(remove_service).service(put_package).service(remove_package);
}

/// Item of the menu draft after a change.
#[derive(Debug, Serialize, ToSchema)]
pub struct Drafted<T> {
    /// Version of the menu draft, which every change raises by one; the same number as in the ETag.
    #[schema(minimum = 1)]
    version: i64,
    /// Item after the change.
    item: T,
}

/// State of the menu draft after something was removed from it.
#[derive(Debug, Serialize, ToSchema)]
pub struct MenuDraftStamp {
    /// Version of the menu draft, which every change raises by one; the same number as in the ETag.
    #[schema(minimum = 1)]
    version: i64,
    /// Time of the change, RFC 3339 in UTC; null if the draft never changed.
    updated_at: Option<Instant>,
}

crate::versioned!(MenuDraftStamp);

impl<T> Versioned for Drafted<T> {
    fn version(&self) -> i64 {
        self.version
    }
}

/// The item with that code from the draft's list.
fn drafted<T>(draft: &Draft, list: &[T], wanted: impl Fn(&T) -> bool) -> Done<Drafted<Shown<T>>>
where
    T: Clone,
{
    let item = list.iter().find(|one| wanted(one)).cloned();
    let item = item.ok_or_else(|| Fail::unexpected("what was just written to the draft is not in it"))?;
    Ok(Drafted { version: draft.version, item: Shown(item) })
}

type Removal = fn(&mut Tx<'_>, Seen, &str) -> Done<Draft>;

async fn remove(call: Call<Desk>, seen: Seen, code: String, removal: Removal) -> Answer {
    call.change(move |tx| {
        let draft = removal(tx, seen, &code)?;
        Ok(MenuDraftStamp { version: draft.version, updated_at: draft.updated_at.map(Instant) })
    })
    .await
}

/// Put a product into the menu draft.
///
/// Replaces the product with this code, or adds it.
#[utoipa::path(tag = "menu", request_body = ProductBody,
    params(("code" = Code, Path, description = "Code of the product.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The product after the change.", body = Drafted<ProductBody>)))]
#[put("/v1/menu/draft/products/{code}")]
async fn put_product(call: Call<Desk>, code: Path<String>, IfMatch(seen): IfMatch, body: Body<ProductBody>) -> Answer {
    let (code, form) = (code.into_inner(), ProductForm::from(body.value));
    call.change(move |tx| {
        let draft = usecase::put_product(tx, seen, &code, &form)?;
        drafted(&draft, &draft.menu.products, |one| one.code == form.code)
    })
    .await
}

/// Remove a product from the menu draft.
///
/// Steps that still refer to the product are reported as faults of the draft.
#[utoipa::path(tag = "menu", params(("code" = Code, Path, description = "Code of the product.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "New version of the draft.", body = MenuDraftStamp)))]
#[delete("/v1/menu/draft/products/{code}")]
async fn remove_product(call: Call<Desk>, code: Path<String>, IfMatch(seen): IfMatch) -> Answer {
    remove(call, seen, code.into_inner(), usecase::remove_product).await
}

/// Put a step into the menu draft.
///
/// Replaces the step with this code, or adds it.
#[utoipa::path(tag = "menu", request_body = StepBody, params(("code" = Code, Path, description = "Code of the step.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The step after the change.", body = Drafted<StepBody>)))]
#[put("/v1/menu/draft/steps/{code}")]
async fn put_step(call: Call<Desk>, code: Path<String>, IfMatch(seen): IfMatch, body: Body<StepBody>) -> Answer {
    let (code, form) = (code.into_inner(), StepForm::from(body.value));
    call.change(move |tx| {
        let draft = usecase::put_step(tx, seen, &code, &form)?;
        drafted(&draft, &draft.menu.steps, |one| one.code == form.code)
    })
    .await
}

/// Remove a step from the menu draft.
///
/// Services and steps that still refer to the step are reported as faults of the draft.
#[utoipa::path(tag = "menu", params(("code" = Code, Path, description = "Code of the step.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "New version of the draft.", body = MenuDraftStamp)))]
#[delete("/v1/menu/draft/steps/{code}")]
async fn remove_step(call: Call<Desk>, code: Path<String>, IfMatch(seen): IfMatch) -> Answer {
    remove(call, seen, code.into_inner(), usecase::remove_step).await
}

/// Put a service into the menu draft.
///
/// Replaces the service with this code, or adds it.
#[utoipa::path(tag = "menu", request_body = ServiceBody,
    params(("code" = Code, Path, description = "Code of the service.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The service after the change.", body = Drafted<ServiceBody>)))]
#[put("/v1/menu/draft/services/{code}")]
async fn put_service(call: Call<Desk>, code: Path<String>, IfMatch(seen): IfMatch, body: Body<ServiceBody>) -> Answer {
    let (code, form) = (code.into_inner(), ServiceForm::from(body.value));
    call.change(move |tx| {
        let draft = usecase::put_service(tx, seen, &code, &form)?;
        drafted(&draft, &draft.menu.services, |one| one.code == form.code)
    })
    .await
}

/// Remove a service from the menu draft.
///
/// Packages and exclusions that still refer to the service are reported as faults of the draft.
#[utoipa::path(tag = "menu", params(("code" = Code, Path, description = "Code of the service.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "New version of the draft.", body = MenuDraftStamp)))]
#[delete("/v1/menu/draft/services/{code}")]
async fn remove_service(call: Call<Desk>, code: Path<String>, IfMatch(seen): IfMatch) -> Answer {
    remove(call, seen, code.into_inner(), usecase::remove_service).await
}

/// Put a package into the menu draft.
///
/// Replaces the package with this code, or adds it.
#[utoipa::path(tag = "menu", request_body = PackageBody,
    params(("code" = Code, Path, description = "Code of the package.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The package after the change.", body = Drafted<PackageBody>)))]
#[put("/v1/menu/draft/packages/{code}")]
async fn put_package(call: Call<Desk>, code: Path<String>, IfMatch(seen): IfMatch, body: Body<PackageBody>) -> Answer {
    let (code, form) = (code.into_inner(), PackageForm::from(body.value));
    call.change(move |tx| {
        let draft = usecase::put_package(tx, seen, &code, &form)?;
        drafted(&draft, &draft.menu.packages, |one| one.code == form.code)
    })
    .await
}

/// Remove a package from the menu draft.
///
/// No other item of the menu refers to a package, so removing one causes no fault.
#[utoipa::path(tag = "menu", params(("code" = Code, Path, description = "Code of the package.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "New version of the draft.", body = MenuDraftStamp)))]
#[delete("/v1/menu/draft/packages/{code}")]
async fn remove_package(call: Call<Desk>, code: Path<String>, IfMatch(seen): IfMatch) -> Answer {
    remove(call, seen, code.into_inner(), usecase::remove_package).await
}
