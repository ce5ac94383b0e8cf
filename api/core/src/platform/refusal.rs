//! Refusals, in the same form for requests, pages and commands.
//!
//! A refusal has one of a few reasons, a stable slug, and a text that says what happened and what to do. Only
//! `api/http/src/platform/problem.rs` knows the HTTP status code of each reason.

use baywright_domain::calendar::{Zone, ZoneRules};
use baywright_domain::refusal::{Fault, Kind, Refusal};
use baywright_domain::time::Minute;
use chrono::{DateTime, Utc};

use super::clock::UtcTime;

/// Reason for a refusal. The docs of use cases name it: `Conflict` if …
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Why {
    /// The request can't be read.
    Malformed,
    /// Nobody is signed in, or no longer.
    NotSignedIn,
    /// The signed-in person may not do this.
    NotAllowed,
    /// There is no such record in this shop.
    NotFound,
    /// The current state of a record does not allow it.
    Conflict,
    /// The record or link existed and has ended.
    Gone,
    /// Somebody changed the record since it was read.
    ChangedMeanwhile,
    /// It can be read, but breaks a rule.
    Invalid,
    /// Too many requests; try again after some seconds.
    TooOften {
        /// Time to wait, in seconds.
        seconds: u64,
    },
    /// The service can't do it now; try again soon.
    Unavailable,
}

/// Fault of one value of the request.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FieldFault {
    /// JSON pointer (RFC 6901) into the request, or `?name` for a query parameter.
    pub pointer: String,
    /// Stable code of the fault.
    pub code: String,
    /// Description of the fault and how to correct it.
    pub detail: String,
}

impl From<Fault> for FieldFault {
    fn from(fault: Fault) -> Self {
        Self { pointer: fault.pointer, code: fault.code.to_owned(), detail: fault.detail }
    }
}

/// Existing record that may be the one to be added.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KnownRecord {
    /// Kind of record: `customer` or `vehicle`.
    pub kind: &'static str,
    /// Id of the record.
    pub id: String,
    /// Name of the record as people read it.
    pub title: String,
    /// Properties that both records have in common: `PHONE`, `MAIL` and `NAME` of a customer, `VIN` and `REGISTRATION`
    /// of a vehicle.
    pub in_common: Vec<&'static str>,
}

/// Finish that a refused place would have with one cause of the refusal taken away.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FinishFigure {
    /// Word for the cause that is taken away.
    pub kind: &'static str,
    /// Time when the work would be done; `None` if it would not be done even so.
    pub finish: Option<Minute>,
    /// The figure in a sentence.
    pub text: String,
}

/// Question that the caller answers with yes by sending the request again.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Question {
    /// The question, and what depends on it.
    pub text: String,
    /// Slugs to be confirmed, as the parameter `confirm` lists them.
    pub confirm: String,
}

/// Parts that few refusals have.
#[derive(Debug, Clone, Default)]
struct More {
    known: Vec<KnownRecord>,
    question: Option<Question>,
    figures: Vec<FinishFigure>,
}

/// A refusal that is meant for the caller.
#[derive(Debug, Clone)]
pub struct Refused {
    why: Why,
    code: &'static str,
    detail: Box<str>,
    // Boxes keep a refusal small, since it is passed by value and most have none of these.
    errors: Box<[FieldFault]>,
    more: Option<Box<More>>,
    /// The time that a rule names in the text, as written there.
    moment: Option<DateTime<Utc>>,
}

impl Refused {
    /// A refusal with that reason and slug.
    pub fn new(why: Why, code: &'static str, detail: impl Into<String>) -> Self {
        Self { why, code, detail: detail.into().into(), errors: Box::default(), more: None, moment: None }
    }

    /// The refusal for an error of a rule.
    pub fn of(refusal: &impl Refusal) -> Self {
        let why = match refusal.kind() {
            Kind::Invalid => Why::Invalid,
            Kind::Conflict => Why::Conflict,
            Kind::Gone => Why::Gone,
        };
        let refused = Self::new(why, refusal.code(), sentence(&refusal.to_string()));
        let faults = refusal.faults().into_iter().map(FieldFault::from).collect();
        Self { moment: refusal.moment(), ..refused.with_faults(faults) }
    }

    /// The request does not have the required form.
    pub fn malformed(detail: impl Into<String>) -> Self {
        Self::new(Why::Malformed, "malformed-request", detail)
    }

    /// Nobody is signed in, or no longer.
    pub fn unauthenticated(detail: impl Into<String>) -> Self {
        Self::new(Why::NotSignedIn, "not-signed-in", detail)
    }

    /// The person is signed in, but their role does not allow this.
    pub fn not_allowed(detail: impl Into<String>) -> Self {
        Self::new(Why::NotAllowed, "not-allowed", detail)
    }

    /// There is no such record in this shop. `record` is the name of its kind, such as `customer`.
    pub fn not_found(record: &str) -> Self {
        Self::new(Why::NotFound, "not-found", format!("There is no such {record}."))
    }

    /// The current state prevents it.
    pub fn conflict(code: &'static str, detail: impl Into<String>) -> Self {
        Self::new(Why::Conflict, code, detail)
    }

    /// The record or link existed and has ended.
    pub fn gone(code: &'static str, detail: impl Into<String>) -> Self {
        Self::new(Why::Gone, code, detail)
    }

    /// The request is well formed but breaks a rule.
    pub fn invalid(code: &'static str, detail: impl Into<String>) -> Self {
        Self::new(Why::Invalid, code, detail)
    }

    /// One value of the request breaks a rule.
    pub fn field(pointer: impl Into<String>, code: &str, detail: impl Into<String>) -> Self {
        let detail = detail.into();
        Self::invalid("invalid-value", detail.clone()).with_faults(vec![FieldFault {
            pointer: pointer.into(),
            code: code.to_owned(),
            detail,
        }])
    }

    /// The service can't do it now; try again soon.
    pub fn unavailable(detail: impl Into<String>) -> Self {
        Self::new(Why::Unavailable, "unavailable", detail)
    }

    /// Too many requests; `seconds` is the time to wait.
    pub fn too_many(code: &'static str, detail: impl Into<String>, seconds: u64) -> Self {
        Self::new(Why::TooOften { seconds }, code, detail)
    }

    /// With the faulty values named.
    #[must_use]
    pub fn with_faults(mut self, errors: Vec<FieldFault>) -> Self {
        self.errors = errors.into();
        self
    }

    /// The same, naming the existing records.
    #[must_use]
    pub fn with_known(mut self, known: Vec<KnownRecord>) -> Self {
        self.more.get_or_insert_default().known = known;
        self
    }

    /// With the finishes that the refused place would have if single causes were taken away.
    #[must_use]
    pub fn with_figures(mut self, figures: Vec<FinishFigure>) -> Self {
        self.more.get_or_insert_default().figures = figures;
        self
    }

    /// With the question that a yes answers.
    #[must_use]
    pub fn with_question(mut self, question: Question) -> Self {
        self.more.get_or_insert_default().question = Some(question);
        self
    }

    /// The same, with the time that a rule named in UTC written in the shop's local time.
    #[must_use]
    pub fn on_the_wall(self, zone: &str) -> Self {
        let (Some(moment), Ok(zone)) = (self.moment, Zone::named(zone)) else { return self };
        // Local times are written in whole minutes. The minute is rounded up, so that "not before" and "until" stay true.
        let minute = UtcTime::from(moment).plus_ms(59_999).minute();
        let (until, end) = (format!("until {moment}"), format!("until {}", zone.end(minute)));
        let (at, wall) = (moment.to_string(), zone.wall(minute));
        let local = |text: &str| text.replace(&until, &end).replace(&at, &wall);
        let errors = self.errors.iter().map(|fault| FieldFault { detail: local(&fault.detail), ..fault.clone() });
        Self { detail: local(&self.detail).into(), errors: errors.collect(), moment: None, ..self }
    }

    /// Reason why it was refused.
    pub fn why(&self) -> Why {
        self.why
    }

    /// The slug, stable for its kind of refusal.
    pub fn code(&self) -> &'static str {
        self.code
    }

    /// Description of what happened and what to do.
    pub fn detail(&self) -> &str {
        &self.detail
    }

    /// The faulty values.
    pub fn errors(&self) -> &[FieldFault] {
        &self.errors
    }

    /// The question that a yes answers, if this is one.
    pub fn question(&self) -> Option<&Question> {
        self.more.as_ref().and_then(|more| more.question.as_ref())
    }

    /// Finishes that the refused place would have with single causes taken away; most refusals have none.
    pub fn figures(&self) -> &[FinishFigure] {
        match &self.more {
            Some(more) => &more.figures,
            None => &[],
        }
    }

    /// The existing records.
    pub fn known(&self) -> &[KnownRecord] {
        match &self.more {
            Some(more) => &more.known,
            None => &[],
        }
    }
}

impl std::fmt::Display for Refused {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}: {}", self.code, self.detail)
    }
}

impl std::error::Error for Refused {}

/// Turns an error's text into a sentence: by Rust's convention it starts with a small letter and has no full stop.
pub fn sentence(text: &str) -> String {
    let mut chars = text.chars();
    let first = chars.next().map(|c| c.to_uppercase().collect::<String>()).unwrap_or_default();
    let end = if text.ends_with(['.', '?', '!']) { "" } else { "." };
    format!("{first}{}{end}", chars.as_str())
}
