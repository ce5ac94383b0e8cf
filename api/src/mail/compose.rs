//! Mails as text and HTML: one frame for all, with the shop's name above and what to do in the middle.
//!
//! A feature says what is to be said as a [`Notice`]; both bodies come out of it, so that they can't differ.

use askama::Template;

use crate::platform::fail::{Done, Fail};
use crate::platform::identity::Studio;

/// What a mail says, in order of reading.
#[derive(Debug, Clone, Default)]
pub struct Notice {
    /// Heading, such as `Your quote for 12 D 3456`.
    pub title: String,
    /// Whom it greets, such as `Aoife Byrne`; empty for nobody.
    pub greeting: String,
    /// Paragraphs before the facts.
    pub opening: Vec<String>,
    /// Facts as label and value.
    pub facts: Vec<(String, String)>,
    /// Lines of a table: what, and how much.
    pub lines: Vec<Line>,
    /// One thing to do: label and address.
    pub action: Option<(String, String)>,
    /// Paragraphs after that.
    pub closing: Vec<String>,
}

/// A line of a notice's table.
#[derive(Debug, Clone, Default)]
pub struct Line {
    /// What it is.
    pub what: String,
    /// How much it is.
    pub amount: String,
    /// Whether it is a total.
    pub total: bool,
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
/// A defect: a template that does not render.
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
        }
    }

    #[test]
    fn both_bodies_say_the_same_and_html_is_escaped() {
        let notice = Notice {
            title: "Your quote".into(),
            greeting: "<script>".into(),
            opening: vec!["Here it is.".into()],
            facts: vec![("Vehicle".into(), "12 D 3456".into())],
            lines: vec![Line { what: "Wash".into(), amount: "EUR 90.00".into(), total: false }],
            action: Some(("Read and sign".into(), "https://bay.example/q/abc".into())),
            closing: vec!["It holds until 28 March.".into()],
        };
        let bodies = bodies(&studio(), &notice).unwrap();
        for said in ["Your quote", "Here it is.", "12 D 3456", "EUR 90.00", "https://bay.example/q/abc", "28 March"] {
            assert!(bodies.text.contains(said) && bodies.html.contains(said), "{said}");
        }
        assert!(bodies.text.contains("Quay & Bay") && bodies.html.contains("Quay &#38; Bay"));
        assert!(!bodies.html.contains("<script>"));
    }
}
