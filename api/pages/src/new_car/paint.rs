//! Paint depth on a walk-round: the readings beside the studio's limits, and the owner's decision about them. Nothing here
//! says that work does no harm: a gauge reads all layers together.

use actix_web::post;
use actix_web::web::Path;
use baywright_core::inspection::usecase::Inspection;
use baywright_core::new_car::usecase;
use baywright_core::platform::fail::Done;
use baywright_core::platform::identity::Owner;
use baywright_core::platform::refusal::Refused;
use baywright_core::platform::version::Seen;
use baywright_domain::id::EnquiryId;
use baywright_http::platform::answer::Answer;
use baywright_http::platform::page::PageWrite;
use baywright_http::platform::wire::Line;

use super::finding::fields_of;
use super::walk_round::{Extra, found, shown};
use super::{step, tried};
use crate::platform::form::{Fields, FormView, Input, Reading};
use crate::signoff::text::capital;

/// Paint depth, as the page shows it.
pub(super) struct Paint {
    /// The readings of each panel.
    pub(super) readings: Vec<(String, String)>,
    /// What is beyond the studio's limits.
    pub(super) warnings: Vec<String>,
    /// What a gauge can't tell.
    pub(super) note: &'static str,
    /// The decision that is valid now; empty if there is none.
    pub(super) decision: String,
    /// The form of the decision, for the owner if there is something to decide.
    pub(super) form: Option<FormView>,
    /// The address that takes it.
    pub(super) action: String,
}

impl Paint {
    /// The paint depth of a walk-round; `None` if nothing was measured.
    ///
    /// # Errors
    /// If stored readings can't be compared, which writing them rules out.
    pub(super) fn of(inspection: &Inspection, is_owner: bool) -> Done<Option<Self>> {
        if inspection.details.readings.is_empty() {
            return Ok(None);
        }
        let outcome = inspection.paint(&[])?;
        let readings = inspection.details.readings.iter().map(|read| {
            let spots = read.readings.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ");
            (capital(read.panel.label()), format!("{spots} µm"))
        });
        let decision = inspection.decision.as_ref().map(|decision| {
            let what = if decision.go_ahead { "The work may go ahead" } else { "The work must not go ahead" };
            format!("{what}: {}", decision.reason)
        });
        let form = (is_owner && outcome.owner_decision_needed()).then(FormView::default);
        Ok(Some(Self {
            readings: readings.collect(),
            warnings: outcome.warnings.iter().map(ToString::to_string).collect(),
            note: outcome.note(),
            decision: decision.unwrap_or_default(),
            form,
            action: String::new(),
        }))
    }

    /// The same with its form filled in.
    #[must_use]
    pub(super) fn with_form(self, typed: &Fields, code: &str, enquiry: &EnquiryId) -> Self {
        let form = self.form.map(|_| FormView::new(inputs(), typed, code));
        Self { form, action: step(enquiry, "paint"), ..self }
    }
}

fn inputs() -> Vec<Input> {
    let answers = [("yes", "The work may go ahead"), ("no", "The work must not go ahead")];
    let answers = answers.map(|(value, label)| (value.to_owned(), label.to_owned())).to_vec();
    vec![
        Input::radios("go_ahead", "Your decision", answers),
        Input::line("reason", "Why")
            .hint("Such as: by hand, one pass, read again after each panel.")
            .autocomplete("off"),
    ]
}

/// What the form brings, or everything that is wrong with it.
fn read(fields: &Fields) -> Result<(Seen, bool, String), Refused> {
    let mut form = Reading::of(fields);
    let seen = form.version()?;
    let go_ahead =
        form.needed("go_ahead", |_| fields.yes_or_no("go_ahead").ok_or_else(|| "choose one of these".to_owned()));
    let reason = form.needed("reason", Line::<1000>::parse);
    let (go_ahead, reason) = form.done(go_ahead.zip(reason))?;
    Ok((seen, go_ahead, reason.into_string()))
}

/// Stores the owner's decision.
#[post("/new-car/{id}/paint")]
pub(super) async fn decide(page: PageWrite<Owner>, id: Path<String>) -> Answer {
    let id = EnquiryId::new(id.into_inner());
    let fields = Fields::of_form(page.form());
    let of = id.clone();
    let taken = tried(&page, read(&fields), move |tx, (seen, go_ahead, reason)| {
        usecase::decide_paint(tx, &of, *seen, *go_ahead, reason)?;
        Ok(format!("{}?saved=yes", step(&of, "walk-round")))
    });
    let problem = match taken.await? {
        Ok(answer) => return Ok(answer),
        Err(problem) => problem,
    };
    let seen = page.read(move |tx| found(tx, &id)).await?;
    let as_saved = fields_of(&seen.new, None);
    let extra = Extra { decision: Some((&fields, &problem)), ..Extra::default() };
    shown(seen, &as_saved, page.form_code(), &extra)
}
