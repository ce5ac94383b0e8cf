//! A client that keeps its connection, and may lose it.

use std::time::Duration;

use serde_json::Value;

/// Somebody at the desk, signed in.
#[derive(Clone)]
pub(crate) struct Client {
    base: String,
    token: String,
    agent: ureq::Agent,
}

/// What was answered.
#[derive(Debug, Clone)]
pub(crate) struct Said {
    pub(crate) status: u16,
    pub(crate) replayed: bool,
    pub(crate) body: Value,
    /// The body as it came.
    pub(crate) text: String,
}

/// No answer, or none that could be read to its end.
#[derive(Debug)]
pub(crate) struct Broken;

impl Client {
    pub(crate) fn new(base: &str, token: &str) -> Self {
        let agent = ureq::Agent::config_builder()
            .http_status_as_error(false)
            .max_redirects(0)
            .timeout_global(Some(Duration::from_mins(1)))
            .build()
            .into();
        Self { base: base.to_owned(), token: token.to_owned(), agent }
    }

    pub(crate) fn get(&self, path: &str) -> Result<Said, Broken> {
        let request = ureq::http::Request::get(format!("{}{path}", self.base))
            .header("authorization", format!("Bearer {}", self.token));
        read(self.agent.run(request.body(()).unwrap()))
    }

    pub(crate) fn post(&self, path: &str, key: &str, seen: Option<i64>, body: &Value) -> Result<Said, Broken> {
        let mut request = ureq::http::Request::post(format!("{}{path}", self.base))
            .header("authorization", format!("Bearer {}", self.token))
            .header("content-type", "application/json")
            .header("idempotency-key", key);
        if let Some(version) = seen {
            request = request.header("if-match", format!("\"{version}\""));
        }
        read(self.agent.run(request.body(body.to_string()).unwrap()))
    }

    pub(crate) fn put(&self, path: &str, seen: i64, body: &Value) -> Result<Said, Broken> {
        let request = ureq::http::Request::put(format!("{}{path}", self.base))
            .header("authorization", format!("Bearer {}", self.token))
            .header("content-type", "application/json")
            .header("if-match", format!("\"{seen}\""));
        read(self.agent.run(request.body(body.to_string()).unwrap()))
    }
}

fn read(answer: Result<ureq::http::Response<ureq::Body>, ureq::Error>) -> Result<Said, Broken> {
    let mut answer = answer.map_err(|_| Broken)?;
    let status = answer.status().as_u16();
    let replayed = answer.headers().contains_key("idempotency-replayed");
    let text = answer.body_mut().read_to_string().map_err(|_| Broken)?;
    let body = serde_json::from_str(&text).map_err(|_| Broken)?;
    Ok(Said { status, replayed, body, text })
}
