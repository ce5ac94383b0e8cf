//! Files that a customer can get through the link to their stay.

use actix_web::http::header::{CACHE_CONTROL, CONTENT_DISPOSITION, CONTENT_TYPE, HeaderValue};
use actix_web::web::Path;
use actix_web::{HttpRequest, HttpResponse, get};
use baywright_core::mail::outbox::Attachment;
use baywright_core::media;
use baywright_core::media::usecase::Size;
use baywright_core::stay::usecase;
use baywright_domain::id::PhotoId;
use baywright_http::platform::answer::Answer;
use baywright_http::platform::call::blocking;

use crate::platform::form::Fields;
use crate::signoff::{Visit, stopped_page};

fn file(found: Attachment) -> HttpResponse {
    HttpResponse::Ok()
        .insert_header((CONTENT_TYPE, found.media_type))
        .insert_header((CONTENT_DISPOSITION, format!("attachment; filename=\"{}\"", found.name)))
        .body(found.bytes)
}

/// The booked time for a calendar.
#[get("/c/{token}/booking.ics")]
pub(super) async fn appointment(visit: Visit) -> Answer {
    match visit.read(usecase::calendar_file).await {
        Ok(found) => Ok(file(found)),
        Err(stopped) => stopped_page(&stopped),
    }
}

/// The sealed document and evidence.
#[get("/c/{token}/copy.json")]
pub(super) async fn signed(visit: Visit) -> Answer {
    match visit.read(usecase::signed_copy).await {
        Ok(found) => Ok(file(found)),
        Err(stopped) => stopped_page(&stopped),
    }
}

/// A photograph that is meant for the customer. No browser keeps it: the phone may be shared.
#[get("/c/{token}/photos/{id}")]
pub(super) async fn picture(visit: Visit, address: Path<(String, String)>, request: HttpRequest) -> Answer {
    let (_, id) = address.into_inner();
    let found = visit.read(move |tx, link| {
        let photo = usecase::photo(tx, link, &PhotoId::new(id))?;
        Ok((tx.studio.id.clone(), photo))
    });
    let (shop, photo) = match found.await {
        Ok(found) => found,
        Err(stopped) => return stopped_page(&stopped),
    };
    let small = Fields::of_query(request.query_string()).text("size") == "small";
    let size = if small { Size::Thumb } else { Size::Full };
    let data = visit.program().config.data.clone();
    let wanted = photo.clone();
    let bytes = blocking(move || media::usecase::bytes(&data, &shop, &wanted, size)).await?;
    let mut answer = baywright_http::media::served(&photo, size, bytes);
    answer.headers_mut().insert(CACHE_CONTROL, HeaderValue::from_static("no-store"));
    Ok(answer)
}
