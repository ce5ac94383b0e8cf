//! Reads the parts of a request: JSON bodies, query parameters, ids in paths.
//!
//! Everything has a limit and everything unknown is refused; the answer points to the faulty value.

mod names;
mod objects;

use std::future::Future;
use std::pin::Pin;
use std::time::Duration;

use actix_web::dev::Payload;
use actix_web::http::StatusCode;
use actix_web::http::header::CONTENT_TYPE;
use actix_web::web::Bytes;
use actix_web::{FromRequest, HttpRequest};
use baywright_core::platform::refusal::{FieldFault, Refused};
use baywright_core::platform::warning::CONFIRM;
use serde::de::{DeserializeOwned, IgnoredAny};
use serde_path_to_error::{Path as SerdePath, Segment};

use self::objects::Objects;
use super::arriving::Limits;
use super::idempotency::Fingerprint;
use super::problem::Problem;

/// The largest JSON body, in bytes.
pub const BODY_BYTES: usize = 256 * 1024;

/// Limits of a body that is no file.
const LIMITS: Limits = Limits { what: "body", bytes: BODY_BYTES, patience: Duration::from_secs(10) };

/// A body of any media type, whole and as it came.
struct Raw(Bytes);

impl FromRequest for Raw {
    type Error = Problem;
    type Future = Pin<Box<dyn Future<Output = Result<Self, Problem>>>>;

    fn from_request(request: &HttpRequest, payload: &mut Payload) -> Self::Future {
        let announced = LIMITS.announced(request.headers());
        let payload = payload.take();
        Box::pin(async move {
            announced?;
            LIMITS.read(payload).await.map(Self)
        })
    }
}

/// The body of a posted form, whole and as it came.
#[derive(Debug)]
pub struct Form(pub Bytes);

impl FromRequest for Form {
    type Error = Problem;
    type Future = Pin<Box<dyn Future<Output = Result<Self, Problem>>>>;

    fn from_request(request: &HttpRequest, payload: &mut Payload) -> Self::Future {
        // Another site's page can make a browser send any text, but the browser then declares it as text.
        let otherwise = "Send the form with Content-Type: application/x-www-form-urlencoded, as the page does.";
        let form = of_type(request, payload, "application/x-www-form-urlencoded", otherwise);
        Box::pin(async move { form.await.map(Self) })
    }
}

/// Whether the body is declared to be of that media type, whatever its parameters are.
fn is_of_type(request: &HttpRequest, media_type: &str) -> bool {
    let said = request.headers().get(CONTENT_TYPE).and_then(|header| header.to_str().ok()).unwrap_or_default();
    said.split(';').next().unwrap_or_default().trim().eq_ignore_ascii_case(media_type)
}

/// A JSON body, read into its type.
#[derive(Debug)]
pub struct Body<T> {
    /// The value.
    pub value: T,
}

impl<T: DeserializeOwned + 'static> FromRequest for Body<T> {
    type Error = Problem;
    type Future = Pin<Box<dyn Future<Output = Result<Self, Problem>>>>;

    fn from_request(request: &HttpRequest, payload: &mut Payload) -> Self::Future {
        let otherwise = "Send the body as JSON, with Content-Type: application/json.";
        let json = of_type(request, payload, "application/json", otherwise);
        let request = request.clone();
        Box::pin(async move {
            let bytes = json.await?;
            let value = parse(&bytes)?;
            Fingerprint::leave(&request, request.match_info().as_str(), &bytes);
            Ok(Self { value })
        })
    }
}

/// The text of a body that is declared to be of that media type; `otherwise` is the advice of the refusal if it is not. It is
/// apart from [`Body`], as the refusals below are from [`parse`]: what does not depend on the type that is read is compiled
/// once and not once per type.
fn of_type(
    request: &HttpRequest,
    payload: &mut Payload,
    media_type: &str,
    otherwise: &'static str,
) -> impl Future<Output = Result<Bytes, Problem>> + use<> {
    let fits = is_of_type(request, media_type);
    let raw = Raw::from_request(request, payload);
    async move {
        if !fits {
            return Err(Problem::new(StatusCode::UNSUPPORTED_MEDIA_TYPE, "unsupported-media-type", otherwise));
        }
        raw.await.map(|Raw(bytes)| bytes)
    }
}

/// Reads JSON into its type; a fault is answered with its JSON pointer.
pub fn parse<T: DeserializeOwned>(bytes: &[u8]) -> Result<T, Problem> {
    let mut reader = serde_json::Deserializer::from_slice(bytes);
    let value = serde_path_to_error::deserialize(Objects::only(&mut reader)).map_err(|error| not_read(error, bytes))?;
    reader.end().map_err(not_at_end)?;
    Ok(value)
}

/// The refusal of a body that is not JSON or not of its type.
fn not_read(error: serde_path_to_error::Error<serde_json::Error>, bytes: &[u8]) -> Problem {
    let pointer = pointer(error.path());
    let inner = error.into_inner();
    let detail = if inner.is_data() {
        without_position(&inner.to_string())
    } else if inner.is_syntax() && serde_json::from_slice::<IgnoredAny>(bytes).is_ok() {
        // serde's message for a value that is not an object with exactly one field although a choice of forms
        // requires it.
        "Send an object with exactly one of the fields that the API document lists here.".to_owned()
    } else {
        return Refused::malformed(format!("The body is not JSON: {inner}.")).into();
    };
    let fault = FieldFault { pointer, code: "invalid".to_owned(), detail: detail.clone() };
    Problem::new(StatusCode::BAD_REQUEST, "invalid-body", detail).with_faults(vec![fault])
}

fn not_at_end(_: serde_json::Error) -> Problem {
    Problem::from(Refused::malformed("There is more text after the end of the JSON value. Send one JSON value."))
}

/// Refuses a list in the body that is longer than allowed.
pub fn at_most(pointer: &str, count: usize, most: usize) -> Result<(), Refused> {
    if count > most {
        return Err(Refused::field(pointer, "too_many", format!("Send at most {most}.")));
    }
    Ok(())
}

/// A path of serde's as a JSON pointer (RFC 6901).
fn pointer(path: &SerdePath) -> String {
    path.iter().fold(String::new(), |mut pointer, segment| {
        match segment {
            Segment::Seq { index } => {
                pointer.push('/');
                pointer.push_str(&index.to_string());
            }
            Segment::Map { key } => {
                pointer.push('/');
                pointer.push_str(&key.replace('~', "~0").replace('/', "~1"));
            }
            Segment::Enum { .. } | Segment::Unknown => {}
        }
        pointer
    })
}

/// serde_json ends its messages with ` at line 1 column 20`, which the pointer replaces.
fn without_position(text: &str) -> String {
    let end = text.rfind(" at line ").unwrap_or(text.len());
    format!("{}.", text[..end].trim_end_matches('.'))
}

/// Query parameters, read into their type; unknown and repeated ones are refused.
#[derive(Debug)]
pub struct Query<T>(pub T);

impl<T: DeserializeOwned + 'static> FromRequest for Query<T> {
    type Error = Problem;
    type Future = std::future::Ready<Result<Self, Problem>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        std::future::ready(parse_query(&unconfirmed(request)).map(Self))
    }
}

/// The query string without the questions that it confirms.
fn unconfirmed(request: &HttpRequest) -> String {
    // `methods` has checked whether the operation supports them; `warning` reads them.
    let is_other = |part: &&str| part.split('=').next() != Some(CONFIRM);
    request.query_string().split('&').filter(is_other).collect::<Vec<_>>().join("&")
}

/// Option to only check a request (AIP-163).
#[derive(Debug, serde::Deserialize, utoipa::IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct Rehearsal {
    /// `true` checks everything and answers 200 with the record as it would be created, but stores nothing: ids and
    /// numbers in the answer belong to no record, and the key may be used again.
    #[param(nullable = false)]
    validate_only: Option<bool>,
}

impl Rehearsal {
    /// Whether nothing is to be stored.
    pub fn is_asked(&self) -> bool {
        self.validate_only == Some(true)
    }
}

/// Reads a query string into its type.
///
/// # Errors
/// 400 that points at the parameter.
pub fn parse_query<T: DeserializeOwned>(query: &str) -> Result<T, Problem> {
    parse_query_beside(query, &[])
}

/// The same, for a caller that has already taken out parameters of other names; a refusal names those as well.
///
/// # Errors
/// 400 that points at the parameter.
pub fn parse_query_beside<T: DeserializeOwned>(query: &str, others: &[&str]) -> Result<T, Problem> {
    none_twice(query)?;
    let reader = serde_urlencoded::Deserializer::new(url::form_urlencoded::parse(query.as_bytes()));
    serde_path_to_error::deserialize(reader).map_err(|error| not_taken(error, names::of::<T>(), others))
}

/// Refuses a query string that is not form-encoded, or has a parameter twice.
fn none_twice(query: &str) -> Result<(), Problem> {
    let pairs: Vec<(String, String)> = serde_urlencoded::from_str(query)
        .map_err(|_| Problem::from(Refused::malformed("The query string is not form-encoded UTF-8.")))?;
    for (at, (name, _)) in pairs.iter().enumerate() {
        if pairs[..at].iter().any(|(other, _)| other == name) {
            return Err(Problem::from(Refused::malformed(format!("The query parameter {name:?} is given twice."))));
        }
    }
    Ok(())
}

/// The refusal of a parameter that is not one of the `known`, or whose value is not of its type.
fn not_taken(
    error: serde_path_to_error::Error<serde::de::value::Error>,
    known: Option<&'static [&'static str]>,
    others: &[&str],
) -> Problem {
    let name = error.path().to_string();
    let name = name.trim_matches('.');
    let detail = match known {
        Some(known) if !name.is_empty() && !known.contains(&name) => {
            let taken: Vec<String> = known.iter().chain(others).map(|name| format!("`{name}`")).collect();
            format!("There is no query parameter `{name}` here. Known parameters: {}.", taken.join(", "))
        }
        _ => format!("{}.", error.into_inner().to_string().trim_end_matches('.')),
    };
    bad_parameter(name, detail)
}

/// The refusal of a query parameter's value, or of a parameter that isn't supported.
pub fn bad_parameter(name: &str, detail: impl Into<String>) -> Problem {
    let detail = detail.into();
    let fault = FieldFault { pointer: format!("?{name}"), code: "invalid".to_owned(), detail: detail.clone() };
    Problem::new(StatusCode::BAD_REQUEST, "invalid-query", detail).with_faults(vec![fault])
}

#[cfg(test)]
mod tests {
    use actix_web::test::TestRequest;
    use futures_util::StreamExt;
    use futures_util::stream::{pending, repeat_with};

    use super::*;

    /// The clock of these tests moves by itself when all tasks wait.
    #[tokio::test(start_paused = true)]
    async fn a_body_that_comes_byte_by_byte_is_not_waited_for() {
        let slow = repeat_with(|| Ok(Bytes::from_static(b" "))).then(|byte| async {
            tokio::time::sleep(Duration::from_secs(6)).await;
            byte
        });
        let never = pending().boxed_local();
        for stream in [slow.boxed_local(), never] {
            let request = TestRequest::post().insert_header((CONTENT_TYPE, "application/json")).to_http_request();
            let mut payload = Payload::Stream { payload: stream };
            let began = tokio::time::Instant::now();
            let refused = Body::<serde_json::Value>::from_request(&request, &mut payload).await.unwrap_err();
            assert_eq!(refused.status(), StatusCode::REQUEST_TIMEOUT);
            assert_eq!(began.elapsed(), LIMITS.patience);
        }
    }
}
