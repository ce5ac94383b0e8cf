//! The studio itself: its profile and the settings that every other feature reads.

mod store;
pub mod usecase;

use utoipa_actix_web::service_config::ServiceConfig;

/// Adds the feature's routes.
pub fn routes(_: &mut ServiceConfig<'_>) {}
