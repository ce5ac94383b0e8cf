//! Input from a page's address or form.

use baywright_core::platform::refusal::{FieldFault, Refused};
use baywright_domain::legible::{is_bidi_control, is_seen};
use baywright_domain::signoff::Strokes;

pub(super) use crate::platform::form::Fields;

/// Maximum number of characters of a reason for declining.
const MOST_REASON: usize = 1000;

/// What the customer's own forms bring beside text.
pub(super) trait Choice {
    /// Indexes of the ticked lines; anything that is not a number becomes an index that no quote has.
    fn ticked(&self) -> Vec<usize>;

    /// The drawing: lines of points as JSON, such as `[[[10,20],[30,40]]]`; `None` if nothing was drawn.
    fn strokes(&self) -> Result<Option<Strokes>, FieldFault>;
}

impl Choice for Fields {
    fn ticked(&self) -> Vec<usize> {
        let mut places: Vec<usize> = self.all("take").map(|value| value.parse().unwrap_or(usize::MAX - 1)).collect();
        places.sort_unstable();
        places.dedup();
        places
    }

    fn strokes(&self) -> Result<Option<Strokes>, FieldFault> {
        let text = self.text("strokes");
        if text.is_empty() || text == "[]" {
            return Ok(None);
        }
        let fault = |detail: String| FieldFault { pointer: "/strokes".into(), code: "bad_strokes".into(), detail };
        let lines: Vec<Vec<(u16, u16)>> = serde_json::from_str(&text)
            .map_err(|_| fault("The drawing can't be read. Draw it again, or leave it out.".to_owned()))?;
        Strokes::new(lines).map(Some).map_err(|refusal| fault(refusal.to_string()))
    }
}

/// A reason for the use cases: trimmed, and empty if nothing in it is visible. `None` if it is too long or has
/// characters that change the reading direction.
pub(super) fn readable(reason: &str) -> Option<&str> {
    let fits = reason.chars().count() <= MOST_REASON && !reason.chars().any(is_bidi_control);
    fits.then(|| Some(reason.trim()).filter(|text| is_seen(text)).unwrap_or_default())
}

/// The query with the ticked lines.
pub(super) fn query_of(ticked: &[usize]) -> String {
    let takes: Vec<String> = ticked.iter().map(|place| format!("take={place}")).collect();
    takes.join("&")
}

/// An address with the ticked lines.
pub(super) fn with_ticked(path: &str, ticked: &[usize]) -> String {
    match query_of(ticked).as_str() {
        "" => path.to_owned(),
        query => format!("{path}?{query}"),
    }
}

/// The faults of a problem, or its text as a single fault.
pub(super) fn faults_of(problem: &Refused) -> Vec<FieldFault> {
    if problem.errors().is_empty() {
        let fault =
            FieldFault { pointer: String::new(), code: problem.code().into(), detail: problem.detail().to_owned() };
        return vec![fault];
    }
    problem.errors().to_vec()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_read_once_each_and_nonsense_names_no_line() {
        let fields = Fields::of_query("take=3&take=1&take=3&other=9&take=x");
        assert_eq!(fields.ticked(), [1, 3, usize::MAX - 1]);
        assert_eq!(query_of(&[1, 3]), "take=1&take=3");
        assert_eq!(with_ticked("/q/t", &[]), "/q/t");
    }

    #[test]
    fn a_reason_is_trimmed_and_bounded() {
        assert_eq!(readable(" too dear \n"), Some("too dear"));
        assert_eq!([readable(""), readable(" \u{200b} ")], [Some(""); 2]);
        assert!(readable(&"a".repeat(1000)).is_some());
        assert_eq!([readable(&"a".repeat(1001)), readable("a\u{202e}b")], [None; 2]);
    }

    #[test]
    fn a_drawing_is_read_or_refused_with_what_to_do() {
        let read = |value: &str| Fields::of_query(&format!("strokes={value}")).strokes();
        assert!(matches!(read(""), Ok(None)));
        assert!(matches!(read("[]"), Ok(None)));
        let drawn = read("[[[0,0],[10000,10000]]]").unwrap().unwrap();
        assert_eq!(drawn.lines(), [vec![(0, 0), (10_000, 10_000)]]);
        for bad in ["[[[0,0],[10001,0]]]", "nonsense", "[[[-1,0]]]", "[[]]"] {
            assert_eq!(read(bad).unwrap_err().pointer, "/strokes", "{bad}");
        }
    }
}
