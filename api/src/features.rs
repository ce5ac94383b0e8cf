//! The list of features: one line each, in alphabetical order. A new feature is its folder and its line here.

use utoipa_actix_web::service_config::ServiceConfig;

use crate::{customer, people, shop, system};

/// Adds every feature's routes.
pub fn routes(config: &mut ServiceConfig<'_>) {
    customer::routes(config);
    people::routes(config);
    shop::routes(config);
    system::routes(config);
}
