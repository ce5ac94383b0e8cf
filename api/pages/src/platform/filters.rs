//! Filters of the pages' templates.

#![allow(missing_docs, clippy::inline_always, reason = "the macro makes items that it gives no documentation")]

use std::fmt::Write;

use askama::filters::Safe;

/// Text as HTML in which numbers of documents and number plates, such as `Q-2026-0042`, stay on one line: browsers break
/// lines at hyphens.
#[askama::filter_fn]
pub fn whole_numbers(text: impl ToString, _: &dyn askama::Values) -> askama::Result<Safe<String>> {
    Ok(Safe(with_whole_numbers(&text.to_string())))
}

fn with_whole_numbers(text: &str) -> String {
    let mut html = String::with_capacity(text.len() + 64);
    for part in text.split_inclusive(char::is_whitespace) {
        let word = part.trim_end();
        let space = &part[word.len()..];
        if is_number(word) {
            let _ = write!(html, "<span class=\"whole\">{}</span>", escaped(word));
        } else {
            html.push_str(&escaped(word));
        }
        html.push_str(space);
    }
    html
}

fn is_number(word: &str) -> bool {
    word.len() <= 40 && word.contains('-') && word.bytes().any(|byte| byte.is_ascii_digit())
}

fn escaped(text: &str) -> String {
    let mut html = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => html.push_str("&amp;"),
            '<' => html.push_str("&lt;"),
            '>' => html.push_str("&gt;"),
            '"' => html.push_str("&quot;"),
            '\'' => html.push_str("&#39;"),
            c => html.push(c),
        }
    }
    html
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_stay_on_one_line_and_everything_else_stays_text() {
        assert_eq!(
            with_whole_numbers("Quote Q-2026-0042 is <accepted> & well-known"),
            "Quote <span class=\"whole\">Q-2026-0042</span> is &lt;accepted&gt; &amp; well-known"
        );
        assert_eq!(with_whole_numbers("<b>1-2</b>"), "<span class=\"whole\">&lt;b&gt;1-2&lt;/b&gt;</span>");
        assert_eq!(with_whole_numbers(""), "");
    }
}
