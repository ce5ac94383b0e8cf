//! A customer with a link, and a browser that runs no scripts.

use crate::Studio;
use crate::answer::Answer;
use crate::person::Person;

/// Somebody who has a link and nothing else.
pub struct Visitor {
    person: Person,
    /// The path of their page.
    pub path: String,
}

impl Studio {
    /// Somebody with that token.
    pub fn visitor(&self, token: &str) -> Visitor {
        Visitor { person: self.nobody(), path: format!("/q/{token}") }
    }

    /// Somebody with the token of a link to their stay.
    pub fn guest(&self, token: &str) -> Visitor {
        Visitor { person: self.nobody(), path: format!("/c/{token}") }
    }

    /// Somebody with the last link to their stay that was mailed to that address.
    #[track_caller]
    pub fn guest_mailed_to(&self, email: &str) -> Visitor {
        self.tick();
        let start = format!("{}/c/", self.base);
        let mails = self.mails_to(email);
        let link = mails.iter().rev().find_map(|mail| mail.link(&start));
        let link = link.unwrap_or_else(|| panic!("no link to a stay was mailed to {email}"));
        self.guest(&link[start.len()..])
    }

    /// Somebody with that address, as mails and the desk's links say it.
    pub fn visitor_at(&self, url: &str) -> Visitor {
        self.visitor(&url[self.base.len() + "/q/".len()..])
    }
}

impl Visitor {
    /// Opens their page, or what lies below it.
    pub fn get(&self, below: &str) -> Answer {
        self.person.get(&format!("{}{below}", self.path))
    }

    /// Opens the page to check and accept, with those optional lines.
    pub fn check(&self, ticked: &[u32]) -> Answer {
        let query: Vec<String> = ticked.iter().map(|place| format!("take={place}")).collect();
        self.get(&format!("/check?{}", query.join("&")))
    }

    /// Sends a form below their page.
    pub fn post(&self, below: &str, fields: &[(String, String)], headers: &[(&str, &str)]) -> Answer {
        let body: String = url::form_urlencoded::Serializer::new(String::new()).extend_pairs(fields).finish();
        let mut all = vec![("content-type", "application/x-www-form-urlencoded"), ("user-agent", "Test Browser 1.0")];
        all.extend_from_slice(headers);
        self.person.send("POST", &format!("{}{below}", self.path), &all, Some(body.into_bytes()))
    }

    /// The form that accepts, filled in: the page's hidden fields with a name, the tick and the wish.
    #[track_caller]
    pub fn form(&self, ticked: &[u32], name: &str) -> Vec<(String, String)> {
        let page = self.check(ticked);
        assert_eq!(page.status, 200, "{}", page.text);
        let mut fields = hidden(&page.text);
        fields.retain(|(name, _)| name != "strokes");
        fields.extend(fields_of(&[("name", name), ("intent", "yes"), ("early_start", "yes")]));
        fields
    }

    /// Accepts with those optional lines under a typed name.
    #[track_caller]
    pub fn accept(&self, ticked: &[u32], name: &str) -> Answer {
        self.post("/accept", &self.form(ticked, name), &[])
    }

    /// Sends the form that accepts; a form with faults leads to a page that shows them, which is opened.
    pub fn try_accept(&self, fields: &[(String, String)]) -> Answer {
        let answer = self.post("/accept", fields, &[]);
        match answer.header("location").strip_prefix(&self.path) {
            Some(below) if below.starts_with("/check?") => {
                assert_eq!(answer.status, 303, "{}", answer.text);
                self.get(below)
            }
            _ => answer,
        }
    }

    /// Goes from what they signed to the page for the stay.
    #[track_caller]
    pub fn go_on(&self, studio: &Studio) -> Self {
        let answer = self.post("/stay", &hidden(&self.get("/done").text), &[]);
        let path = answer.header("location").to_owned();
        assert!(answer.status == 303 && path.starts_with("/c/"), "{}: {}", answer.status, answer.text);
        Self { person: studio.nobody(), path }
    }

    /// Asks the studio something on the page of the stay.
    #[track_caller]
    pub fn ask(&self, question: &str) -> Answer {
        self.ask_on(&self.get("").text, question)
    }

    /// Asks the studio something on a page that was opened before.
    #[track_caller]
    pub fn ask_on(&self, page: &str, question: &str) -> Answer {
        let mut fields = hidden(page);
        fields.truncate(1);
        fields.extend(fields_of(&[("question", question)]));
        self.post("/ask", &fields, &[])
    }

    /// The times that the page of the stay offers.
    pub fn offered_times(&self) -> Vec<String> {
        let page = self.get("").text;
        let values = page.split("name=\"time\" value=\"").skip(1);
        values.filter_map(|rest| rest.split('"').next()).map(str::to_owned).collect()
    }

    /// Chooses a time on the page of the stay.
    #[track_caller]
    pub fn choose(&self, time: &str) -> Answer {
        let mut fields = hidden(&self.get("").text);
        fields.truncate(1);
        fields.extend(fields_of(&[("time", time)]));
        self.post("/time", &fields, &[])
    }

    /// Declines with a reason.
    #[track_caller]
    pub fn decline(&self, reason: &str) -> Answer {
        let mut fields = hidden(&self.get("/decline").text);
        fields.extend(fields_of(&[("reason", reason)]));
        self.post("/decline", &fields, &[])
    }
}

/// Fields of a form.
pub fn fields_of(fields: &[(&str, &str)]) -> Vec<(String, String)> {
    fields.iter().map(|(name, value)| ((*name).to_owned(), (*value).to_owned())).collect()
}

/// The same fields with one of them changed, or without it where the value is nothing.
pub fn changed(fields: &[(String, String)], name: &str, value: &str) -> Vec<(String, String)> {
    let mut fields: Vec<_> = fields.iter().filter(|(known, _)| known != name).cloned().collect();
    if !value.is_empty() {
        fields.push((name.to_owned(), value.to_owned()));
    }
    fields
}

/// Names and values of a page's hidden fields.
pub fn hidden(page: &str) -> Vec<(String, String)> {
    let after = |text: &str, name: &str| {
        let start = text.find(&format!("{name}=\""))? + name.len() + 2;
        Some(text[start..start + text[start..].find('"')?].to_owned())
    };
    let inputs = page.split("<input type=\"hidden\"").skip(1).filter_map(|rest| rest.split('>').next());
    inputs.filter_map(|input| Some((after(input, "name")?, after(input, "value")?))).collect()
}
