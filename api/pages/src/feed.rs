//! The calendar at a feed's address.

use actix_web::http::header::CONTENT_TYPE;
use actix_web::web::Path;
use actix_web::{HttpResponse, get};
use baywright_core::documents::calendar;
use baywright_core::feed::usecase;
use baywright_http::platform::answer::Answer;
use baywright_http::platform::door::DoorCall;
use baywright_http::platform::unlisted::{ServiceConfig, Unlisted};

/// Adds the address behind a feed's link.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(Unlisted::get("/feeds/{token}.ics", diary));
}

#[get("/feeds/{token}.ics")]
async fn diary(door: DoorCall, token: Path<String>) -> Answer {
    let token = token.into_inner();
    let bytes = door.run(move |door| usecase::calendar(door, &token)).await?;
    Ok(HttpResponse::Ok().insert_header((CONTENT_TYPE, format!("{}; charset=utf-8", calendar::MEDIA_TYPE))).body(bytes))
}
