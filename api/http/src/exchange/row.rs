//! A row turned into the body of a single creation, so that both are checked by the same types.

use baywright_core::exchange::sheet::CellFault;
use baywright_core::exchange::usecase::told;
use baywright_core::platform::refusal::Refused;
use serde::de::DeserializeOwned;
use serde_json::{Map, Value};

use crate::platform::body;

/// Reads a row's fields as a body and checks it; `known` faults of its cells are reported along with those found here.
/// `column` names the column for a JSON pointer.
pub(super) fn typed<B: DeserializeOwned, T>(
    fields: Map<String, Value>,
    mut known: Vec<CellFault>,
    column: impl Fn(&str) -> String,
    check: impl FnOnce(B) -> Result<T, Refused>,
) -> Result<T, Vec<CellFault>> {
    let found = match tried(fields, &column, check) {
        Ok(value) if known.is_empty() => return Ok(value),
        Ok(_) => Vec::new(),
        Err(found) => found,
    };
    // What is missing in a cell is missing in the body too: one report is enough.
    let news = |fault: &CellFault| known.iter().all(|one| one.column != fault.column && !fault.column.is_empty());
    let found: Vec<CellFault> = found.into_iter().filter(news).collect();
    known.extend(found);
    Err(known)
}

/// Every faulty field is found, since each is removed before the next try.
fn tried<B: DeserializeOwned, T>(
    mut fields: Map<String, Value>,
    column: &impl Fn(&str) -> String,
    check: impl FnOnce(B) -> Result<T, Refused>,
) -> Result<T, Vec<CellFault>> {
    let mut faults: Vec<CellFault> = Vec::new();
    loop {
        let problem = match body::parse::<B>(Value::Object(fields.clone()).to_string().as_bytes()) {
            Ok(body) if faults.is_empty() => return check(body).map_err(|problem| told(&problem, column)),
            Ok(_) => return Err(faults),
            Err(problem) => problem.refused().clone(),
        };
        // A required field that was removed is then missing, which was already reported.
        let consequence = !faults.is_empty() && problem.detail().starts_with("missing field");
        if !consequence {
            faults.extend(told(&problem, column));
        }
        let pointer = problem.errors().first().map_or("", |fault| fault.pointer.as_str());
        if !take_out(&mut fields, pointer) {
            return Err(faults);
        }
    }
}

/// Removes the innermost field that a pointer leads to; false if it leads to none.
fn take_out(mut fields: &mut Map<String, Value>, pointer: &str) -> bool {
    let mut parts = pointer.trim_start_matches('/').split('/').peekable();
    while let Some(part) = parts.next() {
        let goes_on = parts.peek().is_some() && fields.get(part).is_some_and(Value::is_object);
        if !goes_on {
            return fields.remove(part).is_some();
        }
        let Some(Value::Object(inner)) = fields.get_mut(part) else { return false };
        fields = inner;
    }
    false
}
