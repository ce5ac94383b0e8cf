//! Variations over HTTP.

mod answer;
mod body;
mod view;
mod write;

use utoipa_actix_web::service_config::ServiceConfig;

/// Adds the feature's routes.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(write::list).service(write::create).service(write::show).service(write::change);
    config.service(answer::send).service(answer::link).service(answer::sign_off).service(answer::decline);
}
