//! A row as people read it: moments on the shop's wall, amounts in its currency, and kept JSON as JSON.

use baywright_domain::calendar::{Zone, ZoneRules};
use baywright_domain::money::{Currency, Money};
use baywright_domain::time::Minute;
use serde_json::{Value, json};

use crate::platform::clock::UtcTime;
use crate::platform::fail::Done;
use crate::platform::token;
use crate::platform::tx::Tx;
use crate::platform::wire::Amount;

/// Columns that hold an amount in the currency's smallest unit.
const AMOUNTS: [&str; 10] =
    ["amount", "change", "deposit", "net", "open", "paid", "payable", "surplus", "tax", "written_off"];
/// Columns that hold a moment in milliseconds, beside those whose name ends in `_at`.
const MOMENTS: [&str; 4] = ["at", "clear_from", "hold_until", "holds_until"];
/// Columns that hold a moment in minutes.
const MINUTES: [&str; 2] = ["finishes", "starts"];

/// Turns rows into what people read.
pub(super) struct Reader {
    zone: Zone,
    currency: Currency,
}

impl Reader {
    /// For the shop's zone and currency.
    pub(super) fn of(tx: &Tx<'_>) -> Done<Self> {
        Ok(Self { zone: Zone::named(&tx.studio.zone)?, currency: tx.studio.currency })
    }

    /// A row as people read it.
    pub(super) fn row(&self, row: &Value) -> Value {
        let Some(columns) = row.as_object() else { return row.clone() };
        let read = columns.iter().map(|(name, value)| (name.clone(), self.value(name, value)));
        Value::Object(read.collect())
    }

    fn value(&self, name: &str, value: &Value) -> Value {
        let read = match value {
            Value::Number(number) => number.as_i64().and_then(|number| self.number(name, number)),
            Value::String(text) if text.starts_with(['{', '[']) => serde_json::from_str(text).ok(),
            Value::String(text) => Some(json!(without_secrets(text))),
            _ => None,
        };
        read.unwrap_or_else(|| value.clone())
    }

    fn number(&self, name: &str, number: i64) -> Option<Value> {
        if name.ends_with("_at") || MOMENTS.contains(&name) {
            Some(json!(self.zone.wall(UtcTime::from_ms(number).minute())))
        } else if MINUTES.contains(&name) {
            Some(json!(self.zone.wall(Minute::new(number))))
        } else if AMOUNTS.contains(&name) {
            Some(json!(Amount::of(Money::from_minor(number), self.currency).to_string()))
        } else {
            None
        }
    }
}

/// Text, as a mail's, without the secrets of links in it.
fn without_secrets(text: &str) -> String {
    let mut parts = text.split(LINK);
    let mut told = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        let secret = part.get(..token::LETTERS).is_some_and(token::is_plausible);
        let rest = if secret { part.get(token::LETTERS..).unwrap_or_default() } else { part };
        told.extend([LINK, if secret { "…" } else { "" }, rest]);
    }
    told
}

/// What stands before the secret in the address of a customer's page.
const LINK: &str = "/q/";
