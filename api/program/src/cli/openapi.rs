//! `baywright openapi`: writes the API document.

use baywright_http::platform::openapi;
use baywright_http::routes::document;

use super::Trouble;

pub(super) fn run() -> Result<(), Trouble> {
    println!("{}", serde_json::to_string_pretty(&openapi::finish(&document())?)?);
    Ok(())
}
