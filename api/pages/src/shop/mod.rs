//! Who the studio is.
//!
//! | address | who | what |
//! | --- | --- | --- |
//! | `GET`, `POST /shop` | owner, desk | name, address and numbers of the studio, as its documents and emails show them |

mod profile;

use baywright_http::platform::unlisted::{ServiceConfig, Unlisted};

/// Adds the feature's pages.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(Unlisted::get("/shop", profile::show)).service(Unlisted::post("/shop", profile::save));
}
