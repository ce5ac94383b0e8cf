//! The list of features: one line each, in alphabetical order. A new feature is its folder and its line here.

use utoipa_actix_web::service_config::ServiceConfig;

use crate::clockwork::Job;
use crate::platform::idempotency;
use crate::{
    booking, customer, enquiry, inspection, job, media, menu, message, people, plan, search, shop, system, vehicle,
};

/// Adds every feature's routes.
pub fn routes(config: &mut ServiceConfig<'_>) {
    booking::routes(config);
    customer::routes(config);
    enquiry::routes(config);
    inspection::routes(config);
    job::routes(config);
    media::routes(config);
    menu::routes(config);
    message::routes(config);
    people::routes(config);
    plan::routes(config);
    search::routes(config);
    shop::routes(config);
    system::routes(config);
    vehicle::routes(config);
}

/// Everything that is done by time: each feature's jobs, and the platform's own.
pub fn jobs() -> Vec<Job> {
    vec![booking::jobs::LAPSE, Job { name: "platform.forget-keys", every_minutes: 60, run: idempotency::forget_old }]
}
