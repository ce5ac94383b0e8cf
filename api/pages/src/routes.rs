//! The pages of all features: one line each. The server adds them after the routes of the API.

use baywright_http::routes::AddRoutes;

/// Every feature's pages, each to be added by itself, as its routes are.
pub const PAGES: [AddRoutes; 7] = [
    crate::access::routes,
    crate::feed::routes,
    crate::home::routes,
    crate::platform::routes,
    crate::problems::routes,
    crate::shop::routes,
    crate::signoff::routes,
];
