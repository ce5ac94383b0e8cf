//! The draft item by item; every change carries the ETag of the whole draft.

use actix_web::web::Path;
use actix_web::{delete, put};
use serde::Serialize;
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;

use crate::menu::form::{PackageForm, ProductForm, ServiceForm, StepForm};
use crate::menu::usecase::{self, Draft};
use crate::platform::answer::{Answer, Versioned};
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::etag::IfMatch;
use crate::platform::fail::{Done, Fail};
use crate::platform::identity::Desk;
use crate::platform::tx::Tx;
use crate::platform::wire::{Code, Instant};

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config.service(put_product).service(remove_product).service(put_step).service(remove_step);
    config.service(put_service).service(remove_service).service(put_package).service(remove_package);
}

/// An item of the draft after a change.
#[derive(Debug, Serialize, ToSchema)]
pub struct Drafted<T> {
    /// The draft's version; the same as the ETag.
    #[schema(minimum = 1)]
    version: i64,
    /// The item as it now stands.
    item: T,
}

/// The draft after something was removed from it.
#[derive(Debug, Serialize, ToSchema)]
pub struct MenuDraftStamp {
    /// The draft's version; the same as the ETag.
    #[schema(minimum = 1)]
    version: i64,
    /// When it changed.
    updated_at: Option<Instant>,
}

crate::versioned!(MenuDraftStamp);

impl<T> Versioned for Drafted<T> {
    fn version(&self) -> i64 {
        self.version
    }
}

/// The item of that code out of the draft's list.
fn drafted<T>(draft: &Draft, list: &[T], wanted: impl Fn(&T) -> bool) -> Done<Drafted<T>>
where
    T: Clone,
{
    let item = list.iter().find(|one| wanted(one)).cloned();
    let item = item.ok_or_else(|| Fail::unexpected("what was just written to the draft is not in it"))?;
    Ok(Drafted { version: draft.version, item })
}

type Removal = fn(&mut Tx<'_>, IfMatch, &str) -> Done<Draft>;

async fn remove(call: Call<Desk>, seen: IfMatch, code: String, removal: Removal) -> Answer {
    call.change(move |tx| {
        let draft = removal(tx, seen, &code)?;
        Ok(MenuDraftStamp { version: draft.version, updated_at: draft.updated_at.map(Instant) })
    })
    .await
}

/// Write a product to the draft.
///
/// Replaces the product of that code, or adds it.
#[utoipa::path(tag = "menu", request_body = ProductForm, params(("code" = Code, Path, description = "The product's code.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The product as it now stands.", body = Drafted<ProductForm>)))]
#[put("/v1/menu/draft/products/{code}")]
async fn put_product(call: Call<Desk>, code: Path<String>, seen: IfMatch, body: Body<ProductForm>) -> Answer {
    let (code, form) = (code.into_inner(), body.value);
    call.change(move |tx| {
        let draft = usecase::put_product(tx, seen, &code, &form)?;
        drafted(&draft, &draft.menu.products, |one| one.code == form.code)
    })
    .await
}

/// Remove a product from the draft.
///
/// Steps that still name it are faults of the draft.
#[utoipa::path(tag = "menu", params(("code" = Code, Path, description = "The product's code.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The draft's new version.", body = MenuDraftStamp)))]
#[delete("/v1/menu/draft/products/{code}")]
async fn remove_product(call: Call<Desk>, code: Path<String>, seen: IfMatch) -> Answer {
    remove(call, seen, code.into_inner(), usecase::remove_product).await
}

/// Write a step to the draft.
///
/// Replaces the step of that code, or adds it.
#[utoipa::path(tag = "menu", request_body = StepForm, params(("code" = Code, Path, description = "The step's code.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The step as it now stands.", body = Drafted<StepForm>)))]
#[put("/v1/menu/draft/steps/{code}")]
async fn put_step(call: Call<Desk>, code: Path<String>, seen: IfMatch, body: Body<StepForm>) -> Answer {
    let (code, form) = (code.into_inner(), body.value);
    call.change(move |tx| {
        let draft = usecase::put_step(tx, seen, &code, &form)?;
        drafted(&draft, &draft.menu.steps, |one| one.code == form.code)
    })
    .await
}

/// Remove a step from the draft.
///
/// Services and steps that still name it are faults of the draft.
#[utoipa::path(tag = "menu", params(("code" = Code, Path, description = "The step's code.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The draft's new version.", body = MenuDraftStamp)))]
#[delete("/v1/menu/draft/steps/{code}")]
async fn remove_step(call: Call<Desk>, code: Path<String>, seen: IfMatch) -> Answer {
    remove(call, seen, code.into_inner(), usecase::remove_step).await
}

/// Write a service to the draft.
///
/// Replaces the service of that code, or adds it.
#[utoipa::path(tag = "menu", request_body = ServiceForm, params(("code" = Code, Path, description = "The service's code.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The service as it now stands.", body = Drafted<ServiceForm>)))]
#[put("/v1/menu/draft/services/{code}")]
async fn put_service(call: Call<Desk>, code: Path<String>, seen: IfMatch, body: Body<ServiceForm>) -> Answer {
    let (code, form) = (code.into_inner(), body.value);
    call.change(move |tx| {
        let draft = usecase::put_service(tx, seen, &code, &form)?;
        drafted(&draft, &draft.menu.services, |one| one.code == form.code)
    })
    .await
}

/// Remove a service from the draft.
///
/// Packages and exclusions that still name it are faults of the draft.
#[utoipa::path(tag = "menu", params(("code" = Code, Path, description = "The service's code.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The draft's new version.", body = MenuDraftStamp)))]
#[delete("/v1/menu/draft/services/{code}")]
async fn remove_service(call: Call<Desk>, code: Path<String>, seen: IfMatch) -> Answer {
    remove(call, seen, code.into_inner(), usecase::remove_service).await
}

/// Write a package to the draft.
///
/// Replaces the package of that code, or adds it.
#[utoipa::path(tag = "menu", request_body = PackageForm, params(("code" = Code, Path, description = "The package's code.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The package as it now stands.", body = Drafted<PackageForm>)))]
#[put("/v1/menu/draft/packages/{code}")]
async fn put_package(call: Call<Desk>, code: Path<String>, seen: IfMatch, body: Body<PackageForm>) -> Answer {
    let (code, form) = (code.into_inner(), body.value);
    call.change(move |tx| {
        let draft = usecase::put_package(tx, seen, &code, &form)?;
        drafted(&draft, &draft.menu.packages, |one| one.code == form.code)
    })
    .await
}

/// Remove a package from the draft.
///
/// Nothing else of a menu names a package.
#[utoipa::path(tag = "menu", params(("code" = Code, Path, description = "The package's code.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The draft's new version.", body = MenuDraftStamp)))]
#[delete("/v1/menu/draft/packages/{code}")]
async fn remove_package(call: Call<Desk>, code: Path<String>, seen: IfMatch) -> Answer {
    remove(call, seen, code.into_inner(), usecase::remove_package).await
}
