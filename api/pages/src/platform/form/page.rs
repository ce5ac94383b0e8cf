//! The page of a form in the studio: what it is for, a list of what is there already, the form, and one more act.

use actix_web::http::StatusCode;
use askama::Template;
use baywright_http::platform::answer::Answer;

use super::FormView;
use crate::platform::{DeskFrame, Insider, html};

/// A page of the studio with a form.
#[derive(Template)]
#[template(path = "platform/form/page.html")]
pub struct FormPage {
    frame: DeskFrame,
    heading: String,
    lead: &'static str,
    list_heading: &'static str,
    list: Vec<Entry>,
    form: FormView,
    form_heading: &'static str,
    /// The address that takes the form.
    action: String,
    button: &'static str,
    is_saved: bool,
    also: Option<Also>,
    /// The address to which somebody leaves without saving.
    leave: String,
}

/// An entry of the list above a form.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// What it is called.
    pub title: String,
    /// Note beside the title; empty if there is none.
    pub note: String,
    /// The page on which it is changed; empty if there is none.
    pub address: String,
}

/// A second act on the page, which needs nothing to be typed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Also {
    /// Its heading.
    pub heading: &'static str,
    /// What it does, and when to do it.
    pub text: String,
    /// The address that takes it.
    pub action: String,
    /// Label of its button.
    pub button: &'static str,
}

impl FormPage {
    /// The page of a form under that heading; `place` is the address of its place in the band, `action` the address that
    /// takes the form.
    pub fn new(
        heading: impl Into<String>,
        insider: Insider,
        place: &str,
        form: FormView,
        action: impl Into<String>,
    ) -> Self {
        let heading: String = heading.into();
        Self {
            frame: DeskFrame::new(form.title(&heading), insider, &form.code, place),
            heading,
            lead: "",
            list_heading: "",
            list: Vec::new(),
            form,
            form_heading: "",
            action: action.into(),
            button: "Save",
            is_saved: false,
            also: None,
            leave: "/".to_owned(),
        }
    }

    /// The same page with what it is for.
    #[must_use]
    pub fn lead(self, lead: &'static str) -> Self {
        Self { lead, ..self }
    }

    /// The same page with a list of what is there already; an empty one is left out.
    #[must_use]
    pub fn list(self, list_heading: &'static str, list: Vec<Entry>) -> Self {
        Self { list_heading, list, ..self }
    }

    /// The same page with a heading over the form and the label of its button.
    #[must_use]
    pub fn form_heading(self, form_heading: &'static str, button: &'static str) -> Self {
        Self { form_heading, button, ..self }
    }

    /// The same page, which says whether the form was just saved.
    #[must_use]
    pub fn saved(self, is_saved: bool) -> Self {
        Self { is_saved, ..self }
    }

    /// The same page with a second act.
    #[must_use]
    pub fn also(self, also: Also) -> Self {
        Self { also: Some(also), ..self }
    }

    /// The same page, which is left without saving to that address.
    #[must_use]
    pub fn leave(self, leave: impl Into<String>) -> Self {
        Self { leave: leave.into(), ..self }
    }

    /// The answer of that status.
    ///
    /// # Errors
    /// A defect: a template that does not render.
    pub fn answer(&self, status: StatusCode) -> Answer {
        html(status, self)
    }
}
