//! Refusals as pages, for people who use a browser. Programs get problem details.

use actix_web::HttpRequest;
use actix_web::body::BoxBody;
use actix_web::dev::{ServiceRequest, ServiceResponse};
use actix_web::http::StatusCode;
use actix_web::http::header::{
    CONTENT_SECURITY_POLICY, CONTENT_TYPE, HeaderMap, HeaderValue, LOCATION, RETRY_AFTER, VARY, WWW_AUTHENTICATE,
};
use actix_web::middleware::Next;
use actix_web::web::Data;
use actix_web::{HttpMessage, HttpResponse};
use askama::Template;
use baywright_http::platform::accept::prefers_page;
use baywright_http::platform::app::App;
use baywright_http::platform::guard::PAGE_POLICY;
use baywright_http::platform::methods::Methods;
use baywright_http::platform::page::SentForm;
use baywright_http::platform::problem::{Problem, ProblemBody};

use super::form::Fields;
use super::{AgainPage, Frame, SendAgain, rendered, to_sign_in};
use crate::access::{sign_in_to_send, tablet_to_send};

#[derive(Template)]
#[template(path = "platform/refused.html")]
struct RefusedPage<'a> {
    frame: Frame,
    heading: &'a str,
    text: String,
    way_on: (&'static str, String),
    request_id: &'a str,
}

/// Turns a problem into a page if the client prefers one. Addresses in the API document always answer as it says.
///
/// Whoever is not signed in is led to the page to sign in on, and a form that is not taken for that reason is kept there. A
/// question that must be confirmed is asked, with the form that was sent.
///
/// # Errors
/// The case that the service behind it can't answer.
pub async fn for_browsers(
    request: ServiceRequest,
    next: Next<BoxBody>,
) -> Result<ServiceResponse<BoxBody>, actix_web::Error> {
    let mut answer = next.call(request).await?;
    let problem = answer.response().extensions().get::<ProblemBody>().cloned();
    let Some(problem) = problem.filter(|_| !is_described(answer.request())) else { return Ok(answer) };
    answer.headers_mut().append(VARY, HeaderValue::from_static("accept"));
    if !prefers_page(answer.request().headers()) {
        return Ok(answer);
    }
    let address = answer.request().uri().path_and_query().map_or_else(|| "/".to_owned(), ToString::to_string);
    let sent = answer.request().extensions().get::<SentForm>().cloned();
    let question =
        answer.response().extensions().get::<Problem>().and_then(|problem| problem.refused().question().cloned());
    let status = answer.status();
    if status == StatusCode::UNAUTHORIZED && answer.request().method().is_safe() {
        let headers = answer.headers().clone();
        let (request, _) = answer.into_parts();
        return Ok(ServiceResponse::new(request, led_to_sign_in(&address, headers)));
    }
    let text = match (status, sent) {
        (StatusCode::UNAUTHORIZED, sent) => {
            let app = answer.request().app_data::<Data<App>>().cloned();
            app.and_then(|app| {
                let on_tablet = tablet_to_send(answer.request(), &app, &address, sent.as_ref());
                on_tablet.unwrap_or_else(|| sign_in_to_send(&app, &address, sent.as_ref())).ok()
            })
        }
        (StatusCode::FORBIDDEN, Some(SentForm { form, code: Some(code) })) => {
            let again = SendAgain::new(&address, &form, &code);
            rendered(&AgainPage::new("Send this form again", again)).ok()
        }
        (StatusCode::CONFLICT, Some(SentForm { form, .. })) if question.is_some() => question.and_then(|question| {
            let again = SendAgain::new(&address, &form, &Fields::of_form(&form).text("code"));
            rendered(&AgainPage::asking(&question, again)).ok()
        }),
        _ => page(&problem, &address, answer.headers()),
    };
    let Some(text) = text else { return Ok(answer) };
    let headers = answer.headers_mut();
    headers.remove(WWW_AUTHENTICATE);
    headers.insert(CONTENT_TYPE, HeaderValue::from_static("text/html; charset=utf-8"));
    headers.insert(CONTENT_SECURITY_POLICY, HeaderValue::from_static(PAGE_POLICY));
    Ok(answer.map_body(|_, _| BoxBody::new(text)))
}

/// Whether the API document describes the answers of the request's address.
fn is_described(request: &HttpRequest) -> bool {
    request.app_data::<Data<Methods>>().is_some_and(|methods| methods.describes(request.path()))
}

/// 303 to the page to sign in on, with the headers that every answer has.
fn led_to_sign_in(address: &str, headers: HeaderMap) -> HttpResponse {
    let mut answer = HttpResponse::SeeOther();
    for (name, value) in headers.iter().filter(|(name, _)| ![CONTENT_TYPE, WWW_AUTHENTICATE].contains(name)) {
        answer.append_header((name.clone(), value.clone()));
    }
    answer.insert_header((LOCATION, to_sign_in(address))).finish()
}

/// The page, or `None` if it does not render, which is a defect.
fn page(problem: &ProblemBody, address: &str, headers: &HeaderMap) -> Option<String> {
    let status = StatusCode::from_u16(problem.status).ok()?;
    let seconds = headers.get(RETRY_AFTER).and_then(|value| value.to_str().ok()).unwrap_or("a few");
    let (heading, text) = match status {
        StatusCode::NOT_FOUND => {
            ("Page not found", "There is nothing at this address. Check that you copied all of it.".to_owned())
        }
        StatusCode::METHOD_NOT_ALLOWED => (
            "This page can't be opened directly",
            "It only works with the form or program that uses it. Go back and try again from there.".to_owned(),
        ),
        StatusCode::GONE => ("This is no longer available", problem.detail.clone()),
        StatusCode::TOO_MANY_REQUESTS => {
            ("Too many requests", format!("Please wait {seconds} seconds, then try again."))
        }
        StatusCode::SERVICE_UNAVAILABLE => {
            ("Not available right now", format!("Please try again in {seconds} seconds."))
        }
        _ => (problem.title.as_str(), problem.detail.clone()),
    };
    let page = RefusedPage {
        frame: Frame::plain(heading, ""),
        heading,
        text,
        way_on: way_on(status, address),
        request_id: &problem.request_id,
    };
    page.render().inspect_err(|error| tracing::error!(%error, "a page did not render")).ok()
}

/// The next link: try again, the customer's own page, or the start.
fn way_on(status: StatusCode, address: &str) -> (&'static str, String) {
    let path = address.split('?').next().unwrap_or_default();
    if matches!(status, StatusCode::TOO_MANY_REQUESTS | StatusCode::SERVICE_UNAVAILABLE) {
        return ("Try again", address.to_owned());
    }
    let own = ["/q/", "/c/"].into_iter().find_map(|start| {
        let (token, _) = path.strip_prefix(start)?.split_once('/')?;
        (!token.is_empty()).then(|| format!("{start}{token}"))
    });
    match own {
        Some(page) => ("Go back to your page", page),
        None => ("Go to the start page", "/".to_owned()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(status: u16, detail: &str, retry_after: Option<u16>) -> String {
        let problem = ProblemBody {
            kind: "/problems/any".to_owned(),
            title: "Any".to_owned(),
            status,
            detail: detail.to_owned(),
            instance: "/any".to_owned(),
            request_id: "0198c0de".to_owned(),
            errors: Vec::new(),
            known: Vec::new(),
            figures: Vec::new(),
        };
        let mut headers = HeaderMap::new();
        if let Some(seconds) = retry_after {
            headers.insert(RETRY_AFTER, HeaderValue::from(seconds));
        }
        page(&problem, "/any?x=1", &headers).unwrap()
    }

    #[test]
    fn a_page_says_what_happened_when_to_try_again_and_the_requests_id() {
        for (status, seconds, said) in [
            (404, None, "There is nothing at this address"),
            (405, None, "only works with the form"),
            (410, None, "Ask for a new &#60;link&#62;."),
            (429, Some(17), "Please wait 17 seconds, then try again."),
            (503, Some(5), "Please try again in 5 seconds."),
            (500, None, "Ask for a new"),
        ] {
            let page = shown(status, "Ask for a new <link>.", seconds);
            assert!(page.contains(said) && page.contains("0198c0de"), "{status}: {page}");
            let again = [429, 503].contains(&status);
            assert_eq!(page.contains("href=\"/any?x=1\""), again, "{status}: {page}");
            assert_eq!(page.contains("href=\"/\""), !again, "{status}: {page}");
        }
    }

    #[test]
    fn every_page_leads_on() {
        let way = |status, address| way_on(status, address).1;
        assert_eq!(way(StatusCode::NOT_FOUND, "/nothing"), "/");
        assert_eq!(way(StatusCode::NOT_FOUND, "/q/abc"), "/");
        assert_eq!(way(StatusCode::METHOD_NOT_ALLOWED, "/q/abc/accept?x=1"), "/q/abc");
        assert_eq!(way(StatusCode::NOT_FOUND, "/c/abc/nothing"), "/c/abc");
        assert_eq!(way(StatusCode::TOO_MANY_REQUESTS, "/q/abc?take=1"), "/q/abc?take=1");
    }
}
