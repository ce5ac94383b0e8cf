//! Preferences of a client (`Prefer`, RFC 7240). The answer names those that were applied; unknown ones are ignored.

use actix_web::http::header::{HeaderMap, HeaderName};
use baywright_core::platform::refusal::Refused;

use super::problem::Problem;

/// The header that preferences come in.
const PREFER: HeaderName = HeaderName::from_static("prefer");

/// The header that says which of them were applied.
pub const PREFERENCE_APPLIED: HeaderName = HeaderName::from_static("preference-applied");

/// The preference for the number of all records of a list, in the request and in the answer.
pub const TOTAL_COUNT: &str = "return=total-count";

/// The longest list of preferences that is read, in characters.
pub const MOST_PREFERENCES: usize = 200;

/// Whether the client wants to know how many records a list has over all its pages.
///
/// # Errors
/// If the preferences are longer than the limit that every text from outside has. (RFC 7240 asks only for unknown preferences
/// to be ignored.)
pub fn wants_total(headers: &HeaderMap) -> Result<bool, Problem> {
    // Several lines are one list (RFC 7240, section 2).
    let lines: Vec<_> = headers.get_all(PREFER).map(|line| String::from_utf8_lossy(line.as_bytes())).collect();
    let list = lines.join(",");
    if list.chars().count() > MOST_PREFERENCES {
        return Err(Problem::from(Refused::malformed(format!(
            "Prefer has more than {MOST_PREFERENCES} characters. Send {TOTAL_COUNT}, or leave it out."
        ))));
    }
    let (name, value) = TOTAL_COUNT.split_once('=').unwrap_or_default();
    // If a preference is given twice, the first counts. Names are compared without case, values with case.
    Ok(preferences(&list).find(|known| known.0.eq_ignore_ascii_case(name)).is_some_and(|known| known.1 == value))
}

/// Names and values of a list of preferences, without their parameters.
fn preferences(list: &str) -> impl Iterator<Item = (&str, &str)> {
    outside_quotes(list, ',').map(|preference| {
        let word = outside_quotes(preference, ';').next().unwrap_or_default();
        let (name, value) = word.split_once('=').unwrap_or((word, ""));
        // A value means the same with and without quotes; ours contains nothing that is escaped.
        let value = value.trim();
        (name.trim(), value.strip_prefix('"').and_then(|inner| inner.strip_suffix('"')).unwrap_or(value))
    })
}

/// The pieces of a text between separators, except those inside quoted strings (RFC 9110, section 5.6.4).
fn outside_quotes(text: &str, separator: char) -> impl Iterator<Item = &str> {
    let (mut quoted, mut escaped) = (false, false);
    text.split(move |c| {
        if escaped {
            escaped = false;
        } else if quoted && c == '\\' {
            escaped = true;
        } else if c == '"' {
            quoted = !quoted;
        }
        c == separator && !quoted
    })
}

#[cfg(test)]
mod tests {
    use actix_web::http::header::{HeaderMap, HeaderValue};

    use super::{PREFER, preferences, wants_total};

    fn asked(lines: &[&'static str]) -> bool {
        let mut headers = HeaderMap::new();
        for line in lines {
            headers.append(PREFER, HeaderValue::from_static(line));
        }
        wants_total(&headers).unwrap()
    }

    /// The examples of RFC 7240, sections 2 and 2.1.
    #[test]
    fn preferences_are_read_as_the_rfc_writes_them() {
        let read = |list: &'static str| preferences(list).collect::<Vec<_>>();
        assert_eq!(
            read("respond-async, wait=100, handling=lenient"),
            [("respond-async", ""), ("wait", "100"), ("handling", "lenient"),]
        );
        assert_eq!(read("foo; bar"), [("foo", "")]);
        assert_eq!(read("foo; bar=\"\""), [("foo", "")]);
        assert_eq!(read("foo=\"\"; bar"), [("foo", "")]);
        assert_eq!(read("priority=5, foo; some-parameter=\"a, b\""), [("priority", "5"), ("foo", "")]);
    }

    #[test]
    fn the_total_is_wanted_where_it_is_the_first_preference_of_its_name() {
        assert!(asked(&["return=total-count"]));
        assert!(asked(&["RETURN = \"total-count\" ; soon"]));
        assert!(asked(&["respond-async", "wait=10, return=total-count"]));
        for not in ["", "return=minimal", "return=minimal, return=total-count", "x=\"return=total-count\"", "return"] {
            assert!(!asked(&[not]), "{not}");
        }
        assert!(!asked(&["x=\",return=total-count"]), "a string that is not closed ends with the header");
        assert!(!asked(&["return=Total-Count"]));
    }

    #[test]
    fn a_list_that_nobody_would_write_is_refused() {
        let mut headers = HeaderMap::new();
        headers.insert(PREFER, HeaderValue::from_str(&"a,".repeat(101)).unwrap());
        assert!(wants_total(&headers).is_err());
    }
}
