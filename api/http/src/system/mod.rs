//! Questions of machines about the program itself: whether it is alive and ready, its metrics, and its API.
//!
//! | route | answer |
//! | --- | --- |
//! | `GET /healthz`, `GET /livez` | 200 while the process runs |
//! | `GET /readyz` | 200 while the database accepts changes and the disk has space for them, else 503 |
//! | `GET /metrics` | Prometheus text, for programs on this machine or with the token of the settings |
//! | `GET /openapi.json` | the API document |
//! | `GET /docs/` | the document as pages on which requests can be tried |

mod reader;

use std::path::Path;
use std::sync::OnceLock;

use actix_web::http::header::CONTENT_TYPE;
use actix_web::web::Data;
use actix_web::{HttpRequest, HttpResponse, get};
use baywright_core::platform::config::Config;
use baywright_core::platform::refusal::Refused;
use baywright_core::platform::token;
use secrecy::ExposeSecret;
use serde::Serialize;
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;

use crate::platform::answer::{Answer, plain};
use crate::platform::app::App;
use crate::platform::call::{bearer, blocking};
use crate::platform::openapi;
use crate::platform::problem::Problem;
use crate::routes::document;

pub use reader::docs;

/// Adds the feature's routes.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(healthz).service(livez).service(readyz).service(metrics).service(openapi_json);
}

/// Health of the program.
#[derive(Debug, Serialize, ToSchema)]
struct Health {
    /// Word `ok` if the program works.
    #[schema(max_length = 20, example = "ok")]
    status: String,
}

/// Readiness of the service.
#[derive(Debug, Serialize, ToSchema)]
struct Readiness {
    /// Word `ok` if the service is ready.
    #[schema(max_length = 20, example = "ok")]
    status: String,
    /// Space on the disk with the data: `ok`, or `low` if less than 64 MiB are free, so that photographs may soon be
    /// refused; null if the system does not say.
    #[schema(max_length = 20, example = "ok")]
    disk: Option<String>,
}

/// Metrics in the text format 0.0.4 of Prometheus.
#[derive(Debug, ToSchema)]
#[schema(max_length = 1_000_000, example = "http_requests_total 1")]
#[allow(dead_code, reason = "describes a body that is text")]
struct MetricsText(String);

/// OpenAPI document of the service.
#[derive(Debug, ToSchema)]
#[allow(dead_code, reason = "describes a body that is put together elsewhere")]
struct ApiDocument {
    /// Version of OpenAPI that the document is written in.
    #[schema(max_length = 10, example = "3.1.0")]
    openapi: String,
}

fn well() -> HttpResponse {
    plain(&Health { status: "ok".to_owned() })
}

/// Check that the process is alive.
///
/// Answers as long as the process runs, without checking anything else.
#[utoipa::path(tag = "system", security(()), responses((status = 200, description = "The process is alive.",
    body = Health, example = json!({"status": "ok"}))))]
#[get("/livez")]
async fn livez() -> HttpResponse {
    well()
}

/// Check that the process is alive, under the customary path.
///
/// Does the same as `/livez`.
#[utoipa::path(tag = "system", security(()), responses((status = 200, description = "The process is alive.",
    body = Health, example = json!({"status": "ok"}))))]
#[get("/healthz")]
async fn healthz() -> HttpResponse {
    well()
}

/// Bytes that must be free on the disk with the data for the service to be ready: more than any change except a long
/// import writes.
const ENOUGH: u64 = 4 << 20;

/// Bytes that should be free there: with less, a few photographs would fill the disk.
const AMPLE: u64 = 64 << 20;

/// State of the disk's free space.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Room {
    /// There is less than a change may need.
    Full,
    /// There is enough for changes, but soon not for photographs.
    Low,
    Ample,
}

impl Room {
    fn of(free: u64) -> Self {
        match free {
            ..ENOUGH => Self::Full,
            ENOUGH..AMPLE => Self::Low,
            AMPLE.. => Self::Ample,
        }
    }
}

/// Bytes that are free for the program in that folder; `None` if the system doesn't say.
fn free(folder: &Path) -> Option<u64> {
    #[cfg(unix)]
    return rustix::fs::statvfs(folder).ok().map(|disk| disk.f_bavail.saturating_mul(disk.f_frsize));
    #[cfg(not(unix))]
    None
}

/// Check that the service is ready.
///
/// Opens a change in the database and rolls it back, checks that no newer version of the program has changed the
/// database, and that the disk has free space for a change. Space that runs low is reported, and the service stays ready
/// until a change would fail. Waiting mails do not count, because customers can sign while the mail server is
/// unavailable; the metric `outbox_oldest_seconds` reports them.
#[utoipa::path(tag = "system", security(()), responses((status = 200, description = "The service is ready.",
    body = Readiness, example = json!({"status": "ok", "disk": "ok"}))))]
#[get("/readyz")]
async fn readyz(app: Data<App>) -> Answer {
    let (db, folder) = (app.program.db.clone(), app.program.config.data.clone());
    let (answers, free) = blocking(move || Ok((db.can_write()?, free(&folder)))).await?;
    if !answers {
        return Err(Problem::from(Refused::unavailable("The database does not answer, or takes no changes.")));
    }
    let disk = match free.map(Room::of) {
        Some(Room::Full) => {
            return Err(Problem::from(Refused::unavailable(
                "The disk is full. Free some space on the disk with the data.",
            )));
        }
        Some(Room::Low) => Some("low"),
        Some(Room::Ample) => Some("ok"),
        None => None,
    };
    Ok(plain(&Readiness { status: "ok".to_owned(), disk: disk.map(str::to_owned) }))
}

/// Read the metrics.
///
/// Returns the counters of the program in the format of Prometheus. If the settings have no metrics token, only a
/// program on the same machine can read them; otherwise every request needs the token as Bearer.
#[utoipa::path(tag = "system", security(()), responses(
    (status = 200, description = "Metrics as text.", content_type = "text/plain", body = MetricsText),
    (status = 401, description = "The metrics token is missing or wrong."),
    (status = 403, description = "Only programs on the same machine may read the metrics.")))]
#[get("/metrics")]
async fn metrics(request: HttpRequest, app: Data<App>) -> Answer {
    may_read_metrics(&request, &app.program.config)?;
    Ok(HttpResponse::Ok().insert_header((CONTENT_TYPE, "text/plain; version=0.0.4")).body(app.program.metrics.text()))
}

/// Refuses a client that may not read the metrics.
fn may_read_metrics(request: &HttpRequest, config: &Config) -> Result<(), Problem> {
    if let Some(token) = &config.metrics_token {
        // Digests are compared, so that the time it takes reveals nothing about the token.
        let expected = token::digest(token.expose_secret());
        if bearer(request).is_some_and(|given| token::digest(given) == expected) {
            return Ok(());
        }
        return Err(Problem::from(Refused::unauthenticated("Send the token of --metrics-token as a bearer token.")));
    }
    let local = request.peer_addr().is_some_and(|peer| peer.ip().to_canonical().is_loopback());
    // A request that a proxy on this machine forwards comes from elsewhere.
    let forwarded = request.headers().keys().any(|name| is_of_a_proxy(name.as_str()));
    if local && !forwarded {
        return Ok(());
    }
    let detail = "Only programs on the same machine may read the metrics. Start the service with --metrics-token to read \
        them from elsewhere.";
    Err(Problem::from(Refused::not_allowed(detail)))
}

/// Whether a header of that name, in lower case, says that a proxy has forwarded the request: RFC 7239, RFC 9110 (section
/// 7.6.3), RFC 8586, and common practice for the others.
fn is_of_a_proxy(name: &str) -> bool {
    matches!(name, "forwarded" | "via" | "cdn-loop")
        || ["x-forwarded", "x-original-"].iter().any(|start| name.starts_with(start))
        || ["client-ip", "real-ip", "connecting-ip"].iter().any(|end| name.ends_with(end))
}

/// Read this document.
///
/// Returns the OpenAPI 3.1 document of the whole service.
#[utoipa::path(tag = "system", security(()), responses((status = 200, description = "OpenAPI document of the service.",
    content_type = "application/json", body = ApiDocument)))]
#[get("/openapi.json")]
async fn openapi_json() -> Answer {
    static TEXT: OnceLock<Option<String>> = OnceLock::new();
    let text = TEXT.get_or_init(|| serde_json::to_string(&openapi::finish(&document()).ok()?).ok());
    let text = text.as_ref().ok_or_else(Problem::unexpected)?;
    Ok(HttpResponse::Ok().insert_header((CONTENT_TYPE, "application/json")).body(text.as_str()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_disk_that_runs_low_is_reported_and_only_one_without_room_for_a_change_is_full() {
        let known = [(0, Room::Full), (3, Room::Full), (4, Room::Low), (11, Room::Low), (64, Room::Ample)];
        for (mebibytes, room) in known {
            assert_eq!(Room::of(mebibytes << 20), room, "{mebibytes} MiB");
        }
    }
}
