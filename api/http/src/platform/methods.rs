//! The methods of each path, and which of them take a query or a body.

use actix_web::HttpResponse;
use actix_web::dev::ServiceRequest;
use actix_web::http::header::{ALLOW, CONTENT_LENGTH, HeaderValue, LOCATION};
use actix_web::http::{Method, StatusCode};
use actix_web::web::Data;
use baywright_core::platform::refusal::Refused;
use baywright_core::platform::warning::CONFIRM;
use utoipa::openapi::RefOr;
use utoipa::openapi::path::{Operation, Parameter, ParameterIn, Paths};

use super::body::bad_parameter;
use super::guard::of_framework;
use super::openapi::is_page;
use super::problem::Problem;
use super::warned::MOST_CONFIRMED;

/// The methods that each path takes, of the API and of pages, for 405 and `Allow`; and which of them take a query or a body.
#[derive(Debug, Clone, Default)]
pub struct Methods(Vec<Known>);

/// A path and what it takes.
#[derive(Debug, Clone)]
struct Known {
    /// The segments of the pattern.
    parts: Vec<String>,
    methods: Vec<Taken>,
    /// Whether it is a page for people, which the API document leaves out.
    page: bool,
}

/// A method that a path takes.
#[derive(Debug, Clone)]
struct Taken {
    method: Method,
    query: bool,
    /// Whether the operation takes the query parameter `confirm`, which [`baywright_core::platform::warning`] reads.
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
    /// Reads them from the paths that features describe.
    fn from_iter<T: IntoIterator<Item = Paths>>(all: T) -> Self {
        let list = all.into_iter().flat_map(|paths| paths.paths).map(|(path, item)| {
            let methods = [
                taken(item.get.as_ref(), Method::GET),
                taken(item.put.as_ref(), Method::PUT),
                taken(item.post.as_ref(), Method::POST),
                taken(item.delete.as_ref(), Method::DELETE),
                taken(item.patch.as_ref(), Method::PATCH),
            ];
            let parts = path.split('/').map(str::to_owned).collect();
            Known { parts, methods: methods.into_iter().flatten().collect(), page: is_page(&item) }
        });
        Self(list.collect())
    }
}

impl Methods {
    /// The path whose pattern matches. Only one does: a test of the API document ensures that.
    fn known(&self, path: &str) -> Option<&Known> {
        let parts: Vec<&str> = path.split('/').collect();
        let fits = |known: &&Known| {
            known.parts.len() == parts.len()
                && known.parts.iter().zip(&parts).all(|(pattern, part)| fits(pattern, part))
        };
        self.0.iter().find(fits)
    }

    /// The methods that a path takes.
    fn at(&self, path: &str) -> Option<&[Taken]> {
        self.known(path).map(|known| known.methods.as_slice())
    }

    /// Whether the API document describes the answers of that path.
    pub fn describes(&self, path: &str) -> bool {
        self.known(path).is_some_and(|known| !known.page)
    }

    /// The page whose address was typed with a trailing slash.
    fn without_slash<'a>(&self, path: &'a str) -> Option<&'a str> {
        let path = path.strip_suffix('/')?;
        let known = self.known(path)?;
        (known.page && known.methods.iter().any(|taken| taken.method == Method::GET)).then_some(path)
    }

    /// Refuses a query or a body if the operation takes none, because its content would be ignored.
    fn stray(&self, request: &ServiceRequest) -> Option<Problem> {
        let query = !request.query_string().is_empty();
        // Many clients send `{}` or `null` with every POST.
        let body = length(request) > "null".len();
        // Programs that ask for health or metrics may send parameters that are not known.
        if !(query || body) || !request.path().starts_with("/v1/") {
            return None;
        }
        let operation = self.at(request.path())?.iter().find(|taken| taken.method == *request.method())?;
        let given = || url::form_urlencoded::parse(request.query_string().as_bytes());
        let confirmed: Vec<_> = given().filter(|(name, _)| name == CONFIRM).map(|(_, list)| list).collect();
        if !confirmed.is_empty() && !operation.confirms {
            let detail = "This operation asks for no confirmation. Leave out the query parameter `confirm`.";
            return Some(bad_parameter(CONFIRM, detail));
        }
        if confirmed.len() > 1 {
            let detail =
                "The query parameter `confirm` is given twice. Write all that is confirmed into one, with commas.";
            return Some(bad_parameter(CONFIRM, detail));
        }
        if confirmed.iter().any(|list| list.chars().nth(MOST_CONFIRMED).is_some()) {
            let detail = format!("The query parameter `confirm` takes {MOST_CONFIRMED} characters at most.");
            return Some(bad_parameter(CONFIRM, detail));
        }
        let others = given().any(|(name, _)| name != CONFIRM);
        if query && !operation.query && (others || !operation.confirms) {
            let detail = "This operation takes no query. Leave out the question mark and what follows it.";
            return Some(Problem::new(StatusCode::BAD_REQUEST, "invalid-query", detail));
        }
        (body && !operation.body).then(|| Problem::from(Refused::malformed("This operation takes no body. Send none.")))
    }

    /// The answer if no route took the request. HEAD comes here only if GET would, because the guard asks for it as GET.
    pub fn unmatched(&self, method: &Method, path: &str, query: &str) -> HttpResponse {
        if let (&Method::GET, Some(page)) = (method, self.without_slash(path)) {
            let address = if query.is_empty() { page.to_owned() } else { format!("{page}?{query}") };
            return HttpResponse::PermanentRedirect().insert_header((LOCATION, address)).finish();
        }
        let Some(methods) = self.at(path) else {
            return actix_web::ResponseError::error_response(&of_framework(StatusCode::NOT_FOUND));
        };
        let mut words: Vec<&str> = methods.iter().map(|taken| taken.method.as_str()).collect();
        if words.contains(&"GET") {
            words.push("HEAD");
        }
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

/// Whether a segment of a path matches a segment of a pattern: `{token}`, `{token}.ics`, or the literal word.
fn fits(pattern: &str, part: &str) -> bool {
    match pattern.strip_prefix('{').and_then(|rest| rest.split_once('}')) {
        Some((_, ending)) => part.len() > ending.len() && part.ends_with(ending),
        None => pattern == part,
    }
}

/// The refusal of a query or a body that the operation doesn't take.
pub(super) fn stray(request: &ServiceRequest) -> Option<Problem> {
    request.app_data::<Data<Methods>>()?.stray(request)
}

/// Declared length of the body in bytes; 0 if it is not declared.
fn length(request: &ServiceRequest) -> usize {
    let said = request.headers().get(CONTENT_LENGTH).and_then(|length| length.to_str().ok());
    said.and_then(|length| length.parse().ok()).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::fits;

    #[test]
    fn a_part_fits_its_pattern_with_its_ending() {
        assert!(fits("{token}", "abc") && !fits("{token}", ""));
        assert!(fits("{token}.ics", "abc.ics") && !fits("{token}.ics", "abc") && !fits("{token}.ics", ".ics"));
        assert!(fits("quotes", "quotes") && !fits("quotes", "quote"));
    }
}
