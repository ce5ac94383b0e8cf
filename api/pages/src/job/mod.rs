//! The work in the bays: the cars of the day, and the plan of one car to work down. These pages are also for people who have
//! signed in on a tablet beside the bays.
//!
//! | address | who | what |
//! | --- | --- | --- |
//! | `GET /bay` | crew | the cars of the day, by bay; technicians see their own |
//! | `GET /bay/{id}` | crew | one car's steps, with the one at hand on top |
//! | `POST /bay/{id}/{act}` | crew | starts, stops, finishes or undoes a step, or ends its drying |
//! | `POST /bay/{id}/note` | crew | keeps a note, with a photograph |
//! | `GET /bay/{id}/photos/{photo}` | crew | a photograph of a note |
//! | `GET`, `POST /bay/{id}/found` | crew | notes what was found, and drafts a variation for the desk |

mod act;
mod all;
mod card;
mod found;
mod frame;
mod note;
mod one;

use baywright_http::platform::unlisted::{ServiceConfig, Unlisted};

/// The address of the list.
const HERE: &str = "/bay";

/// Adds the feature's pages.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(Unlisted::get("/bay", all::show));
    config.service(Unlisted::get("/bay/{id}", one::show));
    config.service(Unlisted::get("/bay/{id}/found", found::show));
    config.service(Unlisted::post("/bay/{id}/found", found::propose));
    config.service(Unlisted::post("/bay/{id}/note", note::keep));
    config.service(Unlisted::get("/bay/{id}/photos/{photo}", note::show_photo));
    config.service(Unlisted::post("/bay/{id}/{act}", act::take));
}
