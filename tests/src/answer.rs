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

    /// The body of an answer that must have that status. `warnings`, which only answers to changes have, are left out, so
    /// that a change compares with what is read afterwards; [`warnings`](Self::warnings) has them.
    #[track_caller]
    pub fn expect(self, status: u16) -> Value {
        assert_eq!(self.status, status, "{}: {}", self.asked, self.text);
        let mut body = self.json();
        if let Some(fields) = body.as_object_mut() {
            fields.remove("warnings");
        }
        body
    }

    /// The codes of the warnings that an answer to a change carries.
    #[track_caller]
    pub fn warnings(&self) -> Vec<String> {
        let body = self.json();
        let Some(list) = body["warnings"].as_array() else { panic!("{} carries no warnings: {body}", self.asked) };
        list.iter().map(|warning| warning["code"].as_str().unwrap().to_owned()).collect()
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
