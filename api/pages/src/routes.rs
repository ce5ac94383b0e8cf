//! The pages of all features: one line each. The server adds them after the routes of the API.

use baywright_http::routes::AddRoutes;

/// Pages of every feature, each to be added separately, like its routes.
pub const PAGES: [AddRoutes; 4] =
    [crate::feed::routes, crate::platform::routes, crate::problems::routes, crate::signoff::routes];
