//! The routes of all features: one line each, in alphabetical order.
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

use utoipa::openapi::OpenApi;
use utoipa::openapi::path::Paths;
use utoipa_actix_web::AppExt;
use utoipa_actix_web::service_config::ServiceConfig;

use crate::platform::openapi;

/// Adds the routes or the pages of one feature.
pub type AddRoutes = fn(&mut ServiceConfig<'_>);

/// Routes of every feature, each to be added separately: what utoipa collects for a feature is dropped after it was
/// added.
pub const ROUTES: [AddRoutes; 34] = [
    crate::access::routes,
    crate::amendment::routes,
    crate::booking::routes,
    crate::credit_note::routes,
    crate::customer::routes,
    crate::deposit::routes,
    crate::enquiry::routes,
    crate::exchange::routes,
    crate::feed::routes,
    crate::inspection::routes,
    crate::invoice::routes,
    crate::job::routes,
    crate::learning::routes,
    crate::media::routes,
    crate::menu::routes,
    crate::merge::routes,
    crate::message::routes,
    crate::payment::routes,
    crate::people::routes,
    crate::plan::routes,
    crate::privacy::routes,
    crate::quote::routes,
    crate::register::routes,
    crate::reminder::routes,
    crate::rescheduling::routes,
    crate::search::routes,
    crate::shop::routes,
    crate::signoff::routes,
    crate::system::routes,
    crate::today::routes,
    crate::variation::routes,
    crate::vehicle::routes,
    crate::visit::routes,
    crate::what_if::routes,
];

/// The paths that a feature adds, without the document around them.
pub fn paths(add: AddRoutes) -> Paths {
    actix_web::App::new().into_utoipa_app().configure(add).split_for_parts().1.paths
}

/// Method and path of every route or page that those features add, as a walk over all of them needs it.
pub fn addresses(features: &[AddRoutes]) -> Vec<(&'static str, String)> {
    let mut found = Vec::new();
    for (path, item) in features.iter().flat_map(|add| paths(*add).paths) {
        let methods = [
            ("GET", item.get.is_some()),
            ("PUT", item.put.is_some()),
            ("POST", item.post.is_some()),
            ("DELETE", item.delete.is_some()),
        ];
        found.extend(methods.into_iter().filter(|(_, is)| *is).map(|(method, _)| (method, path.clone())));
    }
    found
}

/// The API document of all routes, generated from their descriptions.
pub fn document() -> OpenApi {
    let app = actix_web::App::new().into_utoipa_app().openapi(openapi::base()).configure(routes);
    app.split_for_parts().1
}

/// Adds the routes of all features.
fn routes(config: &mut ServiceConfig<'_>) {
    for add in ROUTES {
        add(config);
    }
}
