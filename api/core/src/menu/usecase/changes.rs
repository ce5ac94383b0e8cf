//! The effect of publishing the draft on the menu in force.

use std::collections::BTreeSet;

use serde::Serialize;
use serde_json::Value;

use super::draft::{Draft, Judged, validated};
use super::{InForce, Revision, find_in_force};
use crate::menu::kept::{MenuForm, for_programs};
use crate::platform::fail::{Done, Fail};
use crate::platform::tx::Tx;

/// Kind of difference.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ChangeKind {
    /// Only the draft has it.
    Added,
    /// Only the menu in force has it.
    Removed,
    /// Both have it, with different values.
    Changed,
}

impl ChangeKind {
    /// Every kind.
    pub const ALL: &'static [Self] = &[Self::Added, Self::Removed, Self::Changed];

    /// The word for programs.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Added => "ADDED",
            Self::Removed => "REMOVED",
            Self::Changed => "CHANGED",
        }
    }
}

crate::words! { ChangeKind => "MenuChangeKind" }

/// One value of an item before and after.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FieldChange {
    /// JSON pointer into the item, such as `/price/amounts/small/amount`.
    pub pointer: String,
    /// The value in the menu in force, as text; none if it had none.
    pub before: Option<String>,
    /// The value in the draft, as text; none if it has none.
    pub after: Option<String>,
}

/// An item that differs between the menu in force and the draft.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    /// The list that it is in: `checkpoints`, `products`, `steps`, `services` or `packages`.
    pub list: &'static str,
    /// Code of the item; for a checkpoint its stage.
    pub code: String,
    /// Name of the item; for a checkpoint its reason.
    pub name: String,
    /// Kind of difference.
    pub kind: ChangeKind,
    /// The values that differ; empty unless it changed.
    pub fields: Vec<FieldChange>,
}

/// Everything that publishing would change.
#[derive(Debug, Clone)]
pub struct Changes {
    /// The draft.
    pub draft: Draft,
    /// Faults and warnings of the draft.
    pub judged: Judged,
    /// The revision in force; `None` before the first.
    pub since: Option<Revision>,
    /// The items that differ, by list and in the order of the menus.
    pub changes: Vec<Change>,
}

/// The effect of publishing the draft on the menu in force.
pub fn changes(tx: &mut Tx<'_>) -> Done<Changes> {
    let (draft, judged) = validated(tx)?;
    let (since, before) = match find_in_force(tx)? {
        Some(InForce { revision, form, .. }) => (Some(revision), form),
        None => (None, MenuForm::empty()),
    };
    let changes = between(&before, &draft.menu)?;
    Ok(Changes { draft, judged, since, changes })
}

fn between(before: &MenuForm, after: &MenuForm) -> Done<Vec<Change>> {
    let mut changes = Vec::new();
    compare("checkpoints", &before.checkpoints, &after.checkpoints, &mut changes)?;
    compare("products", &before.products, &after.products, &mut changes)?;
    compare("steps", &before.steps, &after.steps, &mut changes)?;
    compare("services", &before.services, &after.services, &mut changes)?;
    compare("packages", &before.packages, &after.packages, &mut changes)?;
    Ok(changes)
}

fn compare<T: Serialize>(list: &'static str, before: &[T], after: &[T], changes: &mut Vec<Change>) -> Done<()> {
    let values = |items: &[T]| items.iter().map(for_programs).collect::<Result<Vec<Value>, _>>();
    let (before, after) = (values(before).map_err(Fail::unexpected)?, values(after).map_err(Fail::unexpected)?);
    let find = |items: &[Value], wanted: &Value| items.iter().find(|item| key(item) == key(wanted)).cloned();
    for old in before.iter().filter(|old| find(&after, old).is_none()) {
        changes.push(change(list, old, ChangeKind::Removed, Vec::new()));
    }
    for new in &after {
        match find(&before, new) {
            None => changes.push(change(list, new, ChangeKind::Added, Vec::new())),
            Some(old) if old == *new => {}
            Some(old) => {
                let mut fields = Vec::new();
                differences(String::new(), Some(&old), Some(new), &mut fields);
                changes.push(change(list, new, ChangeKind::Changed, fields));
            }
        }
    }
    Ok(())
}

/// Key of an item: its code, or the stage of a checkpoint.
fn key(item: &Value) -> String {
    let key = item.get("code").or_else(|| item.get("stage"));
    key.map(text).unwrap_or_default()
}

fn change(list: &'static str, item: &Value, kind: ChangeKind, fields: Vec<FieldChange>) -> Change {
    let name = item.get("name").or_else(|| item.get("reason")).map(text).unwrap_or_default();
    Change { list, code: key(item), name, kind, fields }
}

/// The values that differ, down to the last object; a list is compared as a whole.
fn differences(pointer: String, before: Option<&Value>, after: Option<&Value>, found: &mut Vec<FieldChange>) {
    if before == after {
        return;
    }
    if let (Some(Value::Object(old)), Some(Value::Object(new))) = (before, after) {
        let names: BTreeSet<&String> = old.keys().chain(new.keys()).collect();
        for name in names {
            differences(format!("{pointer}/{name}"), old.get(name), new.get(name), found);
        }
        return;
    }
    let said = |value: Option<&Value>| value.filter(|value| !value.is_null()).map(text);
    found.push(FieldChange { pointer, before: said(before), after: said(after) });
}

/// Maximum number of characters of a value that are shown.
const SHOWN: usize = 500;

fn text(value: &Value) -> String {
    let whole = value.as_str().map_or_else(|| value.to_string(), str::to_owned);
    if whole.chars().count() <= SHOWN {
        return whole;
    }
    whole.chars().take(SHOWN - 1).chain(['…']).collect()
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    #[test]
    fn differences_are_named_down_to_the_value() {
        let before =
            json!({ "name": "Wash", "price": { "small": { "amount": "1.00" }, "large": null }, "steps": ["a"] });
        let after =
            json!({ "name": "Wash", "price": { "small": { "amount": "2.00" }, "large": null }, "steps": ["a", "b"] });
        let mut found = Vec::new();
        differences(String::new(), Some(&before), Some(&after), &mut found);
        let field = |pointer: &str, before: &str, after: &str| FieldChange {
            pointer: pointer.into(),
            before: Some(before.into()),
            after: Some(after.into()),
        };
        assert_eq!(found, [field("/price/small/amount", "1.00", "2.00"), field("/steps", r#"["a"]"#, r#"["a","b"]"#)]);
    }
}
