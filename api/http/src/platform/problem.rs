//! Problem details (RFC 9457): the one form of the API's refusals.
//!
//! `type` is `/problems/<slug>` and stable; `title` is the same for every occurrence of a type; `detail` says what
//! happened and what to do; `errors` points into the request (JSON pointer, RFC 6901); and `known` names records that
//! already exist. Nothing about the program's inside is revealed: a 500 carries only the request's id, by which the log
//! has the details.
//!
//! A body that does not match the API document gets 400; one that breaks a rule gets 422.

use actix_web::http::StatusCode;
use actix_web::http::header::{HeaderName, HeaderValue, RETRY_AFTER, WWW_AUTHENTICATE};
use actix_web::{HttpResponse, ResponseError};
use baywright_core::platform::clock::UtcTime;
use baywright_core::platform::fail::Fail;
use baywright_core::platform::refusal::{self, Refused, Why};
use baywright_domain::refusal::Fault;
use serde::Serialize;
use utoipa::ToSchema;

/// Fault of one value of the request.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct FieldFault {
    /// JSON pointer into the request body, or `?name` for a query parameter.
    #[schema(max_length = 500, example = "/lines/0/quantity")]
    pub pointer: String,
    /// Stable code of the fault.
    #[schema(max_length = 80, example = "too_long")]
    pub code: String,
    /// Description of the fault and how to correct it.
    #[schema(max_length = 2000, example = "Use at most 200 characters.")]
    pub detail: String,
}

impl From<Fault> for FieldFault {
    fn from(fault: Fault) -> Self {
        Self { pointer: fault.pointer, code: fault.code.to_owned(), detail: fault.detail }
    }
}

/// Existing record that may be the one to be added.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct KnownRecord {
    /// Kind of record: `customer` or `vehicle`.
    #[schema(max_length = 40, example = "customer")]
    pub kind: String,
    /// Id of the record.
    #[schema(value_type = super::wire::Reference)]
    pub id: String,
    /// Name of the record as people read it.
    #[schema(max_length = 300, example = "Aoife Byrne")]
    pub title: String,
    /// Properties that both records have in common: `PHONE`, `MAIL` and `NAME` of a customer, `VIN` and `REGISTRATION`
    /// of a vehicle.
    #[schema(value_type = Vec<super::wire::Line<40>>, max_items = 10, example = json!(["PHONE"]))]
    pub in_common: Vec<String>,
}

/// Finish that a refused place would have with one cause of the refusal taken away.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct FinishFigure {
    /// Word for the cause that is taken away, as in the figures of `availability`.
    #[schema(max_length = 40, example = "BAYS_EMPTY")]
    pub kind: String,
    /// Time when the work would be done, RFC 3339 in UTC; null if it would not be done even so.
    pub finish: Option<super::wire::Instant>,
    /// Figure as a sentence, with its time in the shop's time zone.
    #[schema(
        max_length = 500,
        example = "With no other car in any bay the work would be done Tue 3 March 2026, 09:30."
    )]
    pub text: String,
}

impl From<&refusal::FinishFigure> for FinishFigure {
    fn from(figure: &refusal::FinishFigure) -> Self {
        let finish = figure.finish.map(|at| super::wire::Instant(UtcTime::from_minute(at)));
        Self { kind: figure.kind.to_owned(), finish, text: figure.text.clone() }
    }
}

/// Problem details (RFC 9457): the body of an error answer.
#[derive(Debug, Clone, Serialize, ToSchema)]
#[schema(as = Problem)]
pub struct ProblemBody {
    /// Type of the problem: a stable relative URL that `/problems` explains.
    #[serde(rename = "type")]
    #[schema(max_length = 200, example = "/problems/not-found")]
    pub kind: String,
    /// Short title of the problem, the same each time.
    #[schema(max_length = 200, example = "Not found")]
    pub title: String,
    /// HTTP status code of the answer.
    #[schema(minimum = 400, maximum = 599, example = 404)]
    pub status: u16,
    /// Description of what happened this time and what to do.
    #[schema(max_length = 4000, example = "There is no such customer.")]
    pub detail: String,
    /// Path of the request.
    #[schema(max_length = 2000, example = "/v1/customers/0198")]
    pub instance: String,
    /// Id of the request, with which the log can be searched for details.
    #[schema(max_length = 100, example = "0198c0de-0000-7000-8000-000000000001")]
    pub request_id: String,
    /// Faulty values of the request; empty if unknown.
    #[schema(max_items = 200)]
    pub errors: Vec<FieldFault>,
    /// Existing records, if the problem is that one may be added twice; else empty.
    #[schema(max_items = 10)]
    pub known: Vec<KnownRecord>,
    /// Finishes with single causes taken away, if the problem is that a place for a booking can't be had; else empty.
    #[schema(max_items = 20)]
    pub figures: Vec<FinishFigure>,
}

impl From<&refusal::FieldFault> for FieldFault {
    fn from(fault: &refusal::FieldFault) -> Self {
        Self { pointer: fault.pointer.clone(), code: fault.code.clone(), detail: fault.detail.clone() }
    }
}

impl From<&refusal::KnownRecord> for KnownRecord {
    fn from(known: &refusal::KnownRecord) -> Self {
        let in_common = known.in_common.iter().map(|&property| property.to_owned()).collect();
        Self { kind: known.kind.to_owned(), id: known.id.clone(), title: known.title.clone(), in_common }
    }
}

/// A refusal as an HTTP answer, with its status code and headers.
#[derive(Debug, Clone)]
pub struct Problem {
    status: StatusCode,
    refused: Refused,
    // A slice, since a problem is passed by value and few have any faults.
    headers: Box<[(HeaderName, HeaderValue)]>,
}

impl Problem {
    /// A problem of that status and slug.
    pub fn new(status: StatusCode, code: &'static str, detail: impl Into<String>) -> Self {
        Self { status, refused: Refused::new(Why::Malformed, code, detail), headers: Box::default() }
    }

    /// 500: a defect of the program; the log has the details.
    pub fn unexpected() -> Self {
        Self::new(
            StatusCode::INTERNAL_SERVER_ERROR,
            "unexpected",
            "Something went wrong here, and nothing was changed. Try again. If it happens again, give support the \
             request id.",
        )
    }

    /// With the faulty values named.
    #[must_use]
    pub fn with_faults(self, errors: Vec<refusal::FieldFault>) -> Self {
        Self { refused: self.refused.with_faults(errors), ..self }
    }

    /// With a header on the answer.
    #[must_use]
    pub fn with_header(mut self, name: HeaderName, value: HeaderValue) -> Self {
        self.headers = self.headers.into_iter().chain([(name, value)]).collect();
        self
    }

    /// The answer's status.
    pub fn status(&self) -> StatusCode {
        self.status
    }

    /// The refusal, without its status.
    pub fn refused(&self) -> &Refused {
        &self.refused
    }

    /// The slug that ends its `type`.
    pub fn code(&self) -> &'static str {
        self.refused.code()
    }

    /// Description of what happened and what to do.
    pub fn detail(&self) -> &str {
        self.refused.detail()
    }

    /// The slug in words: `not-signed-in` becomes `Not signed in`.
    pub fn title(&self) -> String {
        titled(self.code())
    }
}

/// The status code of a refusal, and the header that goes with it.
fn status(why: Why) -> (StatusCode, Option<(HeaderName, HeaderValue)>) {
    let plain = |status| (status, None);
    match why {
        Why::Malformed => plain(StatusCode::BAD_REQUEST),
        Why::NotSignedIn => (StatusCode::UNAUTHORIZED, Some((WWW_AUTHENTICATE, HeaderValue::from_static("Bearer")))),
        Why::NotAllowed => plain(StatusCode::FORBIDDEN),
        Why::NotFound => plain(StatusCode::NOT_FOUND),
        Why::Conflict => plain(StatusCode::CONFLICT),
        Why::Gone => plain(StatusCode::GONE),
        Why::ChangedMeanwhile => plain(StatusCode::PRECONDITION_FAILED),
        Why::Invalid => plain(StatusCode::UNPROCESSABLE_ENTITY),
        Why::TooOften { seconds } => (StatusCode::TOO_MANY_REQUESTS, Some((RETRY_AFTER, HeaderValue::from(seconds)))),
        Why::Unavailable => (StatusCode::SERVICE_UNAVAILABLE, Some((RETRY_AFTER, HeaderValue::from_static("5")))),
    }
}

impl From<Refused> for Problem {
    fn from(refused: Refused) -> Self {
        let (status, header) = status(refused.why());
        Self { status, refused, headers: header.into_iter().collect() }
    }
}

/// A slug in words.
pub fn titled(slug: &str) -> String {
    let words = slug.replace('-', " ");
    words[..1].to_uppercase() + &words[1..]
}

impl std::fmt::Display for Problem {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} {}", self.status.as_u16(), self.refused)
    }
}

impl std::error::Error for Problem {}

impl ResponseError for Problem {
    fn status_code(&self) -> StatusCode {
        self.status
    }

    /// [`super::guard`] fills in the body, because it knows the request; it finds the problem in the answer's extensions.
    fn error_response(&self) -> HttpResponse {
        let mut answer = HttpResponse::build(self.status);
        for (name, value) in &self.headers {
            answer.append_header((name.clone(), value.clone()));
        }
        let mut answer = answer.finish();
        answer.extensions_mut().insert(self.clone());
        answer
    }
}

/// 503, with the time after which to try again.
fn unavailable(detail: &str) -> Problem {
    Refused::unavailable(detail).into()
}

impl From<Fail> for Problem {
    fn from(fail: Fail) -> Self {
        match fail {
            Fail::Refused(refused) => Self::from(*refused),
            Fail::Db(error) if error.is_retry() => {
                tracing::warn!(%error, "gave up after retries");
                unavailable("Many people are changing the same records. Try again in a moment.")
            }
            Fail::Db(baywright_core::platform::fail::DbError::Busy) => unavailable(
                "Another change holds these records at the moment. Nothing was changed; try again in a few seconds.",
            ),
            Fail::Db(error @ baywright_core::platform::fail::DbError::Newer(_)) => {
                tracing::error!(%error, "this program is too old to write; start the newer one in its place");
                unavailable(
                    "A newer version of the program has changed the database, so this one saves nothing any more. \
                     Nothing was changed. Install the newer version here and start it; records can still be read.",
                )
            }
            Fail::Db(error) if error.is_unwritable() => {
                tracing::error!(%error, "the database can't be written");
                unavailable(
                    "Nothing can be saved: the disk is full, or the program may not write to it. Free some space on \
                     the disk. Records can still be read.",
                )
            }
            Fail::Db(error) if error.is_cut_off() => {
                tracing::warn!(%error, "the database ended a request");
                unavailable(
                    "The connection to the database broke, so it is not known whether this was saved. Send it again \
                     with the same Idempotency-Key, or read the record first.",
                )
            }
            Fail::Db(error) if error.is_away() => {
                tracing::warn!(%error, "database not reachable");
                unavailable("The database can't be reached just now. Try again in a moment.")
            }
            Fail::Db(error) => {
                tracing::error!(%error, "database error");
                Self::unexpected()
            }
            Fail::Unexpected(what) => {
                tracing::error!(%what, "unexpected");
                Self::unexpected()
            }
        }
    }
}
