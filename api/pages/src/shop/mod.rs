//! Who the studio is, and its settings.
//!
//! | address | who | what |
//! | --- | --- | --- |
//! | `GET`, `POST /shop` | owner, desk | name, address and numbers of the studio, as its documents and emails show them |
//! | `GET`, `POST /tax` | owner | the tax that new services take, with its rates |
//! | `GET`, `POST /hours` | owner, desk | the opening hours of the usual week |
//! | `GET`, `POST /bays` | owner, desk | the bays, and a form for one more |
//! | `GET`, `POST /bays/{id}` | owner, desk | one bay |
//! | `GET`, `POST /shop/tablets` | owner | the tablets beside the bays, and a form for one more |
//! | `POST /shop/tablets/{id}/end` | owner | ends a tablet with its sign-ins |
//! | `GET`, `POST /self-booking` | owner | whether customers may choose a free time by themselves |

mod bay;
mod hours;
mod profile;
mod self_booking;
mod tablets;
mod tax;

use baywright_http::platform::unlisted::{ServiceConfig, Unlisted};

/// Adds the feature's pages.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(Unlisted::get("/shop", profile::show)).service(Unlisted::post("/shop", profile::save));
    config.service(Unlisted::get("/tax", tax::show)).service(Unlisted::post("/tax", tax::save));
    config.service(Unlisted::get("/hours", hours::show)).service(Unlisted::post("/hours", hours::save));
    config.service(Unlisted::get("/bays", bay::show)).service(Unlisted::post("/bays", bay::add));
    config.service(Unlisted::get("/bays/{id}", bay::show_one)).service(Unlisted::post("/bays/{id}", bay::save_one));
    config
        .service(Unlisted::get("/self-booking", self_booking::show))
        .service(Unlisted::post("/self-booking", self_booking::save));
    config
        .service(Unlisted::get("/shop/tablets", tablets::show))
        .service(Unlisted::post("/shop/tablets", tablets::add_one));
    config.service(Unlisted::post("/shop/tablets/{id}/end", tablets::end_one));
}
