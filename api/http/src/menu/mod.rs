//! The menu over HTTP.

mod basis;
mod body;
mod draft;
mod first;
mod items;
pub mod price;
mod publish;
mod withdraw;
mod words;

use utoipa_actix_web::service_config::ServiceConfig;

/// Adds the feature's routes.
pub fn routes(config: &mut ServiceConfig<'_>) {
    publish::routes(config);
    config.service(withdraw::withdraw);
    price::routes(config);
    basis::routes(config);
    first::routes(config);
    draft::routes(config);
    items::routes(config);
}
