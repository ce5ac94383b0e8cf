//! A form as its page shows it: fields with what was typed, faults, and what somebody else has written meanwhile.

use std::borrow::Cow;

use actix_web::http::StatusCode;
use baywright_core::platform::ids;
use baywright_core::platform::refusal::{Refused, sentence};
use baywright_http::platform::problem::Problem;

use super::{Fields, field_at};

/// A field of a form.
#[derive(Debug, Clone, Default)]
pub struct Input {
    /// Name of the field, which is its id on the page too.
    pub name: Cow<'static, str>,
    /// Label above it.
    pub label: Cow<'static, str>,
    /// Heading of the group that begins with it; empty if none does.
    pub heading: Cow<'static, str>,
    /// Advice under the label; empty if it needs none.
    pub hint: Cow<'static, str>,
    /// Kind of field, as HTML names it.
    pub kind: &'static str,
    /// Whether it takes digits alone, so that a tablet shows large keys for them.
    pub numeric: bool,
    /// What browsers may fill in, as HTML names it; empty for nothing.
    pub autocomplete: &'static str,
    /// Whether it may be left empty.
    pub optional: bool,
    /// Whether its value is short, such as a number.
    pub short: bool,
    /// Whether it stands beside the field before it, if there is room.
    pub beside: bool,
    /// Its choices; empty if it is typed.
    pub options: Vec<Choice>,
    /// What was typed.
    pub value: String,
    /// What is wrong with it.
    pub fault: Option<String>,
}

/// A choice of a field.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Choice {
    /// Its value.
    pub value: String,
    /// Its label.
    pub label: String,
    /// Whether it is chosen.
    pub chosen: bool,
}

impl Input {
    /// A line of text that must be filled in.
    pub fn line(name: impl Into<Cow<'static, str>>, label: impl Into<Cow<'static, str>>) -> Self {
        Self { name: name.into(), label: label.into(), kind: "text", ..Self::default() }
    }

    /// Text of several lines.
    pub fn long(name: impl Into<Cow<'static, str>>, label: impl Into<Cow<'static, str>>) -> Self {
        Self { kind: "textarea", ..Self::line(name, label) }
    }

    /// An email address.
    pub fn email(name: &'static str, label: &'static str) -> Self {
        Self { kind: "email", ..Self::line(name, label) }
    }

    /// A password, which is never shown again.
    pub fn password(name: &'static str, label: &'static str) -> Self {
        Self { kind: "password", ..Self::line(name, label) }
    }

    /// A number or an amount.
    pub fn short(name: impl Into<Cow<'static, str>>, label: impl Into<Cow<'static, str>>) -> Self {
        Self { short: true, ..Self::line(name, label) }
    }

    /// A value that the form carries and nobody sees.
    pub fn hidden(name: impl Into<Cow<'static, str>>) -> Self {
        Self { kind: "hidden", ..Self::line(name, "") }
    }

    /// Boxes to tick, one for each choice; none of them need be ticked.
    pub fn ticks(name: &'static str, label: &'static str, choices: Vec<(String, String)>) -> Self {
        Self { kind: "checkbox", ..Self::line(name, label) }.options(choices)
    }

    /// Choices of which one is picked by a single tap.
    pub fn radios(
        name: impl Into<Cow<'static, str>>,
        label: impl Into<Cow<'static, str>>,
        choices: Vec<(String, String)>,
    ) -> Self {
        Self { kind: "radio", ..Self::line(name, label) }.options(choices)
    }

    /// The same field, first of a group.
    #[must_use]
    pub fn under(self, heading: impl Into<Cow<'static, str>>) -> Self {
        Self { heading: heading.into(), ..self }
    }

    /// The same field with advice.
    #[must_use]
    pub fn hint(self, hint: impl Into<Cow<'static, str>>) -> Self {
        Self { hint: hint.into(), ..self }
    }

    /// The same field, which may be left empty.
    #[must_use]
    pub fn optional(self) -> Self {
        Self { optional: true, ..self }
    }

    /// The same field, beside the one before it.
    #[must_use]
    pub fn beside(self) -> Self {
        Self { beside: true, ..self }
    }

    /// The same field for digits alone.
    #[must_use]
    pub fn numeric(self) -> Self {
        Self { numeric: true, ..self }
    }

    /// The same field with what browsers may fill in.
    #[must_use]
    pub fn autocomplete(self, autocomplete: &'static str) -> Self {
        Self { autocomplete, ..self }
    }

    /// The same field as a choice of values, each with its label.
    #[must_use]
    pub fn options(self, options: Vec<(String, String)>) -> Self {
        let options = options.into_iter().map(|(value, label)| Choice { value, label, chosen: false }).collect();
        Self { options, ..self }
    }

    /// Whether it is a list of boxes to tick, or of choices to pick one from.
    pub fn is_ticks(&self) -> bool {
        matches!(self.kind, "checkbox" | "radio")
    }

    /// Whether it is text of several lines.
    pub fn is_long(&self) -> bool {
        self.kind == "textarea"
    }

    /// Whether nobody sees it.
    pub fn is_hidden(&self) -> bool {
        self.kind == "hidden"
    }

    /// The same field with what was typed into it.
    fn filled(mut self, typed: &Fields) -> Self {
        if self.kind != "password" {
            self.value = typed.text(&self.name);
        }
        for choice in &mut self.options {
            choice.chosen = typed.all(&self.name).any(|value| value == choice.value);
        }
        self
    }

    /// What was chosen or typed, as people read it.
    fn shown(&self) -> String {
        if self.options.is_empty() {
            return self.value.clone();
        }
        let chosen = self.options.iter().filter(|choice| choice.chosen);
        chosen.map(|choice| choice.label.as_str()).collect::<Vec<_>>().join(", ")
    }

    /// Ids of the texts that describe the field, as `aria-describedby` names them.
    pub fn described_by(&self) -> String {
        let hint = (!self.hint.is_empty()).then(|| format!("{}-hint", self.name));
        let fault = self.fault.as_ref().map(|_| format!("{}-fault", self.name));
        [hint, fault].into_iter().flatten().collect::<Vec<_>>().join(" ")
    }
}

/// A fault in the summary above a form.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FaultLine {
    /// Id of the field that it is about; empty if it is about none.
    pub field: String,
    /// Label of the field; empty if it is about none.
    pub label: String,
    /// What is wrong and how to correct it.
    pub text: String,
}

/// A field that somebody else has changed meanwhile.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stale {
    /// Label of the field.
    pub label: String,
    /// What it says now.
    pub theirs: String,
    /// What was typed here.
    pub yours: String,
}

/// A form as its page shows it.
#[derive(Debug, Clone, Default)]
pub struct FormView {
    /// Code that the form carries, with its key; empty for a form of whoever is not signed in.
    pub code: String,
    /// Key under which it takes effect once.
    pub key: String,
    /// Key of a second act on the same page.
    pub other_key: String,
    /// Version of the record that it changes; empty if it changes none.
    pub version: String,
    /// Its fields, in order.
    pub inputs: Vec<Input>,
    /// The summary of what is wrong.
    pub faults: Vec<FaultLine>,
    /// What somebody else has changed meanwhile.
    pub stale: Vec<Stale>,
}

impl FormView {
    /// A form with what was typed.
    pub fn new(inputs: Vec<Input>, typed: &Fields, code: &str) -> Self {
        Self {
            code: code.to_owned(),
            key: ids::new(),
            other_key: ids::new(),
            version: typed.text("version"),
            inputs: inputs.into_iter().map(|input| input.filled(typed)).collect(),
            ..Self::default()
        }
    }

    /// The same form with the faults of a refusal, each beside its field and all of them in the summary.
    #[must_use]
    pub fn refused(mut self, refused: &Refused) -> Self {
        if refused.errors().is_empty() {
            let text = match refused.code() {
                "idempotency-key-reused" => {
                    "This form was sent before with different content. Check it, then send it again.".to_owned()
                }
                _ => refused.detail().to_owned(),
            };
            self.tell(text);
        }
        for fault in refused.errors() {
            let name = field_at(&fault.pointer);
            let text = sentence(&fault.detail);
            // A fault may be about a part of what was typed, such as the currency of an amount.
            let Some(input) = self.inputs.iter_mut().find(|input| is_within(&name, &input.name)) else {
                self.tell(text);
                continue;
            };
            input.fault.get_or_insert_with(|| text.clone());
            self.faults.push(FaultLine { field: input.name.to_string(), label: input.label.to_string(), text });
        }
        self
    }

    /// The same form with a fault that is about no field.
    #[must_use]
    pub fn telling(mut self, text: impl Into<String>) -> Self {
        self.tell(text.into());
        self
    }

    /// Adds a fault that is about no field.
    fn tell(&mut self, text: String) {
        self.faults.push(FaultLine { field: String::new(), label: String::new(), text });
    }

    /// The same form after a problem that its page can show; `theirs` is the record as it is now.
    #[must_use]
    pub fn after(self, problem: &Problem, theirs: &Fields) -> Self {
        match problem.status() {
            StatusCode::PRECONDITION_FAILED => self.stale(theirs),
            _ => self.refused(problem.refused()),
        }
    }

    /// The same form for a record that somebody else has changed meanwhile: what it says now beside what was typed. Sent
    /// again, it replaces that version.
    #[must_use]
    pub fn stale(mut self, theirs: &Fields) -> Self {
        self.version = theirs.text("version");
        let differing = self.inputs.iter().filter_map(|input| {
            let (theirs, yours) = (input.clone().filled(theirs).shown(), input.shown());
            (theirs != yours).then(|| Stale { label: input.label.to_string(), theirs, yours })
        });
        self.stale = differing.collect();
        if self.stale.is_empty() {
            let text =
                "Somebody else has changed something else here in the meantime. Save your form again.".to_owned();
            self.tell(text);
        }
        self
    }

    /// Whether something has to be corrected or compared before the form can be sent.
    pub fn is_wrong(&self) -> bool {
        !self.faults.is_empty() || !self.stale.is_empty()
    }

    /// The title of the page, which says first that something is wrong.
    pub fn title(&self, title: &str) -> String {
        if self.is_wrong() { format!("Error: {title}") } else { title.to_owned() }
    }
}

/// Whether a name is that of a field or of a part of it.
fn is_within(name: &str, field: &str) -> bool {
    name.strip_prefix(field).is_some_and(|rest| rest.is_empty() || rest.starts_with('.'))
}

#[cfg(test)]
mod tests {
    use baywright_core::platform::refusal::FieldFault;

    use super::*;

    fn form(typed: &str) -> FormView {
        let inputs =
            vec![Input::line("owner.name", "Name"), Input::password("owner.password", "Password").hint("Long.")];
        FormView::new(inputs, &Fields::of_query(typed), "code")
    }

    #[test]
    fn faults_stand_beside_their_fields_and_what_was_typed_stays_but_for_passwords() {
        let fault = |pointer: &str, detail: &str| FieldFault {
            pointer: pointer.to_owned(),
            code: "any".to_owned(),
            detail: detail.to_owned(),
        };
        let faults = vec![fault("/owner/password", "use more words"), fault("/zone", "unknown")];
        let form = form("owner.name=Orla&owner.password=secret&version=3");
        let form = form.refused(&Refused::invalid("invalid-value", "Wrong.").with_faults(faults));
        let values: Vec<&str> = form.inputs.iter().map(|input| input.value.as_str()).collect();
        assert_eq!((values, form.version.as_str()), (vec!["Orla", ""], "3"));
        assert_eq!(form.inputs[1].fault.as_deref(), Some("Use more words."));
        assert_eq!(form.inputs[1].described_by(), "owner.password-hint owner.password-fault");
        let summary: Vec<(&str, &str)> =
            form.faults.iter().map(|line| (line.field.as_str(), line.text.as_str())).collect();
        assert_eq!(summary, [("owner.password", "Use more words."), ("", "Unknown.")]);
        assert_eq!(form.title("Shop"), "Error: Shop");
    }

    #[test]
    fn a_stale_form_shows_what_both_have_written_and_takes_the_newer_version() {
        let form = form("owner.name=Orla&version=3").stale(&Fields::of_query("owner.name=Niamh&version=4"));
        assert_eq!(form.version, "4");
        let both = Stale { label: "Name".to_owned(), theirs: "Niamh".to_owned(), yours: "Orla".to_owned() };
        assert_eq!(form.stale, [both]);
    }

    #[test]
    fn what_was_ticked_stays_ticked_and_is_told_by_its_labels() {
        let choices = ["lift", "drain"].map(|code| (code.to_owned(), format!("With a {code}"))).to_vec();
        let inputs = vec![Input::ticks("features", "It has", choices), Input::hidden("row")];
        let form = FormView::new(inputs, &Fields::of_query("features=drain&row=1"), "code");
        let ticked: Vec<bool> = form.inputs[0].options.iter().map(|choice| choice.chosen).collect();
        assert_eq!((ticked, form.inputs[1].value.as_str()), (vec![false, true], "1"));
        let form = form.stale(&Fields::of_query("features=lift&features=drain&row=1&version=2"));
        let both = Stale {
            label: "It has".to_owned(),
            theirs: "With a lift, With a drain".to_owned(),
            yours: "With a drain".to_owned(),
        };
        assert_eq!(form.stale, [both]);
    }
}
