//! Text in the cells of a spreadsheet.
//!
//! A spreadsheet that opens a list treats a cell whose text starts with certain signs as a formula and runs it, whoever
//! wrote it (OWASP, "CSV Injection"; ASVS 5.0.0, 1.2.10). Such text is exported with an apostrophe before it, which
//! makes it text to a spreadsheet, and the apostrophe is removed when the list is imported again.

use alloc::borrow::Cow;
use alloc::format;

/// The signs that start a formula, also in the full-width form that some spreadsheets accept for the same; and those
/// that a spreadsheet may skip before one.
const FORMULA: [char; 12] =
    ['=', '+', '-', '@', '\t', '\r', '\n', '\0', '\u{ff1d}', '\u{ff0b}', '\u{ff0d}', '\u{ff20}'];

/// Text that already starts with apostrophes gets one more, so that reading it back gives the same text.
fn needs_guard(text: &str) -> bool {
    text.trim_start_matches('\'').starts_with(FORMULA)
}

/// The text as it is written into a cell: never the start of a formula.
pub fn guarded(text: &str) -> Cow<'_, str> {
    if needs_guard(text) { Cow::Owned(format!("'{text}")) } else { Cow::Borrowed(text) }
}

/// The text of a cell.
pub fn plain(cell: &str) -> &str {
    match cell.strip_prefix('\'') {
        Some(text) if needs_guard(text) => text,
        _ => cell,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_that_starts_a_formula_is_guarded_and_reads_back() {
        for text in ["=1+1", "+353 20", "-2", "@SUM(A1)", "\t=1", "\r=1", "\n", "\0", "＝1", "＋1", "－1", "＠x", "'=1"]
        {
            let cell = guarded(text);
            assert!(cell.starts_with('\'') && cell.len() == text.len() + 1, "{text:?}");
            assert_eq!(plain(&cell), text);
        }
    }

    #[test]
    fn other_text_is_left_as_it_is() {
        for text in ["", "Aoife Byrne", "1-2", "a=b", "'s-Hertogenbosch", "'", "''", "O'Brien", " = "] {
            assert_eq!((guarded(text).as_ref(), plain(text)), (text, text));
        }
    }
}
