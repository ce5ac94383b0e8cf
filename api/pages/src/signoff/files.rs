//! Files that a customer can get through their link: the photographs that the document names, and the signed copy.

use actix_web::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE};
use actix_web::web::Path;
use actix_web::{HttpRequest, HttpResponse, get};
use baywright_core::media;
use baywright_core::media::usecase::Size;
use baywright_core::platform::refusal::Refused;
use baywright_core::quote::usecase::sealed_file;
use baywright_domain::id::PhotoId;
use baywright_http::platform::answer::Answer;
use baywright_http::platform::call::blocking;

use super::blocked;
use super::choice::Fields;
use super::offer::find;
use super::visit::Visit;

/// A photograph of the inspection. Only photographs that the sealed document names are available, and only as they were
/// then.
#[get("/q/{token}/photos/{id}")]
pub(super) async fn photo(visit: Visit, path: Path<(String, String)>, request: HttpRequest) -> Answer {
    let (_, id) = path.into_inner();
    let found = visit.read(move |tx, link| {
        let shown = find(tx, link, &[])?.shown;
        let named = shown.document.inspection.as_ref();
        let named = named.and_then(|inspection| inspection.all_photos().find(|photo| photo.id.as_str() == id));
        let named = named.ok_or_else(|| Refused::not_found("photograph"))?;
        let photo = media::usecase::show(tx, &PhotoId::new(named.id.as_str()))?;
        if photo.full.digest != named.sha256 {
            return Err(Refused::not_found("photograph").into());
        }
        Ok((tx.studio.id.clone(), photo))
    });
    let (shop, photo) = match found.await {
        Ok(found) => found,
        Err(stopped) => return blocked::problem(&stopped),
    };
    let small = Fields::of_query(request.query_string()).text("size") == "small";
    let size = if small { Size::Thumb } else { Size::Full };
    let data = visit.program().config.data.clone();
    let wanted = photo.clone();
    let bytes = blocking(move || media::usecase::bytes(&data, &shop, &wanted, size)).await?;
    Ok(baywright_http::media::served(&photo, size, bytes))
}

/// The sealed document and evidence with their digests, once signed.
#[get("/q/{token}/copy.json")]
pub(super) async fn copy(visit: Visit) -> Answer {
    let found = visit.read(|tx, link| {
        let shown = find(tx, link, &[])?.shown;
        let signoff = shown.signoff.as_ref().ok_or_else(|| Refused::not_found("signed copy"))?;
        sealed_file(&shown, signoff)
    });
    match found.await {
        Ok(file) => Ok(HttpResponse::Ok()
            .insert_header((CONTENT_TYPE, file.media_type))
            .insert_header((CONTENT_DISPOSITION, format!("attachment; filename=\"{}\"", file.name)))
            .body(file.bytes)),
        Err(stopped) => blocked::problem(&stopped),
    }
}
