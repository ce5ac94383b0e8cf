//! Input from a page's address or form.

use actix_web::web::Bytes;
use baywright_core::platform::refusal::{FieldFault, Refused};
use baywright_domain::legible::{is_bidi_control, is_seen};
use baywright_domain::signoff::Strokes;

/// Maximum number of fields of a form that are read; the program's own have far fewer.
const MOST_FIELDS: usize = 200;

/// Maximum length of a field's value: a drawing of 5,000 points fits.
const LONGEST: usize = 120_000;

/// Maximum number of characters of a reason for declining.
const MOST_REASON: usize = 1000;

/// Fields of a query or a form, in order.
#[derive(Debug, Clone, Default)]
pub(super) struct Fields(Vec<(String, String)>);

impl Fields {
    /// The fields of a query string.
    pub(super) fn of_query(query: &str) -> Self {
        Self::read(query.as_bytes())
    }

    /// The fields of a posted form.
    pub(super) fn of_form(bytes: &Bytes) -> Self {
        Self::read(bytes)
    }

    fn read(bytes: &[u8]) -> Self {
        let pairs = url::form_urlencoded::parse(bytes).take(MOST_FIELDS);
        Self(pairs.map(|(name, value)| (name.into_owned(), value.chars().take(LONGEST).collect())).collect())
    }

    /// The first value of a field; empty if there is none. Characters that the program's texts never contain are left
    /// out.
    pub(super) fn text(&self, name: &str) -> String {
        let found = self.0.iter().find(|(known, _)| known == name).map(|(_, value)| value.as_str());
        found.unwrap_or_default().chars().filter(|c| !c.is_control() || *c == '\n').collect()
    }

    /// Whether a field says yes.
    pub(super) fn yes(&self, name: &str) -> bool {
        self.text(name) == "yes"
    }

    /// A field that says yes or no; `None` if it says neither.
    pub(super) fn yes_or_no(&self, name: &str) -> Option<bool> {
        match self.text(name).as_str() {
            "yes" => Some(true),
            "no" => Some(false),
            _ => None,
        }
    }

    /// Indexes of the ticked lines; anything that is not a number becomes an index that no quote has.
    pub(super) fn ticked(&self) -> Vec<usize> {
        let all = self.0.iter().filter(|(name, _)| name == "take");
        let mut places: Vec<usize> = all.map(|(_, value)| value.parse().unwrap_or(usize::MAX - 1)).collect();
        places.sort_unstable();
        places.dedup();
        places
    }

    /// The drawing: lines of points as JSON, such as `[[[10,20],[30,40]]]`; `None` if nothing was drawn.
    pub(super) fn strokes(&self) -> Result<Option<Strokes>, FieldFault> {
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
