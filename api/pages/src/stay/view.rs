//! Data for the template of the page.

use askama::Template;
use baywright_core::job::usecase::Note;
use baywright_core::platform::clock::UtcTime;
use baywright_core::platform::refusal::Refused;
use baywright_core::shop::settings::Settings;
use baywright_core::stay::usecase::{Stay, StepSeen};
use baywright_domain::calendar::day_in_full;
use baywright_domain::stay::{Progress, Stage};

use super::lamp::{Lamp, amount, at};
use crate::platform::{Frame, Reach};

/// What somebody typed into a form, and what they did before.
#[derive(Debug, Clone, Default)]
pub(super) struct Typed {
    /// The time that was chosen.
    pub(super) time: String,
    /// The question as it was typed.
    pub(super) question: String,
    /// Whether a question was just sent.
    pub(super) was_asked: bool,
}

/// What is wrong with a form, with its field.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct FaultView {
    /// Id of the field on the page.
    pub(super) field: &'static str,
    /// Fault and how to correct it.
    pub(super) text: String,
}

impl FaultView {
    /// The faults of a refusal, or its text as a single one.
    pub(super) fn of(refused: &Refused) -> Vec<Self> {
        let field = |pointer: &str| if pointer == "/question" { "question" } else { "now" };
        if refused.errors().is_empty() {
            let about = if refused.code() == "too-many-questions" { "ask" } else { "now" };
            return vec![Self { field: about, text: refused.detail().to_owned() }];
        }
        let each = refused.errors().iter();
        each.map(|fault| Self { field: field(&fault.pointer), text: fault.detail.clone() }).collect()
    }
}

/// A time to choose.
#[derive(Debug, Clone)]
pub(super) struct TimeView {
    /// Value of the field: the start in UTC.
    pub(super) value: String,
    pub(super) start: String,
    /// Time by which the car is then ready.
    pub(super) ready: String,
    pub(super) chosen: bool,
}

/// A stage of the way through the stay.
#[derive(Debug, Clone)]
pub(super) struct Bead {
    pub(super) label: &'static str,
    pub(super) is_past: bool,
    pub(super) is_here: bool,
}

/// A step of the work.
#[derive(Debug, Clone)]
pub(super) struct StepView {
    pub(super) name: String,
    /// Progress in words.
    pub(super) words: String,
    /// Class that shows it, beside the words.
    pub(super) class: &'static str,
}

/// A note with photographs for the customer.
#[derive(Debug, Clone)]
pub(super) struct NoteView {
    pub(super) text: String,
    /// Ids of the photographs.
    pub(super) photos: Vec<String>,
    pub(super) at: String,
}

/// A paper: address, label and a few words.
#[derive(Debug, Clone)]
pub(super) struct PaperView {
    pub(super) address: String,
    pub(super) label: String,
    pub(super) note: String,
    /// Whether it is a file to be downloaded.
    pub(super) is_file: bool,
}

/// The page of the stay.
#[derive(Template)]
#[template(path = "stay/views/stay.html")]
pub(super) struct StayPage {
    frame: Frame,
    path: String,
    code: String,
    heading: String,
    registration: String,
    beads: Vec<Bead>,
    lamp: Lamp,
    steps: Vec<StepView>,
    notes: Vec<NoteView>,
    /// What is agreed: label and value.
    agreed: Vec<(String, String)>,
    papers: Vec<PaperView>,
    aftercare: String,
    /// Questions that were asked: time and text.
    asked: Vec<(String, String)>,
    may_ask: bool,
    reach: Option<Reach>,
    typed: Typed,
    faults: Vec<FaultView>,
}

impl StayPage {
    /// The page at that path, whose forms carry that code.
    pub(super) fn of(stay: &Stay, (path, code): (String, String), typed: Typed, mut faults: Vec<FaultView>) -> Self {
        // The field is not there while no question can be asked.
        for fault in faults.iter_mut().filter(|fault| fault.field == "question" && !stay.may_ask) {
            fault.field = "ask";
        }
        let head = &stay.visit.head;
        let car = if head.vehicle_name.is_empty() { "car" } else { head.vehicle_name.as_str() };
        let heading = format!("Your {car}");
        let title = format!("{}{heading}", if faults.is_empty() { "" } else { "Error: " });
        let frame = frame(&title, &stay.settings);
        let price = stay.agreed.map(|sum| ("Agreed price, including VAT".to_owned(), amount(stay, sum)));
        Self {
            registration: head.registration.clone().unwrap_or_default(),
            beads: beads(stay.moment.stage()),
            lamp: Lamp::of(stay, &path, &typed.time),
            steps: stay.steps.iter().map(|step| step_view(stay, step)).collect(),
            notes: notes(stay),
            agreed: price.into_iter().collect(),
            papers: papers(stay, &path),
            aftercare: stay.aftercare.clone(),
            asked: stay
                .questions
                .iter()
                .filter(|question| !question.text.is_empty())
                .map(|question| (at(stay, question.asked_at.minute()), question.text.clone()))
                .collect(),
            may_ask: stay.may_ask,
            reach: frame.reach.clone(),
            heading,
            frame,
            path,
            code,
            typed,
            faults,
        }
    }

    fn fault(&self, field: &str) -> Option<&str> {
        self.faults.iter().find(|fault| fault.field == field).map(|fault| fault.text.as_str())
    }
}

/// The frame of a page about a stay: the studio's name, address and ways to reach it.
pub(super) fn frame(title: &str, settings: &Settings) -> Frame {
    let profile = &settings.profile;
    let given = |text: &Option<String>| text.clone().unwrap_or_default();
    let reach = Reach { name: profile.name.clone(), phone: given(&profile.phone), email: given(&profile.email) };
    let has_any = !reach.phone.is_empty() || !reach.email.is_empty();
    let address = profile.address.lines().join(", ");
    let vat = profile.vat_id.as_ref().map(|vat| format!("VAT number {vat}"));
    let legal = if profile.legal_name.is_empty() { &profile.name } else { &profile.legal_name };
    let imprint = [Some(legal.clone()), Some(address).filter(|line| !line.is_empty()), vat];
    Frame {
        reach: has_any.then_some(reach),
        imprint: imprint.into_iter().flatten().collect(),
        private: true,
        ..Frame::new(format!("{title} · {}", profile.name), &profile.name)
    }
}

/// The way through the stay; none for one that ended early.
fn beads(here: Option<Stage>) -> Vec<Bead> {
    let Some(here) = here else { return Vec::new() };
    let bead = |stage: &Stage| Bead { label: stage.label(), is_past: *stage < here, is_here: *stage == here };
    Stage::ALL.iter().map(bead).collect()
}

fn step_view(stay: &Stay, step: &StepSeen) -> StepView {
    let (words, class) = match step.progress {
        Progress::Done => ("Done".to_owned(), "done"),
        Progress::Drying(until) => (format!("Dries until {}", at(stay, UtcTime::from(until).minute())), "wait"),
        Progress::UnderWay => ("At work".to_owned(), "on"),
        Progress::Next => ("Next".to_owned(), "open"),
        Progress::Later => ("Later".to_owned(), "open"),
    };
    StepView { name: step.name.clone(), words, class }
}

fn notes(stay: &Stay) -> Vec<NoteView> {
    let view = |note: &Note| NoteView {
        text: note.text.clone(),
        photos: note.photos.iter().map(ToString::to_string).collect(),
        at: at(stay, note.at.minute()),
    };
    stay.notes.iter().map(view).collect()
}

fn papers(stay: &Stay, path: &str) -> Vec<PaperView> {
    let invoices = stay.invoices.iter().map(|invoice| {
        let open = invoice.account.open;
        let day = invoice.issued_on.map(day_in_full).unwrap_or_default();
        let unpaid = (!open.is_zero()).then(|| format!("{} unpaid", amount(stay, open)));
        let note = unpaid.unwrap_or_else(|| invoice.account.state.label().to_owned());
        PaperView {
            address: format!("{path}/invoices/{}", invoice.id),
            label: format!("Invoice {}", invoice.number.as_deref().unwrap_or_default()),
            note: format!("{day}, {note}"),
            is_file: false,
        }
    });
    let copy = stay.agreed.map(|_| PaperView {
        address: format!("{path}/copy.json"),
        label: "Signed copy of your order".to_owned(),
        note: format!("Quote {}, as a sealed file", stay.visit.head.number),
        is_file: true,
    });
    invoices.chain(copy).collect()
}
