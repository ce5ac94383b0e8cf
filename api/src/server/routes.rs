//! The routes and pages of all features: one line each, in alphabetical order.

use utoipa_actix_web::service_config::ServiceConfig;

/// Adds the routes or the pages of one feature.
pub type AddRoutes = fn(&mut ServiceConfig<'_>);

/// Every feature's routes and pages, each to be added by itself: what utoipa collects on the way is large, and goes when
/// its feature is done.
pub const ROUTES: [AddRoutes; 32] = [
    crate::access::routes::routes,
    crate::amendment::routes::routes,
    crate::booking::routes::routes,
    crate::customer::routes::routes,
    crate::enquiry::routes::routes,
    crate::exchange::routes::routes,
    crate::feed::routes::routes,
    crate::feed::pages::routes,
    crate::inspection::routes::routes,
    crate::invoice::routes::routes,
    crate::job::routes::routes,
    crate::learning::routes::routes,
    crate::media::routes::routes,
    crate::menu::routes::routes,
    crate::merge::routes::routes,
    crate::message::routes::routes,
    crate::pages::routes,
    crate::payment::routes::routes,
    crate::people::routes::routes,
    crate::plan::routes::routes,
    crate::privacy::routes::routes,
    crate::problems::pages::routes,
    crate::proposal::routes::routes,
    crate::quote::routes::routes,
    crate::reminder::routes::routes,
    crate::search::routes::routes,
    crate::shop::routes::routes,
    crate::signoff::routes::routes,
    crate::signoff::pages::routes,
    crate::system::routes::routes,
    crate::variation::routes::routes,
    crate::vehicle::routes::routes,
];

/// Adds the routes and pages of all features.
pub fn routes(config: &mut ServiceConfig<'_>) {
    for add in ROUTES {
        add(config);
    }
}
