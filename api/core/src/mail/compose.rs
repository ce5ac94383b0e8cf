//! Mails as text and HTML: one layout for all, with the shop's name at the top and the next step in the middle.
//!
//! A feature describes the content as a [`Notice`]; both bodies are made from it, so that they can't differ.

use askama::Template;

use crate::platform::fail::{Done, Fail};
use crate::platform::identity::Studio;

/// Content of a mail, in order of reading.
#[derive(Debug, Clone, Default)]
pub struct Notice {
    /// Heading, such as `Your quote for 12 D 3456`.
    pub title: String,
    /// Name in the greeting, such as `Aoife Byrne`; empty for no greeting.
    pub greeting: String,
    /// Paragraphs before the facts.
    pub opening: Vec<String>,
    /// Facts as label and value.
    pub facts: Vec<(String, String)>,
    /// Amounts, table by table. The lines of a table add up to the totals below them.
    pub tables: Vec<Table>,
    /// The next step: label and address of a button.
    pub action: Option<(String, String)>,
    /// Paragraphs after that.
    pub closing: Vec<String>,
    /// Parts at the end, each under its own heading: conditions, proofs.
    pub parts: Vec<Part>,
}

/// A table of a notice.
#[derive(Debug, Clone, Default)]
pub struct Table {
    /// Heading, such as `You can add`; empty if none is needed.
    pub heading: String,
    /// Its lines.
    pub lines: Vec<Line>,
}

/// A line of a table: text and amount.
#[derive(Debug, Clone, Default)]
pub struct Line {
    /// Text, such as `2 × Wheel coating`.
    pub what: String,
    /// Explanations of the amount, a sentence or a few words each.
    pub notes: Vec<String>,
    /// The amount.
    pub amount: String,
    /// Whether it is a total.
    pub total: bool,
}

/// A part at the end of a notice.
#[derive(Debug, Clone, Default)]
pub struct Part {
    /// Its heading, such as `Conditions`.
    pub heading: String,
    /// Its content, one item each.
    pub items: Vec<String>,
}

impl Line {
    /// A line without notes that is not a total.
    pub fn plain(what: impl Into<String>, amount: &impl std::fmt::Display) -> Self {
        Self { what: what.into(), amount: amount.to_string(), ..Self::default() }
    }

    /// A total.
    pub fn total(what: impl Into<String>, amount: &impl std::fmt::Display) -> Self {
        Self { total: true, ..Self::plain(what, amount) }
    }

    /// The same with one more note.
    #[must_use]
    pub fn noting(mut self, note: impl Into<String>) -> Self {
        self.notes.push(note.into());
        self
    }

    /// The same with a note that a discount is already taken off its amount.
    #[must_use]
    pub fn discounted(self, discount: &impl std::fmt::Display, reason: Option<&str>) -> Self {
        match reason.filter(|reason| !reason.is_empty()) {
            Some(reason) => self.noting(format!("After a discount of {discount}: {reason}")),
            None => self.noting(format!("After a discount of {discount}")),
        }
    }
}

impl Part {
    /// The lines of a text, as one item each.
    pub fn of_lines(heading: &str, text: &str) -> Self {
        let items = text.lines().map(str::trim).filter(|line| !line.is_empty()).map(str::to_owned);
        Self { heading: heading.to_owned(), items: items.collect() }
    }
}

/// The two bodies of a mail.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Bodies {
    /// As plain text.
    pub text: String,
    /// As HTML.
    pub html: String,
}

#[derive(Template)]
#[template(path = "mail/notice.html")]
struct Html<'a> {
    studio: &'a str,
    notice: &'a Notice,
}

#[derive(Template)]
#[template(path = "mail/notice.txt", escape = "none")]
struct Plain<'a> {
    studio: &'a str,
    notice: &'a Notice,
    rule: String,
}

/// The bodies of a notice from that studio.
///
/// # Errors
/// If a template does not render, which is a defect.
pub fn bodies(studio: &Studio, notice: &Notice) -> Done<Bodies> {
    let html = Html { studio: &studio.name, notice }.render().map_err(Fail::unexpected)?;
    let rule = "=".repeat(notice.title.chars().count().min(72));
    let text = Plain { studio: &studio.name, notice, rule }.render().map_err(Fail::unexpected)?;
    Ok(Bodies { text, html })
}

#[cfg(test)]
mod tests {
    use baywright_domain::id::ShopId;
    use baywright_domain::money::Currency;

    use super::*;

    fn studio() -> Studio {
        Studio {
            id: ShopId::new("s"),
            name: "Quay & Bay".into(),
            currency: Currency::EUR,
            zone: "Europe/Dublin".into(),
            country: None,
        }
    }

    #[test]
    fn both_bodies_say_the_same_and_html_is_escaped() {
        let notice = Notice {
            title: "Your quote".into(),
            greeting: "<script>".into(),
            opening: vec!["Here it is.".into()],
            facts: vec![("Vehicle".into(), "12 D 3456".into())],
            tables: vec![Table {
                heading: "What is included".into(),
                lines: vec![
                    Line::plain("2 × Wash", &"EUR 80.00").noting("EUR 45.00 each"),
                    Line::total("Total", &"EUR 80.00"),
                ],
            }],
            action: Some(("Read and sign".into(), "https://bay.example/q/abc".into())),
            closing: vec!["It is valid until 28 March.".into()],
            parts: vec![Part::of_lines("Conditions", "One.\n\n  Two.")],
        };
        let bodies = bodies(&studio(), &notice).unwrap();
        for said in [
            "Your quote",
            "Here it is.",
            "12 D 3456",
            "What is included",
            "2 × Wash",
            "EUR 45.00 each",
            "EUR 80.00",
            "https://bay.example/q/abc",
            "28 March",
            "Conditions",
            "One.",
            "Two.",
        ] {
            assert!(bodies.text.contains(said) && bodies.html.contains(said), "{said}");
        }
        assert!(bodies.text.contains("Quay & Bay") && bodies.html.contains("Quay &#38; Bay"));
        assert!(!bodies.html.contains("<script>"));
        // Each condition is an item of its own.
        assert!(bodies.html.contains("One.</li>") && bodies.text.contains("- One.\n- Two.\n"), "{}", bodies.text);
    }
}
