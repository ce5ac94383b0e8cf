//! What an address answers to whoever has it: HEAD as GET, pages for browsers, problem details for programs.

mod bay;
mod crawl;
mod diary;
mod form;
mod invite;
mod job;
mod markup;
mod may;
mod new_car;
mod roles;
mod set_up;
mod sign_in;
mod stay;
mod steps;
mod today;
mod visit;

use baywright_tests::answer::Answer;
use baywright_tests::browser::ACCEPT;
use baywright_tests::document::operations;
use baywright_tests::person::Person;
use baywright_tests::{Studio, on_each_engine};

fn browse(who: &Person, method: &str, path: &str) -> Answer {
    who.send(method, path, &[("accept", ACCEPT)], None)
}

/// Every page, as a path that is there, with the methods that it takes.
fn pages(studio: &Studio, token: &str) -> Vec<(String, &'static [&'static str])> {
    let nobody = studio.nobody();
    let style = nobody.get("/").text;
    let style = style.split("href=\"/assets/").nth(1).unwrap().split('"').next().unwrap();
    vec![
        ("/".to_owned(), &["GET"]),
        (format!("/assets/{style}"), &["GET"]),
        ("/favicon.ico".to_owned(), &["GET"]),
        ("/bays".to_owned(), &["GET", "POST"]),
        ("/bays/none".to_owned(), &["GET", "POST"]),
        ("/cars".to_owned(), &["GET"]),
        ("/cars/none".to_owned(), &["GET"]),
        ("/cars/none/undo".to_owned(), &["GET", "POST"]),
        ("/bay".to_owned(), &["GET"]),
        ("/bay/none".to_owned(), &["GET"]),
        ("/bay/none/note".to_owned(), &["POST"]),
        ("/bay/none/found".to_owned(), &["GET", "POST"]),
        ("/bay/none/photos/none".to_owned(), &["GET"]),
        ("/bay/none/start".to_owned(), &["POST"]),
        ("/bay/sign-in".to_owned(), &["GET", "POST"]),
        ("/digits".to_owned(), &["GET", "POST"]),
        ("/people/none/digits".to_owned(), &["GET", "POST"]),
        ("/shop/tablets".to_owned(), &["GET", "POST"]),
        ("/shop/tablets/none/end".to_owned(), &["POST"]),
        ("/tablet".to_owned(), &["GET", "POST"]),
        ("/diary".to_owned(), &["GET"]),
        ("/diary/absences".to_owned(), &["GET", "POST"]),
        ("/diary/absences/none/remove".to_owned(), &["POST"]),
        ("/diary/book/none".to_owned(), &["GET", "POST"]),
        ("/diary/closures".to_owned(), &["GET", "POST"]),
        ("/diary/week-plan".to_owned(), &["GET", "POST"]),
        ("/diary/week-plan/none".to_owned(), &["GET"]),
        ("/diary/none".to_owned(), &["GET"]),
        ("/diary/none/move".to_owned(), &["GET", "POST"]),
        ("/diary/none/arrive".to_owned(), &["POST"]),
        ("/find".to_owned(), &["GET"]),
        ("/hours".to_owned(), &["GET", "POST"]),
        ("/invite/none".to_owned(), &["GET", "POST"]),
        ("/mails/none".to_owned(), &["GET", "POST"]),
        ("/menu".to_owned(), &["GET", "POST"]),
        ("/menu/publish".to_owned(), &["POST"]),
        ("/menu/trial".to_owned(), &["GET"]),
        ("/new-car".to_owned(), &["GET", "POST"]),
        ("/new-car/photos/none".to_owned(), &["GET"]),
        ("/new-car/none".to_owned(), &["GET", "POST"]),
        ("/new-car/none/car".to_owned(), &["GET", "POST"]),
        ("/new-car/none/paint".to_owned(), &["POST"]),
        ("/new-car/none/send".to_owned(), &["GET", "POST"]),
        ("/new-car/none/walk-round".to_owned(), &["GET", "POST"]),
        ("/new-car/none/work".to_owned(), &["GET", "POST"]),
        ("/people".to_owned(), &["GET", "POST"]),
        ("/people/none".to_owned(), &["GET", "POST"]),
        ("/people/none/invite".to_owned(), &["POST"]),
        ("/set-up".to_owned(), &["GET", "POST"]),
        ("/set-up/mail".to_owned(), &["GET", "POST"]),
        ("/set-up/steps".to_owned(), &["GET"]),
        ("/self-booking".to_owned(), &["GET", "POST"]),
        ("/shop".to_owned(), &["GET", "POST"]),
        ("/tax".to_owned(), &["GET", "POST"]),
        ("/today".to_owned(), &["GET"]),
        ("/sign-in".to_owned(), &["GET", "POST"]),
        ("/sign-out".to_owned(), &["POST"]),
        ("/problems".to_owned(), &["GET"]),
        ("/problems/not-found".to_owned(), &["GET"]),
        (format!("/q/{token}"), &["GET"]),
        (format!("/q/{token}/check"), &["GET"]),
        (format!("/q/{token}/done"), &["GET"]),
        (format!("/q/{token}/accept"), &["POST"]),
        (format!("/q/{token}/decline"), &["GET", "POST"]),
        (format!("/q/{token}/opened"), &["POST"]),
        (format!("/q/{token}/photos/none"), &["GET"]),
        (format!("/q/{token}/copy.json"), &["GET"]),
        (format!("/q/{token}/stay"), &["POST"]),
        ("/c/none".to_owned(), &["GET"]),
        ("/c/none/time".to_owned(), &["POST"]),
        ("/c/none/ask".to_owned(), &["POST"]),
        ("/c/none/change".to_owned(), &["POST"]),
        ("/c/none/quote".to_owned(), &["POST"]),
        ("/c/none/booking.ics".to_owned(), &["GET"]),
        ("/c/none/photos/none".to_owned(), &["GET"]),
        ("/c/none/invoices/none".to_owned(), &["GET"]),
        ("/c/none/copy.json".to_owned(), &["GET"]),
        ("/feeds/none.ics".to_owned(), &["GET"]),
    ]
}

#[test]
fn head_answers_wherever_get_does_with_the_same_headers_and_no_body() {
    on_each_engine(|studio| {
        let sent = studio.sent_quote("aoife@example.com", &["decontamination"], &[]);
        let nobody = studio.nobody();
        let readable = pages(studio, &sent.token).into_iter().filter(|(_, methods)| methods.contains(&"GET"));
        let mut paths: Vec<String> = readable.map(|(path, _)| path).collect();
        paths.extend(["/healthz", "/readyz", "/openapi.json"].map(str::to_owned));
        for path in paths {
            let (get, head) = (nobody.get(&path), nobody.send("HEAD", &path, &[], None));
            assert_eq!((head.status, head.bytes.len()), (get.status, 0), "{path}");
            for name in ["content-type", "cache-control", "etag", "location", "content-security-policy"] {
                assert_eq!(head.header(name), get.header(name), "{path}: {name}");
            }
        }
        let owner = studio.owner();
        let quote = format!("/v1/quotes/{}", sent.id);
        let head = owner.send("HEAD", &quote, &[], None);
        assert_eq!((head.status, head.etag(), head.bytes.len()), (200, owner.get(&quote).etag(), 0));
        assert_eq!(nobody.send("HEAD", &quote, &[], None).status, 401);
        assert_eq!(nobody.send("HEAD", "/nothing", &[], None).status, 404);
    });
}

#[test]
fn an_address_says_which_methods_it_takes() {
    on_each_engine(|studio| {
        let sent = studio.sent_quote("aoife@example.com", &["decontamination"], &[]);
        let nobody = studio.nobody();
        for (path, methods) in pages(studio, &sent.token) {
            for method in ["GET", "POST", "PUT", "DELETE", "PATCH"] {
                let answer = nobody.send(method, &path, &[], None);
                let allow = answer.header("allow").to_owned();
                if methods.contains(&method) {
                    assert!(answer.status != 405 && allow.is_empty(), "{method} {path}: {}", answer.status);
                    continue;
                }
                answer.problem(405, "method-not-allowed");
                let mut wanted = methods.to_vec();
                wanted.extend(methods.contains(&"GET").then_some("HEAD"));
                wanted.push("OPTIONS");
                assert_eq!(allow, wanted.join(", "), "{method} {path}");
            }
            assert_eq!(nobody.send("OPTIONS", &path, &[], None).status, 204, "{path}");
        }
        for operation in operations().iter().filter(|operation| operation.method == "GET") {
            let options = nobody.send("OPTIONS", &operation.at("0198c0de-0000-7000-8000-000000000001"), &[], None);
            assert!(options.header("allow").contains("GET, "), "{}", operation.path);
            assert!(options.header("allow").contains("HEAD, OPTIONS"), "{}", operation.path);
        }
    });
}

#[test]
fn a_slash_behind_a_pages_address_leads_to_the_page() {
    on_each_engine(|studio| {
        let sent = studio.sent_quote("aoife@example.com", &["decontamination"], &["coating"]);
        let nobody = studio.nobody();
        let path = format!("/q/{}", sent.token);
        for (asked, wanted) in [
            (format!("{path}/"), path.clone()),
            (format!("{path}/?take=1"), format!("{path}?take=1")),
            ("/problems/".to_owned(), "/problems".to_owned()),
        ] {
            let answer = browse(&nobody, "GET", &asked);
            assert_eq!((answer.status, answer.header("location")), (308, wanted.as_str()), "{asked}");
            assert_eq!(browse(&nobody, "GET", &wanted).status, 200);
        }
        // No address leads to another host, and the API has none with a slash.
        for not in ["//example.com/", "/nothing/", "/v1/quotes/", "/q//"] {
            nobody.get(not).problem(404, "not-found");
        }
    });
}

#[test]
fn a_browser_gets_a_page_with_a_way_on_and_a_program_gets_problem_details() {
    on_each_engine(|studio| {
        let sent = studio.sent_quote("aoife@example.com", &["decontamination"], &[]);
        let nobody = studio.nobody();
        let token = &sent.token;
        for (method, path, status, slug, way) in [
            ("GET", "/nothing".to_owned(), 404, "not-found", "/".to_owned()),
            ("GET", "/nothing/".to_owned(), 404, "not-found", "/".to_owned()),
            ("GET", "/v1/nothing".to_owned(), 404, "not-found", "/".to_owned()),
            ("GET", "/problems/no-such-kind".to_owned(), 404, "not-found", "/".to_owned()),
            ("GET", format!("/q/{token}/nothing"), 404, "not-found", format!("/q/{token}")),
            ("GET", format!("/q/{token}/accept"), 405, "method-not-allowed", format!("/q/{token}")),
        ] {
            let page = browse(&nobody, method, &path);
            let id = page.header("x-request-id").to_owned();
            assert_eq!((page.status, page.header("content-type")), (status, "text/html; charset=utf-8"), "{path}");
            for said in ["<h1>", &id, &format!("href=\"{way}\""), "<link rel=\"stylesheet\" href=\"/assets/"] {
                assert!(page.text.contains(said), "{path}: {said}: {}", page.text);
            }
            assert!(page.header("content-security-policy").contains("style-src 'self'"), "{path}");
            for accept in ["*/*", "application/json", "application/json, text/html;q=0.5"] {
                let answer = nobody.send(method, &path, &[("accept", accept)], None);
                let vary: Vec<_> =
                    answer.headers.iter().filter(|(name, _)| name == "vary").map(|(_, value)| value).collect();
                assert!(vary.iter().any(|value| value.contains("accept")), "{path}: {vary:?}");
                answer.problem(status, slug);
            }
            assert_eq!(browse(&nobody, "HEAD", &path).status, status, "{path}");
        }
        // What the API document describes answers as it says there.
        browse(&nobody, "GET", "/v1/quotes").problem(401, "not-signed-in");
        browse(&nobody, "GET", "/v1/sessions").problem(405, "method-not-allowed");
    });
}

#[test]
fn the_start_page_asks_whoever_is_not_signed_in_to_do_so_and_leads_on() {
    on_each_engine(|studio| {
        let page = studio.nobody().get("/");
        assert_eq!((page.status, page.header("content-type")), (200, "text/html; charset=utf-8"));
        assert!(page.text.contains("<h1>Sign in</h1>") && !page.text.contains("demo"), "{}", page.text);
        for way in ["/docs/", "/openapi.json", "/problems", "/healthz", "/readyz"] {
            assert!(page.text.contains(&format!("href=\"{way}\"")), "{way}: {}", page.text);
            assert_eq!(studio.nobody().get(way).status, 200, "{way}");
        }
    });
}
