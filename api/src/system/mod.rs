//! What machines ask of the program itself: is it alive, is it ready, how is it doing, what can it do.
//!
//! | route | answer |
//! | --- | --- |
//! | `GET /healthz`, `GET /livez` | 200 while the process runs |
//! | `GET /readyz` | 200 while the database answers and there is room on the disk, else 503 |
//! | `GET /metrics` | Prometheus text |
//! | `GET /openapi.json` | the API document |
//! | `GET /docs/` | the document as pages on which requests can be tried |

use std::path::Path;
use std::sync::OnceLock;

use actix_web::http::header::CONTENT_TYPE;
use actix_web::web::Data;
use actix_web::{HttpResponse, get};
use serde::Serialize;
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;
use utoipa_swagger_ui::{Config, SwaggerUi};

use crate::platform::answer::{Answer, plain};
use crate::platform::call::blocking;
use crate::platform::openapi;
use crate::platform::problem::Problem;
use crate::server::{App, document};

/// Adds the feature's routes.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(healthz).service(livez).service(readyz).service(metrics).service(openapi_json);
}

/// Whether the program is well.
#[derive(Debug, Serialize, ToSchema)]
struct Health {
    /// `ok`.
    #[schema(max_length = 20, example = "ok")]
    status: String,
}

/// Metrics as Prometheus reads them (text format 0.0.4).
#[derive(Debug, ToSchema)]
#[schema(max_length = 1_000_000, example = "http_requests_total 1")]
#[allow(dead_code, reason = "describes a body that is text")]
struct MetricsText(String);

/// An OpenAPI document.
#[derive(Debug, ToSchema)]
#[allow(dead_code, reason = "describes a body that is put together elsewhere")]
struct ApiDocument {
    /// The version of OpenAPI that it is written in.
    #[schema(max_length = 10, example = "3.1.0")]
    openapi: String,
}

fn well() -> HttpResponse {
    plain(&Health { status: "ok".to_owned() })
}

/// Is the process alive?
///
/// Answers as long as the process runs, and asks nothing else.
#[utoipa::path(tag = "system", security(()), responses((status = 200, description = "Alive.", body = Health, example = json!({"status": "ok"}))))]
#[get("/livez")]
async fn livez() -> HttpResponse {
    well()
}

/// Is the process alive? The usual name for the question.
///
/// The same as `/livez`.
#[utoipa::path(tag = "system", security(()), responses((status = 200, description = "Alive.", body = Health, example = json!({"status": "ok"}))))]
#[get("/healthz")]
async fn healthz() -> HttpResponse {
    well()
}

/// Bytes that must be free where the data are: with less, a photograph or two would fill the disk.
const ROOM: u64 = 64 << 20;

/// Bytes that are free for the program where that folder is; `None` where the system doesn't say.
fn room(folder: &Path) -> Option<u64> {
    #[cfg(unix)]
    return rustix::fs::statvfs(folder).ok().map(|disk| disk.f_bavail.saturating_mul(disk.f_frsize));
    #[cfg(not(unix))]
    None
}

/// Can it serve?
///
/// Asks the database for a sign of life and whether it takes changes, and the disk for room. Mails that wait don't count:
/// customers can sign while the mail server is away; `outbox_oldest_seconds` among the metrics tells of them.
#[utoipa::path(tag = "system", security(()), responses((status = 200, description = "Ready.", body = Health, example = json!({"status": "ok"}))))]
#[get("/readyz")]
async fn readyz(app: Data<App>) -> Answer {
    let (db, folder) = (app.db.clone(), app.config.data.clone());
    let (answers, room) = blocking(move || Ok((db.ping(), room(&folder)))).await?;
    if !answers {
        return Err(Problem::unavailable("The database does not answer, or takes no changes."));
    }
    if room.is_some_and(|room| room < ROOM) {
        return Err(Problem::unavailable("The disk is nearly full."));
    }
    Ok(well())
}

/// Metrics.
///
/// What the program counts, as Prometheus reads it.
#[utoipa::path(tag = "system", security(()), responses((status = 200, description = "Metrics.", content_type = "text/plain", body = MetricsText)))]
#[get("/metrics")]
async fn metrics(app: Data<App>) -> HttpResponse {
    HttpResponse::Ok().insert_header((CONTENT_TYPE, "text/plain; version=0.0.4")).body(app.metrics.text())
}

/// This document.
///
/// The OpenAPI 3.1 document of everything the service does.
#[utoipa::path(tag = "system", security(()), responses((status = 200, description = "The document.", content_type = "application/json", body = ApiDocument)))]
#[get("/openapi.json")]
async fn openapi_json() -> Answer {
    static TEXT: OnceLock<Option<String>> = OnceLock::new();
    let text = TEXT.get_or_init(|| serde_json::to_string(&openapi::finish(&document()).ok()?).ok());
    let text = text.as_ref().ok_or_else(Problem::unexpected)?;
    Ok(HttpResponse::Ok().insert_header((CONTENT_TYPE, "application/json")).body(text.as_str()))
}

/// The pages under `/docs/`: all their files are in the program, and nothing is asked of any other host.
pub fn docs() -> SwaggerUi {
    let config = Config::from("/openapi.json")
        .validator_url("none")
        .display_operation_id(true)
        .doc_expansion("none")
        .use_base_layout();
    SwaggerUi::new("/docs/{_:.*}").config(config)
}
