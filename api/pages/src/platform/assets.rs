//! Our own style sheet and scripts, built into the program.

use std::sync::LazyLock;

use actix_web::http::header::{CACHE_CONTROL, CONTENT_TYPE, ETAG, IF_NONE_MATCH};
use actix_web::web::Path;
use actix_web::{HttpRequest, HttpResponse, get};
use baywright_core::platform::canonical::digest;
use baywright_core::platform::refusal::Refused;
use baywright_http::platform::problem::Problem;

/// A file that pages load.
#[derive(Debug)]
struct Asset {
    /// Its name with the beginning of its digest, such as `app-0123456789ab.css`.
    name: String,
    kind: &'static str,
    text: &'static str,
}

impl Asset {
    fn new(stem: &str, ending: &str, kind: &'static str, text: &'static str) -> Self {
        let digest = digest(text);
        Self { name: format!("{stem}-{}.{ending}", &digest[..12]), kind, text }
    }

    fn address(&self) -> String {
        format!("/assets/{}", self.name)
    }
}

const SCRIPT: &str = "text/javascript; charset=utf-8";

static STYLE: LazyLock<Asset> =
    LazyLock::new(|| Asset::new("app", "css", "text/css; charset=utf-8", include_str!("../../assets/app.css")));
static DESK: LazyLock<Asset> =
    LazyLock::new(|| Asset::new("desk", "css", "text/css; charset=utf-8", include_str!("../../assets/desk.css")));
static SIGN: LazyLock<Asset> = LazyLock::new(|| Asset::new("sign", "js", SCRIPT, include_str!("../../assets/sign.js")));

static BAY: LazyLock<Asset> = LazyLock::new(|| Asset::new("bay", "js", SCRIPT, include_str!("../../assets/bay.js")));
static NEW_CAR: LazyLock<Asset> =
    LazyLock::new(|| Asset::new("new-car", "js", SCRIPT, include_str!("../../assets/new_car.js")));

static ICON: LazyLock<Asset> =
    LazyLock::new(|| Asset::new("icon", "svg", "image/svg+xml", include_str!("../../assets/icon.svg")));

/// Address of the icon.
pub fn icon() -> String {
    ICON.address()
}

/// The same icon as pixels, at the address where browsers look for one by themselves: not all of them read SVG there.
#[get("/favicon.ico")]
pub(super) async fn favicon() -> HttpResponse {
    let keep = (CACHE_CONTROL, "public, max-age=86400");
    let bytes: &'static [u8] = include_bytes!("../../assets/favicon.ico");
    HttpResponse::Ok().insert_header(keep).insert_header((CONTENT_TYPE, "image/x-icon")).body(bytes)
}

/// Address of the style sheet of the customer's pages.
pub fn style() -> String {
    STYLE.address()
}

/// Address of the style sheet of all other pages.
pub fn desk_style() -> String {
    DESK.address()
}

/// Address of the script of the customer's page.
pub fn sign_script() -> String {
    SIGN.address()
}

/// Address of the script of the pages beside a car.
pub fn bay_script() -> String {
    BAY.address()
}

/// Address of the script of the pages of a new car.
pub fn new_car_script() -> String {
    NEW_CAR.address()
}

/// One of the files, by its name with digest.
#[get("/assets/{name}")]
pub(super) async fn asset(request: HttpRequest, name: Path<String>) -> Result<HttpResponse, Problem> {
    let all = [&*STYLE, &*DESK, &*SIGN, &*BAY, &*NEW_CAR, &*ICON];
    let found =
        all.into_iter().find(|asset| asset.name == *name).ok_or_else(|| Problem::from(Refused::not_found("file")))?;
    let tag = format!("\"{}\"", found.name);
    let known = request.headers().get(IF_NONE_MATCH).and_then(|header| header.to_str().ok());
    // The name changes with the content, so a cached copy is never out of date.
    let keep = (CACHE_CONTROL, "public, max-age=31536000, immutable");
    if known == Some(tag.as_str()) {
        return Ok(HttpResponse::NotModified().insert_header(keep).insert_header((ETAG, tag)).finish());
    }
    let kind = (CONTENT_TYPE, found.kind);
    Ok(HttpResponse::Ok().insert_header(keep).insert_header((ETAG, tag)).insert_header(kind).body(found.text))
}
