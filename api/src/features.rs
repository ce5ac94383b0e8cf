//! The list of features, in alphabetical order. A new feature is its folder and its line here.
//!
//! **Who may call whom.** The use cases of a feature call only those of features below it; the order is in
//! DEVELOPERS.md. Routes, pages and commands stand above all features and may call use cases of several in one
//! transaction. So what a higher feature has to add to a change of a lower one is added by the handler: the handler of
//! a closure, for example, asks the bookings which of them the closure breaks, and puts them into the answer's
//! warnings.
//!
//! **Routes are added feature by feature,** each with a collector of its own, because utoipa collects every schema once
//! per operation on the way. For all features together that is tens of megabytes, which each worker would touch at its
//! start. It collects operations from `.service(…)` alone: one that is added by `.route(…)` would be missing from the
//! API document without any error, so `tests/tidy/layers.rs` forbids it.

use utoipa_actix_web::service_config::ServiceConfig;

use crate::clockwork::Job;
use crate::platform::personal::{Holder, Shows};
use crate::platform::{record, replay};

/// Adds one feature's routes.
pub type AddRoutes = fn(&mut ServiceConfig<'_>);

/// Every feature's routes, each to be added by itself: what utoipa collects on the way is large, and goes when its
/// feature is done.
pub const ROUTES: [AddRoutes; 30] = [
    crate::access::routes,
    crate::amendment::routes,
    crate::booking::routes,
    crate::customer::routes,
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
    crate::pages::routes,
    crate::payment::routes,
    crate::people::routes,
    crate::plan::routes,
    crate::privacy::routes,
    crate::problems::routes,
    crate::proposal::routes,
    crate::quote::routes,
    crate::reminder::routes,
    crate::search::routes,
    crate::shop::routes,
    crate::signoff::routes,
    crate::system::routes,
    crate::variation::routes,
    crate::vehicle::routes,
];

/// Adds every feature's routes.
pub fn routes(config: &mut ServiceConfig<'_>) {
    for add in ROUTES {
        add(config);
    }
}

/// Everything that is done by time: each feature's jobs, and the platform's own.
pub fn jobs() -> Vec<Job> {
    vec![
        Job { name: "access.forget", every_minutes: 60, run: crate::access::usecase::forget_old },
        crate::booking::jobs::LAPSE,
        crate::customer::jobs::FORGET_ERASED,
        crate::customer::jobs::INDEX_ANEW,
        crate::enquiry::jobs::INDEX_ANEW,
        Job { name: "platform.forget-keys", every_minutes: 60, run: replay::forget_old },
        crate::quote::jobs::LAPSE,
        crate::reminder::jobs::BOOKINGS,
        crate::reminder::jobs::INVOICES,
        crate::reminder::jobs::QUOTES,
        crate::vehicle::jobs::INDEX_ANEW,
    ]
}

/// What each feature holds on a customer, and how it lets go of it. The order is one in which every row is found: those
/// that a row refers to come before it. Mails and the log's entries are about any record before them, so they come last.
pub fn holders() -> [Holder; 18] {
    [
        crate::customer::usecase::HOLDER,
        crate::vehicle::usecase::HOLDER,
        crate::enquiry::usecase::HOLDER,
        crate::inspection::usecase::HOLDER,
        crate::quote::usecase::HOLDER,
        crate::agreement::usecase::HOLDER,
        crate::signoff::usecase::HOLDER,
        crate::plan::usecase::HOLDER,
        crate::booking::usecase::HOLDER,
        crate::amendment::usecase::HOLDER,
        crate::job::usecase::HOLDER,
        crate::learning::usecase::HOLDER,
        crate::media::usecase::HOLDER,
        crate::invoice::usecase::HOLDER,
        crate::payment::usecase::HOLDER,
        crate::reminder::usecase::HOLDER,
        crate::message::usecase::HOLDER,
        record::HOLDER,
    ]
}

/// The features that show photographs, so that none is removed while a record of another customer shows it.
pub fn photos_shown_by() -> [Shows; 2] {
    [crate::inspection::usecase::shown, crate::job::usecase::shown]
}
