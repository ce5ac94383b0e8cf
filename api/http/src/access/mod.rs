//! Signing in, over HTTP.

mod invite;
mod me;
mod session;
mod setup;
mod tablet;
mod view;

use utoipa_actix_web::service_config::ServiceConfig;

/// Adds the feature's routes.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(setup::set_up).service(session::sign_in).service(session::refresh);
    config.service(session::end).service(session::end_all).service(me::me).service(me::change_password);
    config.service(invite::invite).service(invite::accept);
    config.service(tablet::list).service(tablet::create).service(tablet::end_tablet);
    config.service(tablet::set_digits).service(tablet::set_my_digits);
}
