//! The diary: the week in its bays, times for signed work, one booking, absences and closures, and new plans of the next
//! days.
//!
//! | address | who | what |
//! | --- | --- | --- |
//! | `GET /diary` | crew | a week as a picture and as tables |
//! | `GET`, `POST /diary/book/{id}` | owner, desk | times for a signed quote; holds or books one |
//! | `GET /diary/{id}` | crew | one booking |
//! | `GET`, `POST /diary/{id}/move` | owner, desk | times for a booking; moves it |
//! | `POST /diary/{id}/book` | owner, desk | confirms a held place |
//! | `POST /diary/{id}/hold` | owner, desk | holds it for longer |
//! | `POST /diary/{id}/deposit` | owner, desk | records the deposit |
//! | `POST /diary/{id}/missed` | owner, desk | records that the car did not come |
//! | `POST /diary/{id}/arrive` | crew | records that the car is here |
//! | `GET`, `POST /diary/{id}/cancel` | owner, desk | cancels it, with a reason |
//! | `GET`, `POST /diary/{id}/undo` | crew | undoes the last of these |
//! | `GET`, `POST /diary/absences` | owner, desk | who is away, and a form for one absence more |
//! | `POST /diary/absences/{id}/remove` | owner, desk | removes an absence |
//! | `GET`, `POST /diary/closures` | owner, desk | when the studio or a bay is closed, and a form for more |
//! | `POST /diary/closures/{id}/remove` | owner, desk | removes a closure |
//! | `GET`, `POST /diary/week-plan` | owner, desk | asks for a new plan of the next days |
//! | `GET /diary/week-plan/{id}` | owner, desk | the plan beside the diary as it is |
//! | `POST /diary/week-plan/{id}/accept` | owner | changes the diary to it |

mod absence;
mod act;
mod breaks;
mod choose;
mod clock;
mod closure;
mod one;
mod picture;
mod plan;
mod plan_view;
mod reasons;
mod shown;
mod times;
mod week;
mod week_view;

pub(crate) use act::tried;
use baywright_http::platform::unlisted::{ServiceConfig, Unlisted};

/// The address of the week.
const HERE: &str = "/diary";

/// Adds the feature's pages.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(Unlisted::get("/diary", week::show));
    // Words come before the ids that a path can have in their place.
    config.service(Unlisted::get("/diary/absences", absence::show));
    config.service(Unlisted::post("/diary/absences", absence::add));
    config.service(Unlisted::post("/diary/absences/{id}/remove", absence::remove));
    config.service(Unlisted::get("/diary/closures", closure::show));
    config.service(Unlisted::post("/diary/closures", closure::add));
    config.service(Unlisted::post("/diary/closures/{id}/remove", closure::remove));
    config
        .service(Unlisted::get("/diary/week-plan", plan::show))
        .service(Unlisted::post("/diary/week-plan", plan::ask));
    config.service(Unlisted::get("/diary/week-plan/{id}", plan::show_one));
    config.service(Unlisted::post("/diary/week-plan/{id}/accept", plan::take));
    config.service(Unlisted::get("/diary/book/{id}", choose::to_book));
    config.service(Unlisted::post("/diary/book/{id}", choose::book));
    config.service(Unlisted::get("/diary/{id}", one::show));
    config.service(Unlisted::get("/diary/{id}/move", choose::to_move));
    config.service(Unlisted::post("/diary/{id}/move", choose::relocate));
    config.service(Unlisted::post("/diary/{id}/book", act::confirm));
    config.service(Unlisted::post("/diary/{id}/hold", act::keep_holding));
    config.service(Unlisted::post("/diary/{id}/deposit", act::note_deposit));
    config.service(Unlisted::post("/diary/{id}/missed", act::note_missed));
    config.service(Unlisted::post("/diary/{id}/arrive", act::take_in));
    config.service(Unlisted::get("/diary/{id}/cancel", act::to_cancel));
    config.service(Unlisted::post("/diary/{id}/cancel", act::call_off));
    config.service(Unlisted::get("/diary/{id}/undo", act::to_undo));
    config.service(Unlisted::post("/diary/{id}/undo", act::take_back));
}
