//! The shop over HTTP.

mod bay;
mod closure;
mod hours;
mod money;
mod profile;
mod rates;
mod self_booking;
mod tax;
mod terms;

use baywright_domain::calendar::DayOfWeek;
use baywright_domain::document::Prices;
use baywright_domain::money::Rounding;
use baywright_domain::tax::{Basis, Category};
use utoipa_actix_web::service_config::ServiceConfig;

use crate::platform::wire::Word;
pub(crate) use bay::{codes, words};
pub(crate) use hours::{StretchBody, StretchView, stretches};

/// A day as it is sent over HTTP; the API document's derive reads a plain name better than one with parameters.
type DayWord = Word<DayOfWeek>;
/// A category of EN 16931-1 as it is sent over HTTP.
type CategoryWord = Word<Category>;
/// A price display as it is sent over HTTP.
type PricesWord = Word<Prices>;
/// A basis of tax as it is sent over HTTP.
type BasisWord = Word<Basis>;
/// A way of rounding as it is sent over HTTP.
type RoundingWord = Word<Rounding>;

/// Adds the feature's routes.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(profile::show).service(profile::replace);
    config.service(money::show).service(money::replace);
    config.service(rates::show).service(rates::replace);
    config.service(self_booking::show).service(self_booking::replace);
    config.service(tax::list).service(tax::create).service(tax::show).service(tax::replace);
    config.service(hours::show).service(hours::replace);
    config.service(closure::list).service(closure::create).service(closure::show);
    config.service(closure::replace).service(closure::remove);
    config.service(bay::list).service(bay::create).service(bay::show).service(bay::replace);
}
