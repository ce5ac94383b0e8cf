//! People and their sign-ins over HTTP.

mod absence;
mod account;

use baywright_domain::people::Role;
use utoipa_actix_web::service_config::ServiceConfig;

use crate::platform::wire::Word;

/// A role as it is sent over HTTP; the API document's derive reads a plain name better than one with parameters.
type RoleWord = Word<Role>;

/// Adds the feature's routes.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(account::list).service(account::create).service(account::show).service(account::replace);
    config.service(account::deactivate).service(account::reactivate);
    config.service(absence::list).service(absence::create).service(absence::show);
    config.service(absence::replace).service(absence::remove);
}
