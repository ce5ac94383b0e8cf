//! Someone who talks to the program over HTTP.

use serde_json::Value;

use crate::answer::Answer;
use crate::contract;

/// A client, signed in or not.
#[derive(Clone)]
pub struct Person {
    base: String,
    token: Option<String>,
    agent: ureq::Agent,
}

impl Person {
    /// Someone who talks to the program at `base`, with an access token or without.
    pub fn new(base: &str, token: Option<String>) -> Self {
        let agent = ureq::Agent::config_builder().http_status_as_error(false).max_redirects(0).build().into();
        Self { base: base.to_owned(), token, agent }
    }

    /// The access token.
    pub fn token(&self) -> Option<&str> {
        self.token.as_deref()
    }

    /// Sends a request with any method, headers and body.
    pub fn send(&self, method: &str, path: &str, headers: &[(&str, &str)], body: Option<Vec<u8>>) -> Answer {
        let url = if path.starts_with("http") { path.to_owned() } else { format!("{}{path}", self.base) };
        let mut request = ureq::http::Request::builder().method(method).uri(&url);
        if let Some(token) = &self.token {
            request = request.header("authorization", format!("Bearer {token}"));
        }
        for (name, value) in headers {
            request = request.header(*name, *value);
        }
        let asked = format!("{method} {path}");
        let result = match body {
            Some(bytes) => self.agent.run(request.body(bytes).unwrap()),
            None => self.agent.run(request.body(()).unwrap()),
        };
        let mut answer = result.unwrap_or_else(|error| panic!("{asked}: {error}"));
        let headers = answer.headers().iter();
        let headers =
            headers.map(|(n, v)| (n.to_string(), String::from_utf8_lossy(v.as_bytes()).into_owned())).collect();
        let status = answer.status().as_u16();
        let bytes = answer.body_mut().with_config().limit(64 << 20).read_to_vec().unwrap_or_default();
        let answer = Answer { asked, status, headers, text: String::from_utf8_lossy(&bytes).into_owned(), bytes };
        let faults = contract::faults(method, url.strip_prefix(&self.base).unwrap_or_default(), &answer);
        assert!(faults.is_empty(), "{} {}: {}\n{}", answer.asked, status, faults.join("\n"), answer.text);
        answer
    }

    /// GET.
    pub fn get(&self, path: &str) -> Answer {
        self.send("GET", path, &[], None)
    }

    /// POST of JSON, with a fresh idempotency key.
    pub fn post(&self, path: &str, body: &Value) -> Answer {
        let key: String = baywright_core::platform::ids::new();
        self.json("POST", path, &[("idempotency-key", &key)], body)
    }

    /// POST of JSON on a record's version.
    pub fn act(&self, path: &str, etag: &str, body: &Value) -> Answer {
        let key: String = baywright_core::platform::ids::new();
        self.json("POST", path, &[("if-match", etag), ("idempotency-key", &key)], body)
    }

    /// PUT of JSON on a record's version.
    pub fn put(&self, path: &str, etag: &str, body: &Value) -> Answer {
        self.json("PUT", path, &[("if-match", etag)], body)
    }

    /// POST of a file, with a fresh idempotency key.
    pub fn post_file(&self, path: &str, media_type: &str, file: &[u8]) -> Answer {
        let key: String = baywright_core::platform::ids::new();
        self.send("POST", path, &[("content-type", media_type), ("idempotency-key", &key)], Some(file.to_vec()))
    }

    /// JSON with headers of the caller's choice.
    pub fn json(&self, method: &str, path: &str, headers: &[(&str, &str)], body: &Value) -> Answer {
        let mut all = vec![("content-type", "application/json")];
        all.extend_from_slice(headers);
        self.send(method, path, &all, Some(body.to_string().into_bytes()))
    }
}
