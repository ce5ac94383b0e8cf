//! The routes and pages of all features: one line each, in alphabetical order.
//!
//! **Who may call whom.** The use cases of a feature call only those of features below it; the order is in
//! DEVELOPERS.md. Routes, pages and commands are above all features and may call use cases of several in one
//! transaction. So what a higher feature has to add to a change of a lower one is added by the handler: the handler of
//! a closure, for example, asks the bookings which of them the closure breaks, and puts them into the answer's
//! warnings.
//!
//! **Routes are added feature by feature,** each with a collector of its own, because utoipa collects every schema once
//! per operation on the way. For all features together that is tens of megabytes, which each worker would touch at its
//! start. It collects operations from `.service(…)` alone: one that is added by `.route(…)` would be missing from the
//! API document without any error, so `tests/tidy/layers.rs` forbids it.

use utoipa_actix_web::service_config::ServiceConfig;

/// Adds the routes or the pages of one feature.
pub type AddRoutes = fn(&mut ServiceConfig<'_>);

/// Every feature's routes and pages, each to be added by itself: what utoipa collects on the way is dropped when its
/// feature is done.
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
