//! Middleware for every request: it adds a request id, security headers and a problem body for every refusal, limits the
//! rate and the answers that wait to be read, counts the answer and writes a line of the log.
//!
//! HEAD is handled as GET before any route sees it; the server leaves the body out.

use std::future::{Future, Ready, ready};
use std::pin::Pin;
use std::rc::Rc;
use std::time::Instant as Stopwatch;

use actix_web::body::{BoxBody, MessageBody};
use actix_web::dev::{Service, ServiceRequest, ServiceResponse, Transform};
use actix_web::http::header::{HeaderName, HeaderValue};
use actix_web::http::{ConnectionType, Method, StatusCode};
use actix_web::web::Data;
use actix_web::{HttpMessage, HttpResponse, ResponseError};
use baywright_core::platform::rate::{Allowance, Rate, counted_as};
use baywright_core::platform::refusal;
use tracing::Instrument;

use super::app::App;
use super::arriving::refuse_coded;
use super::connections::Connection;
use super::gzip;
use super::methods::{Known, Methods};
use super::problem::{FieldFault, FinishFigure, KnownRecord, Problem, ProblemBody};
use super::trace::Parent;

/// The id of the request.
#[derive(Debug, Clone)]
pub struct RequestId(pub String);

/// The middleware; outermost except for the pages of refusals.
#[derive(Debug, Clone, Copy)]
pub struct Guard;

/// The middleware at work on one worker.
pub struct Guarded<S> {
    inner: Rc<S>,
}

impl<S, B> Transform<S, ServiceRequest> for Guard
where
    S: Service<ServiceRequest, Response = ServiceResponse<B>, Error = actix_web::Error> + 'static,
    B: MessageBody + 'static,
{
    type Response = ServiceResponse<BoxBody>;
    type Error = actix_web::Error;
    type Transform = Guarded<S>;
    type InitError = ();
    type Future = Ready<Result<Guarded<S>, ()>>;

    fn new_transform(&self, inner: S) -> Self::Future {
        ready(Ok(Guarded { inner: Rc::new(inner) }))
    }
}

impl<S, B> Service<ServiceRequest> for Guarded<S>
where
    S: Service<ServiceRequest, Response = ServiceResponse<B>, Error = actix_web::Error> + 'static,
    B: MessageBody + 'static,
{
    type Response = ServiceResponse<BoxBody>;
    type Error = actix_web::Error;
    type Future = Pin<Box<dyn Future<Output = Result<Self::Response, Self::Error>>>>;

    actix_web::dev::forward_ready!(inner);

    fn call(&self, mut request: ServiceRequest) -> Self::Future {
        let inner = Rc::clone(&self.inner);
        Box::pin(async move {
            let begun = Stopwatch::now();
            let id = request_id(&request);
            request.extensions_mut().insert(RequestId(id.clone()));
            let parent = Parent::of(request.headers());
            let (trace, caller) = (parent.as_ref().map(|p| &*p.trace_id), parent.as_ref().map(|p| &*p.parent_id));
            // The level is error, so that every line has the request's fields, whatever the level of the log.
            let span = tracing::error_span!("request", request_id = %id, trace_id = trace, parent_id = caller);
            let app = request.app_data::<Data<App>>().cloned();
            let methods = request.app_data::<Data<Methods>>().cloned();
            // The router decides by the same form of the path, in which needless percent-encoding is undone.
            let known = methods.as_ref().and_then(|methods| methods.known(request.match_info().as_str()));
            if let Some(known) = known {
                request.extensions_mut().insert(known.feature());
            }
            let method = request.method().clone();
            if method == Method::HEAD {
                // HEAD is GET without the body (RFC 9110, 9.3.2). The server leaves the body out because of what the
                // client sent.
                request.head_mut().method = Method::GET;
            }
            let path = request.path().to_owned();
            let client = app.as_ref().map(|app| client(&request, app)).unwrap_or_default();
            let gzip = gzip::is_wanted(&request);
            let allowance = app.as_ref().map(|app| rate(app, &path).take(&client));
            let crowded = request.conn_data::<Connection>().and_then(Connection::refusal);
            let close = crowded.is_some();
            let refused = crowded.or_else(|| allowance.as_ref().and_then(Allowance::refusal).map(Problem::from));
            let refused = refused
                .or_else(|| refuse_coded(request.headers()))
                .or_else(|| known.and_then(|known| known.stray(&request)));
            let (http, answer) = match refused {
                Some(problem) => {
                    let (http, _) = request.into_parts();
                    (http, problem.error_response())
                }
                None => match inner.call(request).instrument(span).await {
                    Ok(done) => {
                        let (http, answer) = done.into_parts();
                        (http, answer.map_into_boxed_body())
                    }
                    Err(error) => return Err(error),
                },
            };
            let answer = explained(answer, &path, &id);
            let answer = if gzip { gzip::compressed(answer).await } else { answer };
            let waiting = match &app {
                Some(app) => app.unread.waiting(answer, &method, &client),
                None => Ok(answer),
            };
            let mut answer = waiting.unwrap_or_else(|problem| explained(problem.error_response(), &path, &id));
            if close {
                answer.head_mut().set_connection_type(ConnectionType::Close);
            }
            headers(&mut answer, &id, policy(&path), app.as_ref().map(Data::get_ref));
            for (name, count) in allowance.iter().flat_map(Allowance::counts) {
                answer.headers_mut().insert(HeaderName::from_static(name), HeaderValue::from(count));
            }
            if let Some(app) = app {
                // The pages under `/docs/` belong to no feature.
                let other = if known.is_some() { None } else { http.match_pattern() };
                let route = known.map(Known::pattern).or(other.as_deref()).unwrap_or("unmatched");
                let (code, took) = (answer.status(), begun.elapsed());
                app.program.metrics.request(method.as_str(), route, code.as_str(), took);
                let (status, ms) = (code.as_u16(), took.as_millis());
                tracing::info!(target: "access", request_id = %id, trace_id = trace, parent_id = caller, %method, route, status, ms);
            }
            Ok(ServiceResponse::new(http, answer))
        })
    }
}

/// The client's own id if it has a plain form, else a new one.
fn request_id(request: &ServiceRequest) -> String {
    let given = request.headers().get("x-request-id").and_then(|h| h.to_str().ok());
    match given {
        Some(id) if (8..=80).contains(&id.len()) && id.chars().all(|c| c.is_ascii_alphanumeric() || c == '-') => {
            id.to_owned()
        }
        _ => baywright_core::platform::ids::new(),
    }
}

/// The rate limit that counts requests for that path. Health checks have a limit of their own, so that they get an answer
/// even if the users at the same address have used up theirs.
fn rate<'a>(app: &'a App, path: &str) -> &'a Rate {
    let watched = matches!(path, "/healthz" | "/livez" | "/readyz" | "/metrics");
    if watched { &app.program.probes } else { &app.program.rate }
}

/// The key by which requests are counted: the client's address.
fn client(request: &ServiceRequest, app: &App) -> String {
    counted_as(&super::call::address(request.request(), app))
}

/// Gives a refusal its problem body, including refusals that the framework made by itself.
fn explained(answer: HttpResponse, path: &str, id: &str) -> HttpResponse {
    let status = answer.status();
    if !(status.is_client_error() || status.is_server_error()) || has_own_body(&answer) {
        return answer;
    }
    let problem = answer.extensions().get::<Problem>().cloned().unwrap_or_else(|| of_framework(status));
    let body = ProblemBody {
        kind: format!("/problems/{}", problem.code()),
        title: problem.title(),
        status: status.as_u16(),
        detail: cut(problem.detail(), 4000),
        instance: cut(path, 2000),
        request_id: id.to_owned(),
        errors: problem.refused().errors().iter().take(200).map(short).collect(),
        known: problem.refused().known().iter().take(10).map(KnownRecord::from).collect(),
        figures: problem.refused().figures().iter().take(20).map(FinishFigure::from).collect(),
    };
    let text = serde_json::to_string(&body).unwrap_or_default();
    let mut answer = answer.set_body(BoxBody::new(text));
    // A browser gets it as a page.
    answer.extensions_mut().insert(body);
    answer
        .headers_mut()
        .insert(actix_web::http::header::CONTENT_TYPE, HeaderValue::from_static("application/problem+json"));
    answer
}

/// The text, cut to the maximum length in the API document.
fn cut(text: &str, most: usize) -> String {
    if text.chars().nth(most).is_none() {
        return text.to_owned();
    }
    text.chars().take(most - 1).chain(['…']).collect()
}

fn short(fault: &refusal::FieldFault) -> FieldFault {
    FieldFault { pointer: cut(&fault.pointer, 500), code: cut(&fault.code, 80), detail: cut(&fault.detail, 2000) }
}

/// Whether a page was rendered for the refusal, as the customer's pages do.
fn has_own_body(answer: &HttpResponse) -> bool {
    let kind = answer.headers().get(actix_web::http::header::CONTENT_TYPE).and_then(|h| h.to_str().ok());
    kind.is_some_and(|kind| kind.starts_with("text/html") || kind.starts_with("application/problem+json"))
}

/// The problem for a refusal that the framework made by itself.
pub(super) fn of_framework(status: StatusCode) -> Problem {
    match status {
        StatusCode::NOT_FOUND => Problem::new(status, "not-found", "There is nothing at this address."),
        StatusCode::METHOD_NOT_ALLOWED => Problem::new(
            status,
            "method-not-allowed",
            "This address does not support that method. The header Allow lists those it supports.",
        ),
        StatusCode::PAYLOAD_TOO_LARGE => {
            Problem::new(status, "body-too-large", "The body is too large. Send less at a time.")
        }
        StatusCode::UNSUPPORTED_MEDIA_TYPE => Problem::new(
            status,
            "unsupported-media-type",
            "Send the body in the media type that the API document names.",
        ),
        StatusCode::REQUEST_TIMEOUT => {
            Problem::new(status, "too-slow", "The request took too long to arrive. Send it again.")
        }
        _ if status.is_client_error() => Problem::new(status, "malformed-request", "The request could not be read."),
        _ => Problem::unexpected(),
    }
}

/// Sources that the customer's and the desk's pages may load: our own files and nothing else.
pub const PAGE_POLICY: &str = "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self' data: blob:; \
     connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'";

/// Sources that data answers may load: none.
const DATA_POLICY: &str = "default-src 'none'; frame-ancestors 'none'";

/// Sources that the pages under `/docs/` may load: our own files; their script writes styles into elements.
const DOCS_POLICY: &str = "default-src 'none'; style-src 'self' 'unsafe-inline'; script-src 'self'; \
     img-src 'self' data:; connect-src 'self'; form-action 'none'; base-uri 'none'; frame-ancestors 'none'";

fn policy(path: &str) -> &'static str {
    if path.starts_with("/v1/") || path == "/v1" {
        DATA_POLICY
    } else if path.starts_with("/docs/") {
        DOCS_POLICY
    } else {
        PAGE_POLICY
    }
}

fn headers(answer: &mut HttpResponse, id: &str, policy: &'static str, app: Option<&App>) {
    let secure = app.is_some_and(|app| app.program.config.public_url.starts_with("https://"));
    let map = answer.headers_mut();
    let mut put = |name: &'static str, value: HeaderValue| {
        let name = HeaderName::from_static(name);
        if !map.contains_key(&name) {
            map.insert(name, value);
        }
    };
    if let Ok(id) = HeaderValue::from_str(id) {
        put("x-request-id", id);
    }
    put("x-content-type-options", HeaderValue::from_static("nosniff"));
    put("referrer-policy", HeaderValue::from_static("no-referrer"));
    put("content-security-policy", HeaderValue::from_static(policy));
    put("cache-control", HeaderValue::from_static("no-store"));
    put("cross-origin-opener-policy", HeaderValue::from_static("same-origin"));
    put("x-robots-tag", HeaderValue::from_static("noindex"));
    if secure {
        put("strict-transport-security", HeaderValue::from_static("max-age=31536000; includeSubDomains"));
    }
}

#[cfg(test)]
mod tests {
    use super::cut;

    #[test]
    fn a_long_text_is_cut_between_characters() {
        assert_eq!(cut("käse", 4), "käse");
        assert_eq!(cut("käsebrot", 4), "käs…");
        assert_eq!(cut("", 4), "");
    }
}
