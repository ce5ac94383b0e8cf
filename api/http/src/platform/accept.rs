//! Which form of an answer a client prefers (`Accept`, RFC 9110, section 12.5.1).

use actix_web::http::header::{ACCEPT, HeaderMap};

/// Whether the client names HTML and prefers no form of JSON to it, as browsers do. A client that accepts anything, as most
/// programs do, does not ask for pages.
pub fn prefers_page(headers: &HeaderMap) -> bool {
    let (mut page, mut json) = (0, 0);
    for line in headers.get_all(ACCEPT).filter_map(|line| line.to_str().ok()) {
        for range in line.split(',') {
            let (name, weight) = weighed(range);
            match name.to_ascii_lowercase().as_str() {
                "text/html" | "application/xhtml+xml" => page = page.max(weight),
                "application/json" | "application/problem+json" => json = json.max(weight),
                _ => {}
            }
        }
    }
    page > 0 && page >= json
}

/// A media range with its weight in thousandths; 1000 if it has none, 0 if the weight can't be read.
fn weighed(range: &str) -> (&str, u16) {
    let mut parts = range.split(';').map(str::trim);
    let name = parts.next().unwrap_or_default();
    let weight = parts.find_map(|part| part.strip_prefix("q=").or_else(|| part.strip_prefix("Q=")));
    (name, weight.map_or(1000, thousandths))
}

/// `0.8` is 800: at most three decimals, from 0 to 1.
fn thousandths(weight: &str) -> u16 {
    let (whole, part) = weight.split_once('.').unwrap_or((weight, ""));
    if part.len() > 3 || !part.bytes().all(|byte| byte.is_ascii_digit()) {
        return 0;
    }
    match whole {
        "1" => 1000,
        "0" => format!("{part:0<3}").parse().unwrap_or(0),
        _ => 0,
    }
}

#[cfg(test)]
mod tests {
    use actix_web::http::header::{HeaderMap, HeaderValue};

    use super::{ACCEPT, prefers_page};

    fn asked(accept: &str) -> bool {
        let mut headers = HeaderMap::new();
        headers.insert(ACCEPT, HeaderValue::from_str(accept).unwrap());
        prefers_page(&headers)
    }

    #[test]
    fn browsers_get_pages_and_programs_do_not() {
        assert!(asked("text/html,application/xhtml+xml,application/xml;q=0.9,image/avif,*/*;q=0.8"));
        assert!(asked("text/html"));
        assert!(asked("application/json;q=0.5, text/html;q=0.9"));
        for program in [
            "*/*",
            "application/json",
            "application/json, text/plain, */*",
            "application/problem+json",
            "text/html;q=0",
            "text/html;q=0.5, application/json",
            "text/html;q=2",
            "text/css,*/*;q=0.1",
            "",
        ] {
            assert!(!asked(program), "{program}");
        }
        assert!(!prefers_page(&HeaderMap::new()));
    }
}
