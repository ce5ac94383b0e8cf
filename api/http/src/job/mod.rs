//! Jobs over HTTP.

mod actions;
mod handover;
mod list;
mod note;
mod step;
mod undo;
mod view;

use utoipa_actix_web::service_config::ServiceConfig;

pub(crate) use list::ForecastView;

/// Adds the feature's routes.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(handover::arrive).service(handover::ready).service(handover::hand_over).service(handover::show);
    config.service(list::list).service(list::show).service(list::forecast);
    config
        .service(step::show)
        .service(step::start)
        .service(step::stop)
        .service(step::finish)
        .service(step::remove_step);
    config.service(actions::act);
    config.service(undo::undo_booking).service(undo::undo).service(undo::correct).service(undo::end_wait);
    config.service(note::list).service(note::create);
}
