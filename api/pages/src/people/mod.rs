//! Who works in the studio.
//!
//! | address | who | what |
//! | --- | --- | --- |
//! | `GET`, `POST /people` | owner | everyone, and a form for one more |
//! | `GET`, `POST /people/{id}` | owner | one person: name, role, skills and hours |
//! | `GET`, `POST /people/{id}/digits` | owner | the digits with which a person signs in on tablets |
//! | `GET`, `POST /digits` | crew | one's own digits |
//! | `POST /people/{id}/invite` | owner | makes an invite and shows its address once |

mod all;
mod details;
mod digits;
mod invite;
mod one;

use baywright_http::platform::unlisted::{ServiceConfig, Unlisted};

/// The address of the list.
const HERE: &str = "/people";

/// Adds the feature's pages.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(Unlisted::get("/people", all::show)).service(Unlisted::post("/people", all::add));
    config.service(Unlisted::get("/people/{id}", one::show)).service(Unlisted::post("/people/{id}", one::save));
    config.service(Unlisted::post("/people/{id}/invite", invite::make));
    config
        .service(Unlisted::get("/people/{id}/digits", digits::show))
        .service(Unlisted::post("/people/{id}/digits", digits::save));
    config.service(Unlisted::get("/digits", digits::show_own)).service(Unlisted::post("/digits", digits::save_own));
}
