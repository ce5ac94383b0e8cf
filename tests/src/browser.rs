//! A browser of somebody in the studio: it signs in by cookie and runs no scripts.

use baywright_core::access::usecase::open_on_pages;
use baywright_core::platform::identity::Role;
use baywright_domain::id::PersonId;

use crate::Studio;
use crate::answer::Answer;
use crate::markup;
use crate::person::Person;
use crate::visitor::hidden;

/// Media types that browsers name.
pub const ACCEPT: &str = "text/html,application/xhtml+xml,application/xml;q=0.9,*/*;q=0.8";

/// A browser, with the cookie of a sign-in or without.
pub struct Browser {
    person: Person,
    cookie: Option<String>,
    /// The cookie of an enrolled tablet.
    tablet: Option<String>,
}

impl Studio {
    /// A browser in which nobody has signed in.
    pub fn browser(&self) -> Browser {
        Browser { person: self.nobody(), cookie: None, tablet: None }
    }

    /// A browser in which a new colleague of that role has signed in.
    pub fn browser_of(&self, role: Role) -> Browser {
        self.browser_of_person(&self.hire(role))
    }

    /// A browser in which that person has signed in.
    pub fn browser_of_person(&self, id: &PersonId) -> Browser {
        let token = self.in_shop(self.shop(), |tx| open_on_pages(tx, id));
        Browser { person: self.nobody(), cookie: Some(format!("baywright={}", token.as_str())), tablet: None }
    }
}

impl Browser {
    /// The same browser after an answer that sets its cookie.
    #[track_caller]
    pub fn after(&self, answer: &Answer) -> Self {
        let cookie = answer.header("set-cookie").split(';').next().unwrap_or_default();
        assert!(cookie.starts_with("baywright="), "{}: no cookie is set", answer.asked);
        Self { person: self.person.clone(), cookie: Some(cookie.to_owned()), tablet: self.tablet.clone() }
    }

    /// The same device after an answer that makes it a tablet.
    #[track_caller]
    pub fn enrolled(&self, answer: &Answer) -> Self {
        let cookie = answer.header("set-cookie").split(';').next().unwrap_or_default();
        assert!(cookie.starts_with("baywright-tablet="), "{}: no tablet is enrolled", answer.asked);
        Self { person: self.person.clone(), cookie: None, tablet: Some(cookie.to_owned()) }
    }

    /// What the browser sends as `Cookie`; empty if it has none.
    fn cookies(&self) -> String {
        [&self.cookie, &self.tablet].into_iter().flatten().map(String::as_str).collect::<Vec<_>>().join("; ")
    }

    /// Opens a page.
    pub fn get(&self, path: &str) -> Answer {
        self.send("GET", path, &[], None)
    }

    /// Sends a form from a page of the service.
    pub fn post(&self, path: &str, fields: &[(String, String)]) -> Answer {
        self.send("POST", path, &[("sec-fetch-site", "same-origin")], Some(fields))
    }

    /// Sends a request with headers of the caller's choice; a page that answers must hold together.
    #[track_caller]
    pub fn send(
        &self,
        method: &str,
        path: &str,
        headers: &[(&str, &str)],
        fields: Option<&[(String, String)]>,
    ) -> Answer {
        let mut all = vec![("accept", ACCEPT)];
        let cookies = self.cookies();
        if !cookies.is_empty() {
            all.push(("cookie", cookies.as_str()));
        }
        if fields.is_some() {
            all.push(("content-type", "application/x-www-form-urlencoded"));
        }
        all.extend_from_slice(headers);
        let encoded = |fields: &[(String, String)]| {
            url::form_urlencoded::Serializer::new(String::new()).extend_pairs(fields).finish().into_bytes()
        };
        let answer = self.person.send(method, path, &all, fields.map(encoded));
        if answer.header("content-type").starts_with("text/html") {
            let faults = markup::faults(&answer.text);
            assert!(faults.is_empty(), "{}: {}\n{}", answer.asked, faults.join("\n"), answer.text);
        }
        answer
    }

    /// Sends a form with a file from a page of the service, as `multipart/form-data` (RFC 7578).
    pub fn post_file(
        &self,
        path: &str,
        fields: &[(String, String)],
        (name, media_type, file): (&str, &str, &[u8]),
    ) -> Answer {
        let mut body = Vec::new();
        for (field, value) in fields {
            let head = format!("--part-of-the-form\r\nContent-Disposition: form-data; name=\"{field}\"\r\n\r\n");
            body.extend([head.as_bytes(), value.as_bytes(), b"\r\n"].concat());
        }
        let head = format!(
            "--part-of-the-form\r\nContent-Disposition: form-data; name=\"{name}\"; filename=\"{name}.jpg\"\r\n\
             Content-Type: {media_type}\r\n\r\n"
        );
        body.extend([head.as_bytes(), file, b"\r\n--part-of-the-form--\r\n"].concat());
        let mut headers = vec![
            ("accept", ACCEPT),
            ("sec-fetch-site", "same-origin"),
            ("content-type", "multipart/form-data; boundary=part-of-the-form"),
        ];
        let cookies = self.cookies();
        headers.extend((!cookies.is_empty()).then_some(("cookie", cookies.as_str())));
        self.person.send("POST", path, &headers, Some(body))
    }

    /// The code that forms need in this browser.
    #[track_caller]
    pub fn code(&self) -> String {
        let start = self.get("/");
        // The start page leads most roles on.
        let page = if start.status == 303 { self.get(start.header("location")) } else { start };
        assert_eq!(page.status, 200, "{}", page.text);
        let code = form(&page.text).into_iter().find(|(name, _)| name == "code");
        code.map(|(_, value)| value).unwrap_or_default()
    }
}

/// Names and values of a page's hidden fields, as a browser sends them.
pub fn form(page: &str) -> Vec<(String, String)> {
    hidden(page).into_iter().map(|(name, value)| (name, unescaped(&value))).collect()
}

/// The hidden fields of a page's first form, behind the one that signs out in the band.
pub fn main_form(page: &str) -> Vec<(String, String)> {
    let mut fields: Vec<_> = form(page).into_iter().skip(1).collect();
    if let Some(next) = fields.iter().skip(1).position(|(name, _)| name == "code") {
        fields.truncate(next + 1);
    }
    fields
}

/// The text of a page as somebody reads it.
pub fn unescaped(text: &str) -> String {
    let text = text.replace("&#60;", "<").replace("&#62;", ">").replace("&#34;", "\"").replace("&#39;", "'");
    text.replace("&#38;", "&")
}

/// Names and values of the form for an address, as a browser sends them if nobody changes anything.
#[track_caller]
pub fn shown_form(page: &str, action: &str) -> Vec<(String, String)> {
    let forms = page.split("<form ").skip(1).filter_map(|rest| rest.split("</form>").next());
    let ours = |form: &&str| {
        let tag = form.split('>').next().unwrap_or_default();
        tag.contains("method=\"post\"") && tag.contains(&format!("action=\"{action}\""))
    };
    let form = forms.into_iter().find(ours).unwrap_or_else(|| panic!("there is no form for {action}: {page}"));
    let of = |tag: &str, name: &str| {
        let value = tag.split(&format!(" {name}=\"")).nth(1)?.split('"').next()?;
        Some(unescaped(value))
    };
    let mut fields = Vec::new();
    let mut select = None;
    for rest in form.split('<').skip(1) {
        let (tag, text) = rest.split_once('>').unwrap_or((rest, ""));
        let name = of(tag, "name");
        match (tag.split([' ', '>']).next().unwrap_or_default(), name) {
            ("input", Some(name)) => {
                let kind = of(tag, "type").unwrap_or_default();
                let is_sent = match kind.as_str() {
                    "radio" | "checkbox" => tag.ends_with(" checked"),
                    "file" => false,
                    _ => true,
                };
                if is_sent {
                    fields.push((name, of(tag, "value").unwrap_or_default()));
                }
            }
            ("textarea", Some(name)) => fields.push((name, unescaped(text.strip_prefix('\n').unwrap_or(text)))),
            ("select", Some(name)) => select = Some(name),
            ("option", _) => {
                let value = of(tag, "value").unwrap_or_default();
                match &select {
                    Some(name) if tag.ends_with(" selected") => {
                        fields.retain(|(known, _)| known != name);
                        fields.push((name.clone(), value));
                    }
                    Some(name) if !fields.iter().any(|(known, _)| known == name) => fields.push((name.clone(), value)),
                    _ => {}
                }
            }
            _ => {}
        }
    }
    fields
}
