//! The mails that a studio's program wrote, read back from the folder they go to while no mail server is set.

use mailparse::{MailHeaderMap, ParsedMail, parse_mail};

use crate::Studio;

/// A mail as a mail program reads it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mail {
    /// Every header in order, decoded.
    pub headers: Vec<(String, String)>,
    /// The subject line.
    pub subject: String,
    /// The recipient, name and address.
    pub to: String,
    /// The plain text, with line feeds.
    pub text: String,
    /// The HTML.
    pub html: String,
    /// Names, media types (with the method of a calendar file) and bytes of what came with it.
    pub attachments: Vec<(String, String, Vec<u8>)>,
}

impl Mail {
    /// Reads the bytes of a mail.
    pub fn read(bytes: &[u8]) -> Self {
        let parsed = parse_mail(bytes).unwrap();
        let headers = parsed.headers.iter().map(|h| (h.get_key(), h.get_value())).collect();
        let mut mail = Self {
            headers,
            subject: parsed.headers.get_first_value("Subject").unwrap_or_default(),
            to: parsed.headers.get_first_value("To").unwrap_or_default(),
            text: String::new(),
            html: String::new(),
            attachments: Vec::new(),
        };
        mail.gather(&parsed);
        mail
    }

    fn gather(&mut self, part: &ParsedMail<'_>) {
        let disposition = part.get_content_disposition();
        if let Some(name) = disposition.params.get("filename") {
            let bytes = part.get_body_raw().unwrap();
            let method = part.ctype.params.get("method").map(|method| format!("; method={method}"));
            let kind = format!("{}{}", part.ctype.mimetype, method.unwrap_or_default());
            self.attachments.push((name.clone(), kind, bytes));
        } else if part.subparts.is_empty() {
            let body = part.get_body().unwrap().replace("\r\n", "\n");
            match part.ctype.mimetype.as_str() {
                "text/html" => self.html.push_str(&body),
                _ => self.text.push_str(&body),
            }
        }
        for inner in &part.subparts {
            self.gather(inner);
        }
    }

    /// A header's value, or empty.
    pub fn header(&self, name: &str) -> &str {
        self.headers.iter().find(|(known, _)| known.eq_ignore_ascii_case(name)).map_or("", |(_, value)| value)
    }

    /// The first address in the text that starts with `start`, up to the end of its line.
    pub fn link(&self, start: &str) -> Option<&str> {
        self.text.lines().find_map(|line| line.find(start).map(|at| line[at..].trim_end()))
    }
}

impl Studio {
    /// Every mail that went out, in the order in which they were written. [`Studio::tick`] sends what waits.
    pub fn mails(&self) -> Vec<Mail> {
        let Ok(folder) = std::fs::read_dir(self.folder().join("mail")) else { return Vec::new() };
        let mut files: Vec<_> = folder.map(|entry| entry.unwrap().path()).collect();
        files.retain(|file| file.extension().is_some_and(|end| end == "eml"));
        files.sort();
        files.iter().map(|file| Mail::read(&std::fs::read(file).unwrap())).collect()
    }

    /// The mails to that address, in order.
    pub fn mails_to(&self, address: &str) -> Vec<Mail> {
        self.mails().into_iter().filter(|mail| mail.to.contains(address)).collect()
    }
}
