//! The third step: a walk round the car.

use baywright_domain::id::{EnquiryId, VehicleId};
use baywright_domain::inspection::{Grade, InspectionStage, InspectionState, PanelReadings};

use super::{show, unchanged};
use crate::enquiry::usecase::Enquiry;
use crate::inspection::usecase::{self as inspection, Details, Found, Inspection, Wanted};
use crate::job;
use crate::platform::fail::Done;
use crate::platform::kept::Word;
use crate::platform::paging::Paging;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::version::Seen;
use crate::quote::kept::QuoteDraft;
use crate::quote::usecase::{self as quote, Shown};

/// Number of inspections of a car among which its walk-round is looked for.
const NEWEST: i64 = 20;

/// Maximum number of findings of one inspection.
const MOST_FINDINGS: usize = 200;

/// What the desk notes at a time on the walk round a car.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Noted {
    /// Odometer reading, in the car's unit; `None` if it was not read.
    pub odometer: Option<i32>,
    /// Grade of dirt.
    pub soil: Grade,
    /// Grade of contamination bonded to the paint.
    pub contamination: Grade,
    /// Damage that can't be corrected, as it was explained to the customer.
    pub beyond_repair: String,
    /// A finding that is new, corrected or removed.
    pub finding: Option<Finding>,
    /// Paint-depth readings of a panel, which replace earlier ones.
    pub readings: Option<PanelReadings>,
}

/// A change of the findings.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Finding {
    /// Adds one.
    Added(Found),
    /// Replaces the one with that index.
    Corrected(usize, Found),
    /// Removes the one with that index.
    Removed(usize),
}

/// The walk-round of an enquiry's car: the inspection that the quote names, else the newest one before work, if it is a draft
/// or was completed after the enquiry began.
pub(super) fn find(
    tx: &mut Tx<'_>,
    enquiry: &Enquiry,
    vehicle: &VehicleId,
    quote: Option<&Shown>,
) -> Done<Option<Inspection>> {
    if let Some(id) = quote.and_then(|shown| shown.revision.draft.inspection()) {
        return inspection::show(tx, &id).map(Some);
    }
    let wanted = Wanted { vehicle_id: Some(vehicle.clone()), states: Vec::new() };
    let newest = inspection::list(tx, &wanted, &Paging::first(NEWEST))?.items;
    let mut of_the_visit = newest.into_iter().filter(|one| {
        let done_since = one.completed_at.is_some_and(|at| at >= enquiry.created_at);
        one.stage == InspectionStage::BeforeWork && (one.state == InspectionState::Draft || done_since)
    });
    match of_the_visit.next() {
        Some(one) => inspection::show(tx, &one.id).map(Some),
        None => Ok(None),
    }
}

/// Saves what was noted: in the draft of the walk-round, or in a new one that takes over the findings of a completed one.
/// `seen` is the version of the walk-round, 0 if there was none.
///
/// # Errors
/// `ChangedMeanwhile` if somebody else noted something; `Conflict` if no car is chosen; those of an inspection.
pub fn note(tx: &mut Tx<'_>, id: &EnquiryId, seen: Seen, noted: &Noted) -> Done<Inspection> {
    let new = show(tx, id)?;
    let car = new.vehicle()?.id.clone();
    unchanged(seen, new.walk_round_version())?;
    let before = new.walk_round.as_ref();
    let details = noted.apply(before.map(|inspection| &inspection.details))?;
    let saved = match before.filter(|inspection| !inspection.is_final()) {
        Some(draft) if draft.details == details => return Ok(draft.clone()),
        Some(draft) => inspection::replace(tx, &draft.id, seen, &car, &details)?,
        None => inspection::add(tx, &car, &details)?,
    };
    if let Some(shown) = saved.details.odometer.and_then(|shown| u32::try_from(shown).ok()) {
        job::usecase::odometer(tx, &car, saved.odometer_unit, shown, Some(&saved.id))?;
    }
    // A quote that names the completed walk-round would keep its condition.
    if let Some(shown) = new.quote.as_ref().filter(|shown| shown.revision.draft.inspection_id.is_some()) {
        let condition = Some(Word(saved.judged.condition.class));
        let draft = QuoteDraft { inspection_id: None, condition, ..shown.revision.draft.clone() };
        quote::replace_draft(tx, &shown.quote.id, Seen(shown.quote.version), &draft)?;
    }
    Ok(saved)
}

/// Stores the owner's decision about paint readings of the walk-round that are beyond the studio's limits. `seen` is the
/// version of the walk-round.
///
/// # Errors
/// `ChangedMeanwhile` if somebody else noted something; `Conflict` if there is nothing to decide; those of a decision.
pub fn decide_paint(tx: &mut Tx<'_>, id: &EnquiryId, seen: Seen, go_ahead: bool, reason: &str) -> Done<()> {
    let new = show(tx, id)?;
    unchanged(seen, new.walk_round_version())?;
    let walked = new.walk_round.as_ref().ok_or_else(|| Refused::not_found("walk-round"))?;
    inspection::decide(tx, &walked.id, seen, go_ahead, reason)?;
    Ok(())
}

impl Noted {
    /// The walk-round after what was noted.
    fn apply(&self, before: Option<&Details>) -> Result<Details, Refused> {
        let blank = Details {
            stage: InspectionStage::BeforeWork,
            odometer: None,
            soil: self.soil,
            contamination: self.contamination,
            findings: Vec::new(),
            readings: Vec::new(),
            photo_ids: Vec::new(),
            beyond_repair: String::new(),
            note: String::new(),
        };
        let mut details = before.cloned().unwrap_or(blank);
        details.odometer = self.odometer;
        details.soil = self.soil;
        details.contamination = self.contamination;
        details.beyond_repair.clone_from(&self.beyond_repair);
        match &self.finding {
            None => {}
            Some(Finding::Added(_)) if details.findings.len() >= MOST_FINDINGS => {
                let detail = "This walk-round has as many findings as it can hold. Put similar ones together.";
                return Err(Refused::field("/findings", "too_many", detail));
            }
            Some(Finding::Added(found)) => details.findings.push(found.clone()),
            Some(Finding::Corrected(at, found)) => {
                let place = details.findings.get_mut(*at).ok_or_else(|| Refused::not_found("finding"))?;
                *place = found.clone();
            }
            Some(Finding::Removed(at)) if *at < details.findings.len() => {
                details.findings.remove(*at);
            }
            Some(Finding::Removed(_)) => return Err(Refused::not_found("finding")),
        }
        if let Some(read) = &self.readings {
            details.readings.retain(|earlier| earlier.panel != read.panel);
            details.readings.push(read.clone());
        }
        Ok(details)
    }
}
