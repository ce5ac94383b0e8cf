//! A form that could not be taken, shown once more with what was typed, to be sent again.

use askama::Template;
use baywright_core::platform::refusal::Question;
use baywright_core::platform::warning::CONFIRM;

use super::Frame;
use super::form::Fields;

/// What was typed into a form, for the address that takes it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SendAgain {
    /// The address that takes the form.
    pub address: String,
    /// Code that the form carries now.
    pub code: String,
    /// Name and value of each field but the code and passwords.
    pub fields: Vec<(String, String)>,
}

/// The page that asks to send a form again.
#[derive(Template)]
#[template(path = "platform/again.html")]
pub struct AgainPage {
    frame: Frame,
    heading: &'static str,
    text: String,
    button: &'static str,
    again: SendAgain,
}

impl AgainPage {
    /// The page of a form that was interrupted, under that heading.
    pub fn new(heading: &'static str, again: SendAgain) -> Self {
        let text = "Nothing is saved yet. What you typed is still here: check it, then send it.".to_owned();
        Self { frame: Frame::plain(heading, ""), heading, text, button: "Send it now", again }
    }

    /// The page that asks whether something unusual is meant, before it is done.
    pub fn asking(question: &Question, mut again: SendAgain) -> Self {
        again.fields.retain(|(name, _)| name != CONFIRM);
        again.fields.push((CONFIRM.to_owned(), question.confirm.clone()));
        let (heading, text) = ("Is this right?", format!("{} Nothing is saved yet.", question.text));
        Self { frame: Frame::plain(heading, ""), heading, text, button: "Yes, do it", again }
    }
}

impl SendAgain {
    /// What a form brought to that address; a password is left out, so it must be typed again.
    pub fn new(address: &str, form: &[u8], code: &str) -> Self {
        let typed = Fields::of_form(form);
        let fields = typed.pairs().iter().filter(|(name, _)| name != "code" && !is_secret(name)).cloned().collect();
        Self { address: address.to_owned(), code: code.to_owned(), fields }
    }

    /// Label and value of each field that somebody typed.
    pub fn typed(&self) -> Vec<(String, &str)> {
        let hidden = ["key", "version", CONFIRM];
        let typed = self.fields.iter().filter(|(name, value)| !hidden.contains(&name.as_str()) && !value.is_empty());
        typed.map(|(name, value)| (name.replace(['.', '_'], " "), value.as_str())).collect()
    }
}

fn is_secret(name: &str) -> bool {
    name.contains("password") || name == "digits"
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn everything_typed_is_kept_but_for_the_old_code_and_passwords() {
        let form = b"code=old&key=k&version=2&address.city=Cork&note=&owner.password=x";
        let again = SendAgain::new("/shop", form, "new");
        let names: Vec<&str> = again.fields.iter().map(|(name, _)| name.as_str()).collect();
        assert_eq!((names, again.code.as_str()), (vec!["key", "version", "address.city", "note"], "new"));
        assert_eq!(again.typed(), [("address city".to_owned(), "Cork")]);
    }

    #[test]
    fn a_question_is_answered_by_the_same_form_with_its_yes() {
        let question = Question { text: "This day is <far> away.".to_owned(), confirm: "one,far-day".to_owned() };
        let again = SendAgain::new("/closures", b"key=k&from=2062-01-01&confirm=one", "code");
        let page = AgainPage::asking(&question, again).render().unwrap();
        for said in [
            "This day is &#60;far&#62; away. Nothing is saved yet.",
            "action=\"/closures\"",
            "name=\"confirm\" value=\"one,far-day\"",
            "name=\"from\" value=\"2062-01-01\"",
            "Yes, do it",
        ] {
            assert!(page.contains(said), "{said}: {page}");
        }
        assert_eq!(page.matches("name=\"confirm\"").count(), 1, "{page}");
    }
}
