//! The menu over HTTP.

mod draft;
mod items;
pub mod price;
mod publish;

use utoipa_actix_web::service_config::ServiceConfig;

/// Adds the feature's routes.
pub fn routes(config: &mut ServiceConfig<'_>) {
    publish::routes(config);
    price::routes(config);
    draft::routes(config);
    items::routes(config);
}
