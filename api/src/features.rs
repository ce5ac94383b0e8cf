//! The list of features: one line each, in alphabetical order. A new feature is its folder and its line here.

use utoipa_actix_web::service_config::ServiceConfig;

use crate::clockwork::Job;
use crate::platform::personal::Holder;
use crate::platform::{idempotency, record};

/// Adds every feature's routes.
pub fn routes(config: &mut ServiceConfig<'_>) {
    crate::access::routes(config);
    crate::booking::routes(config);
    crate::customer::routes(config);
    crate::enquiry::routes(config);
    crate::exchange::routes(config);
    crate::feed::routes(config);
    crate::inspection::routes(config);
    crate::invoice::routes(config);
    crate::job::routes(config);
    crate::media::routes(config);
    crate::menu::routes(config);
    crate::message::routes(config);
    crate::pages::routes(config);
    crate::payment::routes(config);
    crate::people::routes(config);
    crate::plan::routes(config);
    crate::privacy::routes(config);
    crate::problems::routes(config);
    crate::proposal::routes(config);
    crate::quote::routes(config);
    crate::reminder::routes(config);
    crate::search::routes(config);
    crate::shop::routes(config);
    crate::signoff::routes(config);
    crate::system::routes(config);
    crate::variation::routes(config);
    crate::vehicle::routes(config);
}

/// Everything that is done by time: each feature's jobs, and the platform's own.
pub fn jobs() -> Vec<Job> {
    vec![
        Job { name: "access.forget", every_minutes: 60, run: crate::access::usecase::forget_old },
        crate::booking::jobs::LAPSE,
        Job { name: "platform.forget-keys", every_minutes: 60, run: idempotency::forget_old },
        crate::quote::jobs::LAPSE,
        crate::reminder::jobs::BOOKINGS,
        crate::reminder::jobs::INVOICES,
        crate::reminder::jobs::QUOTES,
    ]
}

/// What each feature holds on a customer, and how it lets go of it. The order is one in which every row is found: those
/// that a row refers to come before it. Mails and the log's entries are about any record before them, so they come last.
pub fn holders() -> [Holder; 16] {
    [
        crate::customer::usecase::HOLDER,
        crate::vehicle::usecase::HOLDER,
        crate::enquiry::usecase::HOLDER,
        crate::inspection::usecase::HOLDER,
        crate::quote::usecase::HOLDER,
        crate::variation::usecase::HOLDER,
        crate::signoff::usecase::HOLDER,
        crate::plan::usecase::HOLDER,
        crate::booking::usecase::HOLDER,
        crate::job::usecase::HOLDER,
        crate::media::usecase::HOLDER,
        crate::invoice::usecase::HOLDER,
        crate::payment::usecase::HOLDER,
        crate::reminder::usecase::HOLDER,
        crate::message::usecase::HOLDER,
        record::HOLDER,
    ]
}
