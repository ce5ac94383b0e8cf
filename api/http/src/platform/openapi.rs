//! The OpenAPI document: the descriptions of the routes, and what all of them have in common.
//!
//! Handlers describe what is specific to them. This module adds the rest: the refusals that every operation can give,
//! the headers of every answer, and the keys and tags that changes need. It also writes nullable values in the form
//! that client generators handle best: plain types as `type: [T, null]`, named schemas as `oneOf` of the name and null.

mod everywhere;
mod examples;
mod flat;
mod headers;
mod nulls;
mod refusals;
mod schemas;
mod tags;
mod warnings;

use serde_json::Value;
use utoipa::openapi::{OpenApi, PathItem};

/// The document before any route is added.
pub fn base() -> OpenApi {
    use utoipa::openapi::security::{Http, HttpAuthScheme, SecurityScheme};
    use utoipa::openapi::{ComponentsBuilder, ContactBuilder, InfoBuilder, LicenseBuilder, OpenApiBuilder};
    let info = InfoBuilder::new()
        .title("Baywright")
        .version(env!("CARGO_PKG_VERSION"))
        .description(Some(
            "Back office of a small vehicle-detailing studio: one car from the first call to the paid invoice.",
        ))
        .license(Some(LicenseBuilder::new().name("MIT OR Apache-2.0").identifier(Some("MIT OR Apache-2.0")).build()))
        .contact(Some(
            ContactBuilder::new()
                .name(Some("Baywright"))
                .url(Some("https://baywright.example"))
                .email(Some("api@baywright.example"))
                .build(),
        ))
        .build();
    let bearer = SecurityScheme::Http(Http::new(HttpAuthScheme::Bearer));
    OpenApiBuilder::new()
        .info(info)
        .servers(Some([utoipa::openapi::Server::new("/")]))
        .components(Some(ComponentsBuilder::new().security_scheme("bearer", bearer).build()))
        .build()
}

/// Tag of pages for people. They are collected like the API's paths, so that the methods of each are known, but are not
/// part of the document.
pub const PAGE: &str = "page";

/// Whether a path is one of a page for people.
pub fn is_page(item: &PathItem) -> bool {
    let operations = [&item.get, &item.post].into_iter().flatten();
    operations.filter_map(|operation| operation.tags.as_ref()).flatten().any(|tag| tag == PAGE)
}

/// The finished document, as it is served and written to `openapi/openapi.json`.
///
/// # Errors
/// If the document does not serialise; a defect found by the first test.
pub fn finish(document: &OpenApi) -> Result<Value, serde_json::Error> {
    let mut value = serde_json::to_value(document)?;
    everywhere::add(&mut value);
    flat::flatten(&mut value);
    nulls::rewrite(&mut value);
    schemas::finish(&mut value);
    warnings::add(&mut value);
    examples::add(&mut value);
    Ok(value)
}
