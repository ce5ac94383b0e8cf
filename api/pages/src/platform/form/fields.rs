//! Fields from a page's address or form.

/// Maximum number of fields of a form that are read.
const MOST_FIELDS: usize = 1000;

/// Maximum length of a field's value: a drawn signature of 5,000 points fits.
const LONGEST: usize = 120_000;

/// Fields of a query or a form, in order.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Fields(Vec<(String, String)>);

impl Fields {
    /// The fields of a query string.
    pub fn of_query(query: &str) -> Self {
        Self::of_form(query.as_bytes())
    }

    /// The fields of a posted form.
    pub fn of_form(bytes: &[u8]) -> Self {
        let pairs = url::form_urlencoded::parse(bytes).take(MOST_FIELDS);
        Self(pairs.map(|(name, value)| (name.into_owned(), value.chars().take(LONGEST).collect())).collect())
    }

    /// The fields of a record, as a form would bring them.
    pub fn of_record<N: Into<String>>(pairs: impl IntoIterator<Item = (N, String)>) -> Self {
        Self(pairs.into_iter().map(|(name, value)| (name.into(), value)).collect())
    }

    /// The same fields and more.
    #[must_use]
    pub fn and(mut self, more: Self) -> Self {
        self.0.extend(more.0);
        self
    }

    /// The first value of a field; empty if there is none. Characters that the program's texts never contain are left
    /// out.
    pub fn text(&self, name: &str) -> String {
        self.all(name).next().unwrap_or_default().chars().filter(|c| !c.is_control() || *c == '\n').collect()
    }

    /// The first value of a field to the character, for passwords; empty if there is none.
    pub fn exact(&self, name: &str) -> String {
        self.all(name).next().unwrap_or_default().to_owned()
    }

    /// All values of a field, in order.
    pub fn all(&self, name: &str) -> impl Iterator<Item = &str> {
        self.0.iter().filter(move |(known, _)| known == name).map(|(_, value)| value.as_str())
    }

    /// Whether there is such a field, filled in or not.
    pub fn has(&self, name: &str) -> bool {
        self.all(name).next().is_some()
    }

    /// Name and value of every field, in order.
    pub fn pairs(&self) -> &[(String, String)] {
        &self.0
    }

    /// Whether a field says yes.
    pub fn yes(&self, name: &str) -> bool {
        self.text(name) == "yes"
    }

    /// A field that says yes or no; `None` if it says neither.
    pub fn yes_or_no(&self, name: &str) -> Option<bool> {
        match self.text(name).as_str() {
            "yes" => Some(true),
            "no" => Some(false),
            _ => None,
        }
    }
}
