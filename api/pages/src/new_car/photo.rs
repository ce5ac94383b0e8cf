//! A photograph of a walk-round, for the pages of the desk.

use actix_web::web::Path;
use actix_web::{HttpRequest, get};
use baywright_core::media::usecase::{self, Size};
use baywright_core::platform::identity::Desk;
use baywright_domain::id::PhotoId;
use baywright_http::media::served;
use baywright_http::platform::answer::Answer;
use baywright_http::platform::call::blocking;
use baywright_http::platform::page::PageRead;

use crate::platform::form::Fields;

/// The photograph, or its thumbnail with `size=small`.
#[get("/new-car/photos/{id}")]
pub(super) async fn show(page: PageRead<Desk>, id: Path<String>, request: HttpRequest) -> Answer {
    let id = PhotoId::new(id.into_inner());
    let small = Fields::of_query(request.query_string()).text("size") == "small";
    let size = if small { Size::Thumb } else { Size::Full };
    let (photo, shop) = page.read(move |tx| Ok((usecase::show(tx, &id)?, tx.studio.id.clone()))).await?;
    let data = page.app().program.config.data.clone();
    let wanted = photo.clone();
    let bytes = blocking(move || usecase::bytes(&data, &shop, &wanted, size)).await?;
    Ok(served(&photo, size, bytes))
}
