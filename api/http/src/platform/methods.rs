//! The methods of each path, and which of them take a query or a body; also which feature has the path, for the router.
//!
//! The framework asks the patterns of all paths one after the other, each with a regular expression. The tree of paths here
//! finds the one that matches part by part. So the routes of each feature are in a scope that is open to its own paths only
//! ([`is_of`]), and a request is compared with the few patterns of one feature.

use std::collections::BTreeMap;

use actix_web::HttpResponse;
use actix_web::dev::ServiceRequest;
use actix_web::guard::GuardContext;
use actix_web::http::header::{ALLOW, CONTENT_LENGTH, HeaderValue, LOCATION};
use actix_web::http::{Method, StatusCode};
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
pub struct Methods {
    paths: Vec<Known>,
    tree: Branch,
}

/// A path and what it takes.
#[derive(Debug, Clone)]
pub(super) struct Known {
    pattern: String,
    /// The feature that has it, by its place among all features.
    feature: usize,
    methods: Vec<Taken>,
    /// Whether it is a page for people, which the API document leaves out.
    page: bool,
}

/// The feature that has the request's path, by its place among all features.
#[derive(Debug, Clone, Copy)]
pub(super) struct Feature(usize);

/// Paths that begin with the same parts.
#[derive(Debug, Clone, Default)]
struct Branch {
    /// The path that ends here, by its place in the list of paths.
    ends: Option<usize>,
    /// Paths that go on with a literal word.
    words: BTreeMap<String, Branch>,
    /// Paths that go on with a part that can be anything before an ending, such as `{token}.ics`; most endings are empty.
    open: Vec<(String, Branch)>,
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
    /// Reads them from the paths that features describe, one item for each feature.
    fn from_iter<T: IntoIterator<Item = Paths>>(all: T) -> Self {
        let mut found = Self::default();
        for (feature, paths) in all.into_iter().enumerate() {
            for (pattern, item) in paths.paths {
                let methods = [
                    taken(item.get.as_ref(), Method::GET),
                    taken(item.put.as_ref(), Method::PUT),
                    taken(item.post.as_ref(), Method::POST),
                    taken(item.delete.as_ref(), Method::DELETE),
                    taken(item.patch.as_ref(), Method::PATCH),
                ];
                found.tree.add(&pattern, found.paths.len());
                let methods = methods.into_iter().flatten().collect();
                found.paths.push(Known { pattern, feature, methods, page: is_page(&item) });
            }
        }
        found
    }
}

impl Branch {
    /// Adds a path with that pattern.
    fn add(&mut self, pattern: &str, place: usize) {
        let mut branch = self;
        for part in pattern.split('/') {
            branch = match part.strip_prefix('{').and_then(|rest| rest.split_once('}')) {
                Some((_, ending)) => branch.open_to(ending),
                None => branch.words.entry(part.to_owned()).or_default(),
            };
        }
        branch.ends = Some(place);
    }

    /// The branch of paths that go on with a part of that ending.
    fn open_to(&mut self, ending: &str) -> &mut Self {
        let known = self.open.iter().position(|(known, _)| known == ending);
        let place = known.unwrap_or_else(|| {
            self.open.push((ending.to_owned(), Self::default()));
            self.open.len() - 1
        });
        &mut self.open[place].1
    }

    /// The path that matches the parts after this branch; no parts if `rest` is `None`.
    fn find(&self, rest: Option<&str>) -> Option<usize> {
        let Some(rest) = rest else { return self.ends };
        let (part, rest) = rest.split_once('/').map_or((rest, None), |(part, rest)| (part, Some(rest)));
        let named = self.words.get(part).and_then(|branch| branch.find(rest));
        named.or_else(|| {
            let fits = |ending: &str| part.len() > ending.len() && part.ends_with(ending);
            self.open.iter().filter(|(ending, _)| fits(ending)).find_map(|(_, branch)| branch.find(rest))
        })
    }
}

impl Known {
    /// The path as the API document writes it, such as `/v1/quotes/{id}`.
    pub(super) fn pattern(&self) -> &str {
        &self.pattern
    }

    /// The feature that has it.
    pub(super) fn feature(&self) -> Feature {
        Feature(self.feature)
    }

    /// Refuses a query or a body if the operation takes none, because its content would be ignored.
    pub(super) fn stray(&self, request: &ServiceRequest) -> Option<Problem> {
        let query = !request.query_string().is_empty();
        // Many clients send `{}` or `null` with every POST.
        let body = length(request) > "null".len();
        // Programs that ask for health or metrics may send parameters that are not known.
        if !(query || body) || !request.match_info().as_str().starts_with("/v1/") {
            return None;
        }
        let operation = self.methods.iter().find(|taken| taken.method == *request.method())?;
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
}

/// Whether the request's path belongs to that feature, by its place among all features. The middleware that is round all
/// routes has looked that up.
pub fn is_of(feature: usize, request: &GuardContext<'_>) -> bool {
    request.req_data().get::<Feature>().is_some_and(|found| found.0 == feature)
}

impl Methods {
    /// The path whose pattern matches. Only one does: a test of the API document ensures that.
    pub(super) fn known(&self, path: &str) -> Option<&Known> {
        self.tree.find(Some(path)).and_then(|place| self.paths.get(place))
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

/// Declared length of the body in bytes; 0 if it is not declared.
fn length(request: &ServiceRequest) -> usize {
    let said = request.headers().get(CONTENT_LENGTH).and_then(|length| length.to_str().ok());
    said.and_then(|length| length.parse().ok()).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::Branch;

    const PATTERNS: [&str; 7] = [
        "/",
        "/v1/quotes",
        "/v1/quotes/{id}",
        "/v1/quotes/{id}/send",
        "/v1/{kind}/new",
        "/feeds/{token}.ics",
        "/{word}",
    ];

    fn found(path: &str) -> Option<&'static str> {
        let mut tree = Branch::default();
        PATTERNS.iter().enumerate().for_each(|(place, pattern)| tree.add(pattern, place));
        tree.find(Some(path)).map(|place| PATTERNS[place])
    }

    #[test]
    fn a_path_is_found_by_its_pattern() {
        for (path, pattern) in [
            ("/", "/"),
            ("/v1/quotes", "/v1/quotes"),
            ("/v1/quotes/7", "/v1/quotes/{id}"),
            ("/v1/quotes/7/send", "/v1/quotes/{id}/send"),
            ("/v1/cars/new", "/v1/{kind}/new"),
            ("/feeds/abc.ics", "/feeds/{token}.ics"),
            ("/v1", "/{word}"),
        ] {
            assert_eq!(found(path), Some(pattern), "{path}");
        }
    }

    #[test]
    fn a_path_that_no_pattern_matches_is_not_found() {
        let close = ["", "v1", "//", "/v1/", "/v1/quotes/", "/v1/quotes/7/", "/v1/quotes//send", "/v1/quote/7"];
        for path in close.into_iter().chain(["/v1/quotes/7/sent", "/feeds/abc", "/feeds/.ics", "/feeds/abc.ics/more"]) {
            assert_eq!(found(path), None, "{path}");
        }
    }

    #[test]
    fn a_word_that_leads_nowhere_does_not_hide_an_open_part() {
        assert_eq!(found("/feeds"), Some("/{word}"));
    }
}
