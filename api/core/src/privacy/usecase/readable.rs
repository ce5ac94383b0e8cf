//! A row in readable form: times in the shop's time zone, amounts in its currency, and stored JSON as JSON.

use baywright_domain::calendar::{Zone, ZoneRules};
use baywright_domain::money::{Currency, Money};
use baywright_domain::time::Minute;
use serde_json::{Value, json};

use crate::platform::clock::UtcTime;
use crate::platform::fail::Done;
use crate::platform::kept::Amount;
use crate::platform::token;
use crate::platform::tx::Tx;

/// Columns that hold an amount in the currency's smallest unit.
const AMOUNTS: [&str; 10] =
    ["amount", "change", "deposit", "net", "open", "paid", "payable", "surplus", "tax", "written_off"];
/// Columns that hold a time in milliseconds, besides those whose name ends in `_at`.
const MOMENTS: [&str; 4] = ["at", "clear_from", "hold_until", "holds_until"];
/// Columns that hold a moment in minutes.
const MINUTES: [&str; 3] = ["agreed_starts", "finishes", "starts"];
/// Lists in kept JSON whose numbers are moments in milliseconds.
const MOMENT_LISTS: [&str; 1] = ["pieces"];
/// Column of the log whose JSON has amounts in the smallest unit, as text.
const LOG_DETAIL: &str = "detail";

/// Turns rows into readable form.
pub(super) struct Reader {
    zone: Zone,
    currency: Currency,
}

impl Reader {
    /// The shop's zone and currency.
    pub(super) fn of(tx: &Tx<'_>) -> Done<Self> {
        Ok(Self { zone: Zone::named(&tx.studio.zone)?, currency: tx.studio.currency })
    }

    /// A row in readable form.
    pub(super) fn row(&self, row: &Value) -> Value {
        let Some(columns) = row.as_object() else { return row.clone() };
        let read = columns.iter().map(|(name, value)| (name.clone(), self.value(name, value)));
        Value::Object(read.collect())
    }

    fn value(&self, name: &str, value: &Value) -> Value {
        let read = match value {
            Value::Number(number) => number.as_i64().and_then(|number| self.number(name, number)),
            Value::String(text) if text.starts_with(['{', '[']) => {
                serde_json::from_str(text).ok().map(|kept: Value| self.kept(name, name, &kept))
            }
            Value::String(text) => Some(json!(without_secrets(text))),
            _ => None,
        };
        read.unwrap_or_else(|| value.clone())
    }

    /// A part of the JSON in `column`. Its numbers have their units beside them, except for times, and for amounts in
    /// the log.
    fn kept(&self, column: &str, name: &str, part: &Value) -> Value {
        let read = match part {
            Value::Object(fields) => {
                let fields = fields.iter().map(|(name, one)| (name.clone(), self.kept(column, name, one)));
                Some(Value::Object(fields.collect()))
            }
            Value::Array(list) => Some(list.iter().map(|one| self.kept(column, name, one)).collect()),
            Value::Number(number) if is_moment(name) || MOMENT_LISTS.contains(&name) => {
                number.as_i64().map(|ms| self.moment(ms))
            }
            Value::String(text) if column == LOG_DETAIL && AMOUNTS.contains(&name) => {
                text.parse().ok().map(|minor| self.amount(minor))
            }
            _ => None,
        };
        read.unwrap_or_else(|| part.clone())
    }

    fn moment(&self, ms: i64) -> Value {
        json!(self.zone.wall(UtcTime::from_ms(ms).minute()))
    }

    fn amount(&self, minor: i64) -> Value {
        json!(Amount::of(Money::from_minor(minor), self.currency).to_string())
    }

    fn number(&self, name: &str, number: i64) -> Option<Value> {
        if is_moment(name) {
            Some(self.moment(number))
        } else if MINUTES.contains(&name) {
            Some(json!(self.zone.wall(Minute::new(number))))
        } else if AMOUNTS.contains(&name) {
            Some(self.amount(number))
        } else {
            None
        }
    }
}

/// Whether a field of that name holds a moment in milliseconds.
fn is_moment(name: &str) -> bool {
    name.ends_with("_at") || MOMENTS.contains(&name)
}

/// Text, such as a mail's, without the secrets of links in it.
fn without_secrets(text: &str) -> String {
    LINKS.iter().fold(text.to_owned(), |text, link| without_secrets_of(&text, link))
}

fn without_secrets_of(text: &str, link: &str) -> String {
    let mut parts = text.split(link);
    let mut told = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        let secret = part.get(..token::LETTERS).is_some_and(token::is_plausible);
        let rest = if secret { part.get(token::LETTERS..).unwrap_or_default() } else { part };
        told.extend([link, if secret { "…" } else { "" }, rest]);
    }
    told
}

/// Text before the secret in the addresses of a customer's pages.
const LINKS: [&str; 2] = ["/q/", "/c/"];
