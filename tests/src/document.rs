//! The API document, as tests walk over it.

use std::sync::OnceLock;

use serde_json::{Map, Value};

/// The finished document.
pub fn document() -> &'static Value {
    static DOCUMENT: OnceLock<Value> = OnceLock::new();
    DOCUMENT.get_or_init(|| baywright_http::platform::openapi::finish(&baywright_http::routes::document()).unwrap())
}

/// One operation.
#[derive(Debug, Clone, Copy)]
pub struct Operation {
    /// Its path, with `{…}` for parameters.
    pub path: &'static str,
    /// Its method, in capitals.
    pub method: &'static str,
    /// What the document says of it.
    pub said: &'static Map<String, Value>,
}

/// All operations, in the document's order.
pub fn operations() -> Vec<Operation> {
    let mut all = Vec::new();
    for (path, item) in document()["paths"].as_object().unwrap() {
        for (lower, method) in
            [("get", "GET"), ("put", "PUT"), ("post", "POST"), ("patch", "PATCH"), ("delete", "DELETE")]
        {
            if let Some(said) = item.get(lower) {
                all.push(Operation { path, method, said: said.as_object().unwrap() });
            }
        }
    }
    all
}

impl Operation {
    /// Its id.
    pub fn id(&self) -> &'static str {
        self.said["operationId"].as_str().unwrap()
    }

    /// Whether nobody need sign in for it.
    pub fn is_open(&self) -> bool {
        self.said["security"].as_array().is_some_and(Vec::is_empty)
    }

    /// The path with `id` in the place of each parameter that is an id, and their examples for the others.
    pub fn at(&self, id: &str) -> String {
        let parts = self.path.split('/').map(|part| match part.strip_prefix('{') {
            Some(name) => self.in_path(name.trim_end_matches('}'), id),
            None => part.to_owned(),
        });
        let path = parts.collect::<Vec<_>>().join("/");
        let query: Vec<String> = self
            .parameters()
            .filter(|parameter| parameter["in"] == "query" && parameter["required"] == true)
            .map(|parameter| format!("{}={}", parameter["name"].as_str().unwrap(), said_example(parameter)))
            .collect();
        if query.is_empty() { path } else { format!("{path}?{}", query.join("&")) }
    }

    fn in_path(&self, name: &str, id: &str) -> String {
        let said = self.parameters().find(|parameter| parameter["in"] == "path" && parameter["name"] == name);
        match said {
            Some(parameter) if parameter["schema"]["minLength"] != 36 => said_example(parameter),
            _ => id.to_owned(),
        }
    }

    /// Whether an address of that form is its own.
    pub fn takes(&self, path: &str) -> bool {
        let (own, other) = (self.path.split('/'), path.split('/'));
        own.clone().count() == other.clone().count()
            && own.zip(other).all(|(own, part)| own == part || own.starts_with('{'))
    }

    /// The parameters it takes, followed where they are references.
    pub fn parameters(&self) -> impl Iterator<Item = &'static Value> {
        self.said.get("parameters").and_then(Value::as_array).into_iter().flatten().map(followed)
    }

    /// The headers a well-formed request must bring: version, key, media type.
    pub fn headers(&self) -> Vec<(&'static str, String)> {
        let needed = self.parameters().filter(|parameter| parameter["in"] == "header" && parameter["required"] == true);
        let mut headers: Vec<(&str, String)> = needed
            .map(|parameter| match parameter["name"].as_str().unwrap() {
                name @ "Idempotency-Key" => (name, baywright_core::platform::ids::new()),
                name => (name, said_example(parameter)),
            })
            .collect();
        if let Some(media) = self.media_type() {
            headers.push(("Content-Type", media.to_owned()));
        }
        headers
    }

    /// The media type of its body.
    pub fn media_type(&self) -> Option<&'static str> {
        self.said.get("requestBody")?["content"].as_object()?.keys().next().map(String::as_str)
    }

    /// The example of its body.
    pub fn body(&self) -> Option<Vec<u8>> {
        let media = self.media_type()?;
        if media == "image/jpeg" {
            return Some(crate::make::media::jpeg(16, 12));
        }
        let content = &self.said.get("requestBody")?["content"][media];
        let named = content.get("examples").and_then(Value::as_object).and_then(|all| all.values().next());
        let example = content.get("example").or_else(|| named.map(|example| &example["value"]))?;
        Some(match example.as_str() {
            Some(text) => text.as_bytes().to_vec(),
            None => example.to_string().into_bytes(),
        })
    }
}

fn said_example(parameter: &Value) -> String {
    let example = parameter.get("example").or_else(|| parameter["schema"].get("example"));
    match example {
        Some(Value::String(text)) => text.clone(),
        Some(other) => other.to_string(),
        None if parameter["schema"]["type"] == "integer" => parameter["schema"]["minimum"].to_string(),
        None => panic!("the parameter {} has no example", parameter["name"]),
    }
}

/// The value that a reference leads to, or the value itself.
pub fn followed(value: &'static Value) -> &'static Value {
    match value.get("$ref").and_then(Value::as_str) {
        Some(reference) => document().pointer(reference.trim_start_matches('#')).unwrap(),
        None => value,
    }
}
