//! The page of the stay.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, get};
use baywright_core::stay::usecase::{self, Stay};
use baywright_http::platform::answer::Answer;

use super::view::{FaultView, StayPage, Typed};
use crate::platform::form::Fields;
use crate::platform::html;
use crate::signoff::{Visit, stopped_page};

/// The path of a link's page.
pub(super) fn path(visit: &Visit) -> String {
    format!("/c/{}", visit.token)
}

/// The stay as it is now.
#[get("/c/{token}")]
pub(super) async fn show(visit: Visit, request: HttpRequest) -> Answer {
    let fields = Fields::of_query(request.query_string());
    let typed = Typed { was_asked: fields.yes("asked"), ..Typed::default() };
    match visit.read(usecase::show).await {
        Ok(stay) => page(&visit, &stay, typed, Vec::new(), StatusCode::OK),
        Err(stopped) => stopped_page(&stopped),
    }
}

/// The page, with what was typed and what is wrong with it.
pub(super) fn page(visit: &Visit, stay: &Stay, typed: Typed, faults: Vec<FaultView>, status: StatusCode) -> Answer {
    html(status, &StayPage::of(stay, (path(visit), visit.form_code()), typed, faults))
}
