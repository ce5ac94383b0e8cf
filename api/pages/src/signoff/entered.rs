//! Input of the form that signs.
//!
//! A form with faults is answered with the address of the page that shows them, and that address contains the input. So
//! Back and Reload ask for a page again and never send a form again. A drawing is too large for an address; the page's
//! script keeps it in the tab's `sessionStorage`.

use baywright_core::platform::refusal::{FieldFault, Refused};
use baywright_core::quote::usecase::Yes;
use baywright_core::signoff::usecase::Link;

use super::choice::{Choice, Fields, query_of};

/// Maximum number of characters of a name that come back: one more than a name may have.
const MOST_NAME: usize = 201;

/// Input of the form that signs, so that nothing typed is lost.
#[derive(Debug, Clone, Default)]
pub(super) struct Entered {
    pub(super) name: String,
    pub(super) intent: bool,
    pub(super) early_start: Option<bool>,
    /// Whether the drawing could not be read.
    pub(super) bad_drawing: bool,
}

impl Entered {
    /// The input in a posted form.
    pub(super) fn of_form(fields: &Fields) -> Self {
        Self {
            name: fields.text("name").trim().to_owned(),
            intent: fields.yes("intent"),
            early_start: fields.yes_or_no("early_start"),
            bad_drawing: fields.strokes().is_err(),
        }
    }

    /// The input in the address of a page; `None` if nothing was sent yet.
    pub(super) fn of_query(fields: &Fields) -> Option<Self> {
        fields.yes("sent").then(|| Self { bad_drawing: fields.yes("bad_drawing"), ..Self::of_form(fields) })
    }

    /// The input as the query of an address, with the ticked lines.
    pub(super) fn as_query(&self, ticked: &[usize]) -> String {
        let mut query = url::form_urlencoded::Serializer::new(query_of(ticked));
        query.append_pair("sent", "yes");
        query.append_pair("name", &self.name.chars().take(MOST_NAME).collect::<String>());
        let said = |yes: bool| if yes { "yes" } else { "no" };
        query.append_pair("intent", said(self.intent));
        if let Some(early) = self.early_start {
            query.append_pair("early_start", said(early));
        }
        query.append_pair("bad_drawing", said(self.bad_drawing));
        query.finish()
    }

    /// The acceptance, without a drawing.
    pub(super) fn yes(&self, digest: &str, ticked: &[usize], link: &Link) -> Yes {
        Yes {
            digest: digest.to_owned(),
            typed_name: self.name.clone(),
            intent: self.intent,
            ticked: ticked.to_vec(),
            strokes: None,
            method: link.method,
            noted_by: link.person.clone(),
            link: Some(link.clone()),
            early_start: self.early_start,
        }
    }

    /// The fault of the drawing, if there is one.
    pub(super) fn drawing_fault(&self) -> Option<FieldFault> {
        self.bad_drawing.then(|| FieldFault {
            pointer: "/strokes".into(),
            code: "bad_strokes".into(),
            detail: "The drawing can't be read. Draw it again, or leave it out.".to_owned(),
        })
    }

    /// The refusal of a form whose drawing can't be read.
    pub(super) fn refused_drawing(&self) -> Option<Refused> {
        let fault = self.drawing_fault()?;
        Some(Refused::invalid("sign-off-incomplete", fault.detail.clone()).with_faults(vec![fault]))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_entered_comes_back_from_the_address_of_the_page() {
        let entered =
            Entered { name: "Aoife & \u{d3} Byrne".into(), intent: true, early_start: Some(false), bad_drawing: true };
        let query = entered.as_query(&[1, 3]);
        let fields = Fields::of_query(&query);
        let back = Entered::of_query(&fields).unwrap();
        assert_eq!(
            (back.name, back.intent, back.early_start, back.bad_drawing),
            (entered.name, true, Some(false), true)
        );
        assert_eq!(fields.ticked(), [1, 3]);
        assert!(Entered::of_query(&Fields::of_query("take=1")).is_none());
    }
}
