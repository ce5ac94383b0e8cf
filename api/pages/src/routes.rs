//! The pages of all features: one line each. The server adds them after the routes of the API.

use baywright_http::routes::AddRoutes;

/// Every feature's pages, each to be added by itself, as its routes are.
pub const PAGES: [AddRoutes; 4] =
    [crate::feed::routes, crate::platform::routes, crate::problems::routes, crate::signoff::routes];
