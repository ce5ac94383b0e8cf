//! The pages of all features: one line each. The server adds them after the routes of the API.

use baywright_http::routes::AddRoutes;

/// Pages of every feature, each to be added separately, like its routes.
pub const PAGES: [AddRoutes; 18] = [
    crate::access::routes,
    crate::diary::routes,
    crate::feed::routes,
    crate::home::routes,
    crate::job::routes,
    crate::menu::routes,
    crate::message::routes,
    crate::new_car::routes,
    crate::people::routes,
    crate::platform::routes,
    crate::problems::routes,
    crate::search::routes,
    crate::setup::routes,
    crate::shop::routes,
    crate::signoff::routes,
    crate::stay::routes,
    crate::today::routes,
    crate::visit::routes,
];
