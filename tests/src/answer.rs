//! What the program answered.

use serde_json::Value;

/// An answer with its body read.
#[derive(Debug, Clone)]
pub struct Answer {
    /// The request, to say what failed.
    pub asked: String,
    /// The status.
    pub status: u16,
    /// Header names in lower case, with values.
    pub headers: Vec<(String, String)>,
    /// The body as text.
    pub text: String,
    /// The body as it came.
    pub bytes: Vec<u8>,
}

impl Answer {
    /// A header's value, or empty.
    pub fn header(&self, name: &str) -> &str {
        self.headers.iter().find(|(known, _)| known == name).map_or("", |(_, value)| value)
    }

    /// The body as JSON; null where there is none.
    pub fn json(&self) -> Value {
        serde_json::from_str(&self.text).unwrap_or(Value::Null)
    }

    /// The body of an answer that must have that status.
    #[track_caller]
    pub fn expect(self, status: u16) -> Value {
        assert_eq!(self.status, status, "{}: {}", self.asked, self.text);
        self.json()
    }

    /// The body of a problem that must have that status and slug.
    #[track_caller]
    pub fn problem(self, status: u16, slug: &str) -> Value {
        assert_eq!(self.header("content-type"), "application/problem+json", "{}: {}", self.asked, self.text);
        let body = self.expect(status);
        assert_eq!(body["type"], format!("/problems/{slug}"), "{body}");
        assert_eq!(body["status"], status, "{body}");
        body
    }

    /// The entity tag.
    pub fn etag(&self) -> String {
        self.header("etag").to_owned()
    }
}
