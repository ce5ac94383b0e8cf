//! Columns as JSON, written one after the other.

use chrono::{DateTime, SecondsFormat, Utc};
use rusqlite::Row;

/// An object under way.
pub(super) struct Object<'o> {
    out: &'o mut String,
    first: bool,
}

impl<'o> Object<'o> {
    pub(super) fn start(out: &'o mut String) -> Self {
        out.push('{');
        Self { out, first: true }
    }

    /// The place where the value of that name is to be written.
    pub(super) fn name(&mut self, name: &str) -> &mut String {
        if !self.first {
            self.out.push(',');
        }
        self.first = false;
        self.out.push('"');
        self.out.push_str(name);
        self.out.push_str("\":");
        self.out
    }

    /// A value that is JSON already.
    pub(super) fn raw(&mut self, name: &str, json: &str) {
        self.name(name).push_str(json);
    }

    pub(super) fn number(&mut self, name: &str, value: i64) {
        let value = value.to_string();
        self.raw(name, &value);
    }

    pub(super) fn text(&mut self, name: &str, value: Option<&str>) {
        match value {
            Some(value) => string(self.name(name), value),
            None => self.raw(name, "null"),
        }
    }

    /// A column of text.
    pub(super) fn column(&mut self, name: &str, row: &Row<'_>, at: usize) {
        self.text(name, row.get_ref(at).unwrap().as_str_or_null().unwrap());
    }

    /// Milliseconds as a moment.
    pub(super) fn moment(&mut self, name: &str, ms: Option<i64>) {
        match ms {
            Some(ms) => moment(self.name(name), ms),
            None => self.raw(name, "null"),
        }
    }

    /// Hundredths of the currency's unit as an amount.
    pub(super) fn amount(&mut self, name: &str, minor: Option<i64>, currency: &str) {
        match minor {
            Some(minor) => {
                let text = format!("{{\"amount\":\"{}.{:02}\",\"currency\":\"{currency}\"}}", minor / 100, minor % 100);
                self.raw(name, &text);
            }
            None => self.raw(name, "null"),
        }
    }

    pub(super) fn end(self) {
        self.out.push('}');
    }
}

/// A list, each part of it written by `write`.
pub(super) fn list<T>(out: &mut String, items: impl Iterator<Item = T>, mut write: impl FnMut(&mut String, T)) {
    out.push('[');
    for (at, item) in items.enumerate() {
        if at > 0 {
            out.push(',');
        }
        write(out, item);
    }
    out.push(']');
}

fn string(out: &mut String, value: &str) {
    let plain = |c: char| c >= ' ' && c != '"' && c != '\\';
    if value.chars().all(plain) {
        out.push('"');
        out.push_str(value);
        out.push('"');
    } else {
        out.push_str(&serde_json::to_string(value).unwrap());
    }
}

fn moment(out: &mut String, ms: i64) {
    let time: DateTime<Utc> = DateTime::from_timestamp_millis(ms).unwrap();
    out.push('"');
    out.push_str(&time.to_rfc3339_opts(SecondsFormat::AutoSi, true));
    out.push('"');
}

/// The moment that it is, in milliseconds.
#[allow(clippy::disallowed_methods, reason = "beside the program, which runs by the real clock")]
pub(super) fn now() -> i64 {
    Utc::now().timestamp_millis()
}
