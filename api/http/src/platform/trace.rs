//! The place of a request in a trace that other programs write: `traceparent` of the W3C Recommendation "Trace Context"
//! (23 November 2021).
//!
//! Its ids go into the log and nowhere else. They are not trusted, because anybody can send any.

use actix_web::http::header::{HeaderMap, HeaderName};

/// The header that the parent comes in.
const TRACEPARENT: HeaderName = HeaderName::from_static("traceparent");

/// The request of another program that this one was sent for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Parent {
    /// The whole trace: 32 digits of lower-case hex.
    pub trace_id: String,
    /// The request in it: 16 digits of lower-case hex.
    pub parent_id: String,
}

impl Parent {
    /// The parent that a request names. `None` if it names none, several, or one that can't be read: then the request counts
    /// as the first of its trace (sections 3.2.2.4 and 4.3 of the Recommendation).
    pub fn of(headers: &HeaderMap) -> Option<Self> {
        let mut lines = headers.get_all(TRACEPARENT);
        let line = lines.next()?;
        if lines.next().is_some() {
            return None;
        }
        Self::parse(line.to_str().ok()?)
    }

    /// Reads `version-traceid-parentid-flags` (section 3.2). Of an unknown version, only the fields of version 00 are read, and
    /// anything that follows them after a dash is ignored (section 3.2.4).
    pub fn parse(text: &str) -> Option<Self> {
        let mut fields = text.splitn(5, '-');
        let version = hex(fields.next()?, 2).filter(|version| *version != "ff")?;
        let trace_id = hex(fields.next()?, 32).filter(|id| !is_zero(id))?;
        let parent_id = hex(fields.next()?, 16).filter(|id| !is_zero(id))?;
        hex(fields.next()?, 2)?;
        if version == "00" && fields.next().is_some() {
            return None;
        }
        Some(Self { trace_id: trace_id.to_owned(), parent_id: parent_id.to_owned() })
    }
}

/// A field of that many digits of lower-case hex.
fn hex(field: &str, digits: usize) -> Option<&str> {
    let plain = field.len() == digits && field.bytes().all(|b| matches!(b, b'0'..=b'9' | b'a'..=b'f'));
    plain.then_some(field)
}

/// Whether an id is the one that means "none": only zeros.
fn is_zero(id: &str) -> bool {
    id.bytes().all(|b| b == b'0')
}

#[cfg(test)]
mod tests {
    use actix_web::http::header::{HeaderMap, HeaderValue};

    use super::{Parent, TRACEPARENT};

    const TRACE: &str = "4bf92f3577b34da6a3ce929d0e0e4736";
    const PARENT: &str = "00f067aa0ba902b7";

    fn read(text: &str) -> Option<(String, String)> {
        Parent::parse(text).map(|parent| (parent.trace_id, parent.parent_id))
    }

    /// The examples of section 3.2.3: the caller sampled, and did not.
    #[test]
    fn the_examples_of_the_recommendation_are_read() {
        let both = Some((TRACE.to_owned(), PARENT.to_owned()));
        assert_eq!(read(&format!("00-{TRACE}-{PARENT}-01")), both);
        assert_eq!(read(&format!("00-{TRACE}-{PARENT}-00")), both);
        // The example of section 3.2.2.3 to 3.2.2.5, in the header of section 2.2's walk through a system.
        assert!(read("00-0af7651916cd43dd8448eb211c80319c-b7ad6b7169203331-01").is_some());
    }

    #[test]
    fn what_the_recommendation_calls_invalid_is_no_parent() {
        let zeros = "0".repeat(32);
        for bad in [
            String::new(),
            format!("00-{TRACE}-{PARENT}"),
            format!("00-{TRACE}-{PARENT}-"),
            format!("00-{TRACE}-{PARENT}-1"),
            format!("00-{TRACE}-{PARENT}-001"),
            format!("00-{TRACE}-{PARENT}-01-"),
            format!("00-{TRACE}-{PARENT}-01-what-the-future-will-be-like"),
            format!("00-{TRACE}-{PARENT}-0x"),
            format!("00-{zeros}-{PARENT}-01"),
            format!("00-{TRACE}-{}-01", &zeros[..16]),
            format!("00-{}-{PARENT}-01", TRACE.to_uppercase()),
            format!("00-{TRACE}-{}-01", PARENT.to_uppercase()),
            format!("00-{}-{PARENT}-01", &TRACE[1..]),
            format!("00-{TRACE}0-{PARENT}-01"),
            format!("00_{TRACE}_{PARENT}_01"),
            format!("0-{TRACE}-{PARENT}-01"),
            format!("0x-{TRACE}-{PARENT}-01"),
            // 255 is never a version (section 3.2.2.1).
            format!("ff-{TRACE}-{PARENT}-01"),
            format!(" 00-{TRACE}-{PARENT}-01"),
        ] {
            assert_eq!(Parent::parse(&bad), None, "{bad:?}");
        }
    }

    #[test]
    fn of_a_version_to_come_the_known_fields_are_read() {
        for version in ["01", "cc", "fe"] {
            for rest in ["", "-", "-what-the-future-will-be-like"] {
                assert!(read(&format!("{version}-{TRACE}-{PARENT}-01{rest}")).is_some(), "{version} {rest}");
            }
            for rest in ["0", ".what", "x"] {
                assert!(read(&format!("{version}-{TRACE}-{PARENT}-01{rest}")).is_none(), "{version} {rest}");
            }
        }
    }

    #[test]
    fn a_request_with_two_parents_has_none() {
        let mut headers = HeaderMap::new();
        assert_eq!(Parent::of(&headers), None);
        headers.append(TRACEPARENT, HeaderValue::from_str(&format!("00-{TRACE}-{PARENT}-01")).unwrap());
        assert!(Parent::of(&headers).is_some());
        headers.append(TRACEPARENT, HeaderValue::from_str(&format!("00-{TRACE}-{PARENT}-01")).unwrap());
        assert_eq!(Parent::of(&headers), None);
    }
}
