//! The calendar behind a feed's link.

use actix_web::http::header::CONTENT_TYPE;
use actix_web::web::Path;
use actix_web::{HttpResponse, get};

use super::usecase;
use crate::documents::calendar;
use crate::http::answer::Answer;
use crate::platform::door::Door;

#[get("/feeds/{token}.ics")]
pub(super) async fn diary(door: Door, token: Path<String>) -> Answer {
    let token = token.into_inner();
    let bytes = door.run(move |door| usecase::calendar(door, &token)).await?;
    Ok(HttpResponse::Ok().insert_header((CONTENT_TYPE, format!("{}; charset=utf-8", calendar::MEDIA_TYPE))).body(bytes))
}
