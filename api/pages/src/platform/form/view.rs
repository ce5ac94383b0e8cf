//! A form as its page shows it: fields with what was typed, faults, and what somebody else has written meanwhile.

use baywright_core::platform::ids;
use baywright_core::platform::refusal::{Refused, sentence};

use super::{Fields, field_at};

/// A field of a form.
#[derive(Debug, Clone, Default)]
pub struct Input {
    /// Name of the field, which is its id on the page too.
    pub name: &'static str,
    /// Label above it.
    pub label: &'static str,
    /// Heading of the group that begins with it; empty if none does.
    pub heading: &'static str,
    /// Advice under the label; empty if it needs none.
    pub hint: &'static str,
    /// Kind of field, as HTML names it.
    pub kind: &'static str,
    /// What browsers may fill in, as HTML names it; empty for nothing.
    pub autocomplete: &'static str,
    /// Whether it may be left empty.
    pub optional: bool,
    /// Whether little is written into it, such as a number.
    pub short: bool,
    /// Value and label of each choice; empty if it is typed.
    pub options: Vec<(String, String)>,
    /// What was typed.
    pub value: String,
    /// What is wrong with it.
    pub fault: Option<String>,
}

impl Input {
    /// A line of text that must be filled in.
    pub fn line(name: &'static str, label: &'static str) -> Self {
        Self { name, label, kind: "text", ..Self::default() }
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
    pub fn short(name: &'static str, label: &'static str) -> Self {
        Self { short: true, ..Self::line(name, label) }
    }

    /// The same field, first of a group.
    #[must_use]
    pub fn under(self, heading: &'static str) -> Self {
        Self { heading, ..self }
    }

    /// The same field with advice.
    #[must_use]
    pub fn hint(self, hint: &'static str) -> Self {
        Self { hint, ..self }
    }

    /// The same field, which may be left empty.
    #[must_use]
    pub fn optional(self) -> Self {
        Self { optional: true, ..self }
    }

    /// The same field with what browsers may fill in.
    #[must_use]
    pub fn autocomplete(self, autocomplete: &'static str) -> Self {
        Self { autocomplete, ..self }
    }

    /// The same field as a choice.
    #[must_use]
    pub fn options(self, options: Vec<(String, String)>) -> Self {
        Self { options, ..self }
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
    pub field: &'static str,
    /// Label of the field; empty if it is about none.
    pub label: &'static str,
    /// What is wrong and how to correct it.
    pub text: String,
}

/// A field that somebody else has changed meanwhile.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stale {
    /// Label of the field.
    pub label: &'static str,
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
        let filled = |input: Input| {
            let value = if input.kind == "password" { String::new() } else { typed.text(input.name) };
            Input { value, ..input }
        };
        Self {
            code: code.to_owned(),
            key: ids::new(),
            version: typed.text("version"),
            inputs: inputs.into_iter().map(filled).collect(),
            ..Self::default()
        }
    }

    /// The same form with the faults of a refusal, each beside its field and all of them in the summary.
    #[must_use]
    pub fn refused(mut self, refused: &Refused) -> Self {
        if refused.errors().is_empty() {
            let text = match refused.code() {
                "idempotency-key-reused" => {
                    "This form was sent before with other words. Look at it again, then send it once more.".to_owned()
                }
                _ => refused.detail().to_owned(),
            };
            self.faults.push(FaultLine { field: "", label: "", text });
        }
        for fault in refused.errors() {
            let name = field_at(&fault.pointer);
            let text = sentence(&fault.detail);
            let input = self.inputs.iter_mut().find(|input| input.name == name);
            let (field, label) = input.map_or(("", ""), |input| {
                if input.fault.is_none() {
                    input.fault = Some(text.clone());
                }
                (input.name, input.label)
            });
            self.faults.push(FaultLine { field, label, text });
        }
        self
    }

    /// The same form for a record that somebody else has changed meanwhile: what it says now beside what was typed. Sent
    /// again, it replaces that version.
    #[must_use]
    pub fn stale(mut self, theirs: &Fields) -> Self {
        self.version = theirs.text("version");
        let differing = self.inputs.iter().filter_map(|input| {
            let theirs = theirs.text(input.name);
            (theirs != input.value).then(|| Stale { label: input.label, theirs, yours: input.value.clone() })
        });
        self.stale = differing.collect();
        if self.stale.is_empty() {
            let text = "Somebody else has changed something else here meanwhile. Save your form again.".to_owned();
            self.faults.push(FaultLine { field: "", label: "", text });
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
        let summary: Vec<(&str, &str)> = form.faults.iter().map(|line| (line.field, line.text.as_str())).collect();
        assert_eq!(summary, [("owner.password", "Use more words."), ("", "Unknown.")]);
        assert_eq!(form.title("Shop"), "Error: Shop");
    }

    #[test]
    fn a_stale_form_shows_what_both_have_written_and_takes_the_newer_version() {
        let form = form("owner.name=Orla&version=3").stale(&Fields::of_query("owner.name=Niamh&version=4"));
        assert_eq!(form.version, "4");
        let both = Stale { label: "Name", theirs: "Niamh".to_owned(), yours: "Orla".to_owned() };
        assert_eq!(form.stale, [both]);
    }
}
