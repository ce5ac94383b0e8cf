//! Which methods each path takes, and which of them take a query or a body.

use actix_web::HttpResponse;
use actix_web::dev::ServiceRequest;
use actix_web::http::header::{ALLOW, CONTENT_LENGTH, HeaderValue};
use actix_web::http::{Method, StatusCode};
use actix_web::web::Data;
use utoipa::openapi::RefOr;
use utoipa::openapi::path::{Operation, Parameter, ParameterIn, Paths};

use super::guard::of_framework;
use super::problem::Problem;
use super::warning::CONFIRM;

/// The methods that each path of the API takes, for 405 and `Allow`; and which of them take a query or a body.
#[derive(Debug, Clone, Default)]
pub struct Methods(Vec<(Vec<String>, Vec<Taken>)>);

/// A method that a path takes.
#[derive(Debug, Clone)]
struct Taken {
    method: Method,
    query: bool,
    /// Whether it takes the query parameter `confirm`, which [`super::warning`] reads.
    confirms: bool,
    body: bool,
}

/// The method, if the path has an operation for it.
fn taken(operation: Option<&Operation>, method: Method) -> Option<Taken> {
    let of_query = |parameter: &RefOr<Parameter>| match parameter {
        RefOr::T(parameter) => parameter.parameter_in == ParameterIn::Query,
        RefOr::Ref(_) => false,
    };
    let operation = operation?;
    let confirms = operation.extensions.as_ref().is_some_and(|all| all.contains_key("x-confirm"));
    let query = operation.parameters.iter().flatten().any(of_query);
    Some(Taken { method, query, confirms, body: operation.request_body.is_some() })
}

impl FromIterator<Paths> for Methods {
    /// Reads them from the paths of API documents.
    fn from_iter<T: IntoIterator<Item = Paths>>(all: T) -> Self {
        let list = all.into_iter().flat_map(|paths| paths.paths).map(|(path, item)| {
            let methods = [
                taken(item.get.as_ref(), Method::GET),
                taken(item.put.as_ref(), Method::PUT),
                taken(item.post.as_ref(), Method::POST),
                taken(item.delete.as_ref(), Method::DELETE),
                taken(item.patch.as_ref(), Method::PATCH),
            ];
            (path.split('/').map(str::to_owned).collect(), methods.into_iter().flatten().collect())
        });
        Self(list.collect())
    }
}

impl Methods {
    /// The methods of the pattern that fits; none hides behind another, as a test of the API document sees to.
    fn at(&self, path: &str) -> Option<&[Taken]> {
        let parts: Vec<&str> = path.split('/').collect();
        let fits = |pattern: &[String]| {
            pattern.len() == parts.len()
                && pattern.iter().zip(&parts).all(|(p, part)| p == part || (p.starts_with('{') && !part.is_empty()))
        };
        self.0.iter().find(|(pattern, _)| fits(pattern)).map(|(_, methods)| methods.as_slice())
    }

    /// The "no" to a query or a body where the operation takes none: what it was to say would be passed over.
    fn stray(&self, request: &ServiceRequest) -> Option<Problem> {
        let query = !request.query_string().is_empty();
        // Many clients send `{}` or `null` with every POST.
        let body = length(request) > "null".len();
        // Whatever asks for health or metrics may say more than is understood.
        if !(query || body) || !request.path().starts_with("/v1/") {
            return None;
        }
        let operation = self.at(request.path())?.iter().find(|taken| taken.method == *request.method())?;
        let given = |wanted: bool| {
            url::form_urlencoded::parse(request.query_string().as_bytes()).any(|(name, _)| (name == CONFIRM) == wanted)
        };
        if given(true) && !operation.confirms {
            let detail = "This operation asks for no confirmation. Leave out the query parameter `confirm`.";
            return Some(Problem::new(StatusCode::BAD_REQUEST, "invalid-query", detail));
        }
        if query && !operation.query && (given(false) || !operation.confirms) {
            let detail = "This operation takes no query. Leave out the question mark and what follows it.";
            return Some(Problem::new(StatusCode::BAD_REQUEST, "invalid-query", detail));
        }
        (body && !operation.body).then(|| Problem::malformed("This operation takes no body. Send none."))
    }

    /// The answer where no route took the request.
    pub fn unmatched(&self, method: &Method, path: &str) -> HttpResponse {
        let Some(methods) = self.at(path) else {
            return actix_web::ResponseError::error_response(&of_framework(StatusCode::NOT_FOUND));
        };
        let mut words: Vec<&str> = methods.iter().map(|taken| taken.method.as_str()).collect();
        words.push("OPTIONS");
        let allow = words.join(", ");
        if method == Method::OPTIONS {
            return HttpResponse::NoContent().insert_header(("allow", allow)).finish();
        }
        let mut answer = actix_web::ResponseError::error_response(&of_framework(StatusCode::METHOD_NOT_ALLOWED));
        if let Ok(value) = HeaderValue::from_str(&allow) {
            answer.headers_mut().insert(ALLOW, value);
        }
        answer
    }
}

/// The "no" to what the operation doesn't take.
pub(super) fn stray(request: &ServiceRequest) -> Option<Problem> {
    request.app_data::<Data<Methods>>()?.stray(request)
}

/// How long the body says it is; 0 where it doesn't say.
fn length(request: &ServiceRequest) -> usize {
    let said = request.headers().get(CONTENT_LENGTH).and_then(|length| length.to_str().ok());
    said.and_then(|length| length.parse().ok()).unwrap_or_default()
}
