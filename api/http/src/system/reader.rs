//! The pages under `/docs/`: all their files are in the program, and no other host is used.

use std::borrow::Cow;
use std::sync::{Arc, LazyLock};

use actix_web::http::header::{CONTENT_ENCODING, ContentEncoding};
use actix_web::web::{self, Bytes};
use actix_web::{HttpResponse, get};
use baywright_core::platform::refusal::Refused;
use utoipa_swagger_ui::{Config, serve};

use crate::platform::problem::Problem;

static CONFIG: LazyLock<Arc<Config<'static>>> = LazyLock::new(|| {
    let config = Config::from("/openapi.json")
        .validator_url("none")
        .display_operation_id(true)
        .doc_expansion("none")
        .use_base_layout();
    Arc::new(config)
});

/// A file of the pages. It is sent from the program's own data: a copy for each client would take a megabyte as long as
/// that client does not read it.
#[get("/docs/{file:.*}")]
pub async fn docs(file: web::Path<String>) -> Result<HttpResponse, Problem> {
    let found = serve(&file, Arc::clone(&CONFIG)).map_err(|error| {
        tracing::error!(%error, "a page of the API document can't be made");
        Problem::unexpected()
    })?;
    let found = found.ok_or_else(|| Problem::from(Refused::not_found("page")))?;
    let mut answer = HttpResponse::Ok();
    if found.gzpipped {
        answer.insert_header((CONTENT_ENCODING, ContentEncoding::Gzip));
    }
    let bytes = match found.bytes {
        Cow::Borrowed(bytes) => Bytes::from_static(bytes),
        Cow::Owned(bytes) => Bytes::from(bytes),
    };
    Ok(answer.content_type(found.content_type).body(bytes))
}
