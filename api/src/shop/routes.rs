//! The shop over HTTP.

use utoipa_actix_web::service_config::ServiceConfig;

/// Adds the feature's routes.
pub fn routes(_: &mut ServiceConfig<'_>) {}
