//! People who work in the shop, and their sign-ins.

mod store;
pub mod usecase;

use utoipa_actix_web::service_config::ServiceConfig;

/// Adds the feature's routes.
pub fn routes(_: &mut ServiceConfig<'_>) {}
