//! The start page: it leads whoever is signed in to what comes first for their role, and others to the page to sign in on; on an
//! empty database, to the setup. An owner whose setup is not done sees its next step.
//!
//! | address | who | what |
//! | --- | --- | --- |
//! | `GET /` | anyone | the start page |

use actix_web::get;
use actix_web::http::StatusCode;
use actix_web::web::Data;
use askama::Template;
use baywright_core::platform::fail::Done;
use baywright_core::platform::identity::Anyone;
use baywright_core::platform::tx::Tx;
use baywright_core::shop::usecase::any_shop;
use baywright_domain::people::Role;
use baywright_http::platform::answer::Answer;
use baywright_http::platform::app::App;
use baywright_http::platform::door::DoorCall;
use baywright_http::platform::page::PageRead;
use baywright_http::platform::unlisted::{ServiceConfig, Unlisted};

use crate::access::first_page;
use crate::platform::{DeskFrame, Insider, html, see_other};
use crate::setup::{Pending, pending};

/// The start page of an owner whose setup is not done.
#[derive(Template)]
#[template(path = "home/views/home.html")]
struct Page {
    frame: DeskFrame,
    /// The step of the setup that comes next.
    pending: Pending,
}

/// Adds the start page.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(Unlisted::get("/", start));
}

#[get("/")]
async fn start(app: Data<App>, page: Option<PageRead<Anyone>>, door: DoorCall) -> Answer {
    if let Some(page) = page {
        match page.read(found).await {
            Ok((insider, Some(pending))) => {
                let frame = DeskFrame::new("Start", insider, page.form_code(), "/");
                return html(StatusCode::OK, &Page { frame, pending });
            }
            Ok((insider, None)) => return Ok(see_other(first_of(insider.role))),
            Err(problem) if problem.status() == StatusCode::UNAUTHORIZED => {}
            // Four digits open the pages of the bays alone.
            Err(problem) if problem.status() == StatusCode::FORBIDDEN => return Ok(see_other("/bay")),
            Err(problem) => return Err(problem),
        }
    }
    if door.run(|door| door.read(any_shop)).await? { first_page(&app) } else { Ok(see_other("/set-up")) }
}

/// The page that comes first for a role.
const fn first_of(role: Role) -> &'static str {
    match role {
        Role::Owner | Role::Desk | Role::Technician => "/today",
        Role::Accountant => "/cars?group=UNPAID",
    }
}

/// The person, and the step of the setup that comes next, if they can do it.
fn found(tx: &mut Tx<'_>) -> Done<(Insider, Option<Pending>)> {
    let insider = Insider::of(tx)?;
    let pending = if insider.is_owner() { pending(tx)? } else { None };
    Ok((insider, pending))
}
