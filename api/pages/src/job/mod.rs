//! The work in the bays: the cars that are here, and the plan of one car to work down.
//!
//! | address | who | what |
//! | --- | --- | --- |
//! | `GET /bay` | crew | the cars whose work is under way; technicians see their own |
//! | `GET /bay/{id}` | crew | one car's steps, with the next one on top |
//! | `POST /bay/{id}/{act}` | crew | starts, stops, finishes or undoes a step, or adds a note |

mod act;
mod all;
mod one;

use baywright_http::platform::unlisted::{ServiceConfig, Unlisted};

/// The address of the list.
const HERE: &str = "/bay";

/// Adds the feature's pages.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(Unlisted::get("/bay", all::show));
    config.service(Unlisted::get("/bay/{id}", one::show));
    config.service(Unlisted::post("/bay/{id}/{act}", act::take));
}
