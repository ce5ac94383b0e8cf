//! A writer of XML: elements, attributes and escaped text on one line, in the order in which they are written.

/// A document that is being written.
pub(crate) struct Xml {
    text: String,
}

/// Attributes of an element, each a name and a value.
pub(crate) type Attributes<'a> = &'a [(&'static str, &'a str)];

impl Xml {
    /// An empty document.
    pub(crate) fn new() -> Self {
        Self { text: String::from("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n") }
    }

    /// Writes an element with what `inside` writes in it.
    pub(crate) fn element(&mut self, name: &'static str, inside: impl FnOnce(&mut Self)) {
        self.element_with(name, &[], inside);
    }

    /// The same with attributes.
    pub(crate) fn element_with(
        &mut self,
        name: &'static str,
        attributes: Attributes<'_>,
        inside: impl FnOnce(&mut Self),
    ) {
        self.open(name, attributes);
        inside(self);
        self.close(name);
    }

    /// Writes an element with text in it.
    pub(crate) fn text(&mut self, name: &'static str, text: impl AsRef<str>) {
        self.text_with(name, &[], text);
    }

    /// The same with attributes.
    pub(crate) fn text_with(&mut self, name: &'static str, attributes: Attributes<'_>, text: impl AsRef<str>) {
        self.open(name, attributes);
        self.escaped(text.as_ref());
        self.close(name);
    }

    /// Writes an element if there is a text for it.
    pub(crate) fn maybe(&mut self, name: &'static str, text: Option<impl AsRef<str>>) {
        if let Some(text) = text {
            self.text(name, text);
        }
    }

    /// The finished document.
    pub(crate) fn finish(self) -> String {
        self.text
    }

    fn open(&mut self, name: &str, attributes: Attributes<'_>) {
        self.text.push('<');
        self.text.push_str(name);
        for (name, value) in attributes {
            self.text.push(' ');
            self.text.push_str(name);
            self.text.push_str("=\"");
            self.escaped(value);
            self.text.push('"');
        }
        self.text.push('>');
    }

    fn close(&mut self, name: &str) {
        self.text.push_str("</");
        self.text.push_str(name);
        self.text.push('>');
    }

    /// Writes text; what XML 1.0 has no place for, such as control characters, is left out.
    fn escaped(&mut self, text: &str) {
        for c in text.chars() {
            match c {
                '&' => self.text.push_str("&amp;"),
                '<' => self.text.push_str("&lt;"),
                '>' => self.text.push_str("&gt;"),
                '"' => self.text.push_str("&quot;"),
                '\t' | '\n' | ' '..='\u{d7ff}' | '\u{e000}'..='\u{fffd}' | '\u{10000}'..='\u{10ffff}' => {
                    self.text.push(c)
                }
                _ => {}
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_is_escaped_and_what_xml_can_not_hold_is_left_out() {
        let mut xml = Xml::new();
        xml.element_with("a", &[("b", "\"<")], |xml| {
            xml.text("c", "R & D <\u{7}\u{fffe}\u{1f697}>");
            xml.maybe("d", None::<&str>);
        });
        let head = "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n";
        let body = "<a b=\"&quot;&lt;\"><c>R &amp; D &lt;\u{1f697}&gt;</c></a>";
        assert_eq!(xml.finish(), format!("{head}{body}"));
    }
}
