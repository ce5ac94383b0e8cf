//! The menu: beginning with the starter menu, pricing a car as a trial, and publishing.
//!
//! | address | who | what |
//! | --- | --- | --- |
//! | `GET`, `POST /menu` | owner | the services of the draft, and the form that loads the starter menu into it |
//! | `GET /menu/trial` | owner | what a car would cost by the draft, and the form that publishes it |
//! | `POST /menu/publish` | owner | publishes the draft from now on |

mod first;
mod publish;
mod trial;

use baywright_domain::document::Prices;
use baywright_http::platform::unlisted::{ServiceConfig, Unlisted};

/// The address of the menu.
const HERE: &str = "/menu";

/// Adds the feature's pages.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(Unlisted::get("/menu", first::show)).service(Unlisted::post("/menu", first::load));
    config.service(Unlisted::get("/menu/trial", trial::show));
    config.service(Unlisted::post("/menu/publish", publish::publish));
}

/// The basis of prices, in words.
const fn basis(prices: Prices) -> &'static str {
    match prices {
        Prices::Gross => "with VAT",
        Prices::Net => "before VAT",
    }
}
