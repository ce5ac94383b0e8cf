//! Warnings that a careful colleague would give after a step was started or finished, or a car was ready or handed
//! over. Nothing is refused.

use baywright_domain::booking::BookingState;
use baywright_domain::id::{InspectionId, PersonId, QuoteId, VehicleId};
use baywright_domain::job::{JobState, StepState};
use baywright_domain::menu::Code;
use baywright_domain::plan::PlannedStep;
use baywright_domain::vehicle::{OdometerUnit, is_far_above};

use super::step::Finish;
use super::{Job, Step, of_booking, store};
use crate::platform::fail::Done;
use crate::platform::tx::Tx;
use crate::{agreement, booking, inspection, people, plan};

/// Milliseconds of a day.
const DAY_MS: i64 = 86_400_000;

/// Occasion on which removed work is checked; what can still be done about it differs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Billing {
    /// The car was declared ready.
    Ready,
    /// The car was handed over.
    HandedOver,
    /// An invoice was drafted.
    Drafted,
    /// An invoice was issued.
    Issued,
}

impl Billing {
    /// Next step if the customer should pay less, depending on the state of the booking.
    fn advice(self, state: BookingState) -> &'static str {
        match (self, state) {
            (Self::Issued, _) => {
                "agree with the customer how it is credited: no variation changes what an issued invoice charges"
            }
            (Self::Ready, _) => {
                "undo \"ready\" and agree a variation that takes it off or gives a discount, before the car is given back"
            }
            (Self::HandedOver | Self::Drafted, BookingState::InBay) => {
                "agree a variation that takes it off or gives a discount, before the invoice is issued"
            }
            (Self::HandedOver | Self::Drafted, BookingState::Ready) => {
                "undo \"ready\" and agree a variation that takes it off or gives a discount, before the invoice is issued"
            }
            (Self::HandedOver | Self::Drafted, _) => {
                "undo the hand-over and \"ready\", and agree a variation that takes it off or gives a discount, before the \
                 invoice is issued"
            }
        }
    }
}

/// Warns of a bill for a car that is here but was not worked on, and of services that are billed in full though steps
/// that they need were removed.
pub fn warn_of_billing(tx: &mut Tx<'_>, quote: &QuoteId, when: Billing) -> Done<()> {
    let Some(booking) = booking::usecase::of_quote(tx, quote)? else { return Ok(()) };
    let Some(job) = of_booking(tx, &booking.id)? else { return Ok(()) };
    if booking.state == BookingState::InBay && job.state() == JobState::Waiting {
        let detail = "The car is here, and no work on it has begun. Check that this is the right invoice, unless the \
                      customer pays in advance.";
        tx.warn("invoiced-before-work", "", detail);
    }
    removed_but_billed(tx, &job, when, booking.state)
}

/// Warns of each service that is billed in full though steps that it needs were removed.
fn removed_but_billed(tx: &mut Tx<'_>, job: &Job, when: Billing, state: BookingState) -> Done<()> {
    let removed: Vec<&Step> = job.steps.iter().filter(|step| step.step.state == StepState::Removed).collect();
    if removed.is_empty() {
        return Ok(());
    }
    let work = plan::usecase::show(tx, &job.plan)?.work()?;
    let agreed = agreement::usecase::agreed(tx, &job.booking.quote)?;
    for billed in agreed.services() {
        let not_done = work.steps.iter().filter(|planned| {
            planned.services.contains(&billed.service) && removed.iter().any(|step| step.step.code == planned.code)
        });
        let not_done: Vec<&str> = not_done.map(|planned| planned.name.as_str()).collect();
        let were = match not_done.len() {
            0 => continue,
            1 => "was",
            _ => "were",
        };
        let code = &billed.service;
        let service = agreed.quote.menu.service(code).map_or_else(|| code.to_string(), |one| one.name.clone());
        let detail = format!(
            "{} {were} removed, but {service} is still billed in full. If the customer should pay less, {}.",
            not_done.join(", "),
            when.advice(state)
        );
        tx.warn("removed-but-billed", "", detail);
    }
    Ok(())
}

fn planned(tx: &mut Tx<'_>, job: &Job, code: &Code) -> Done<Option<PlannedStep>> {
    let work = plan::usecase::show(tx, &job.plan)?.work()?;
    Ok(work.steps.into_iter().find(|step| step.code == *code))
}

/// Warns if nobody who works on a step has the skills that it needs; a helper needs none.
pub(super) fn skills(tx: &mut Tx<'_>, job: &Job, step: &Step, who: &PersonId) -> Done<()> {
    let Some(planned) = planned(tx, job, &step.step.code)? else { return Ok(()) };
    let person = people::usecase::show(tx, who)?;
    let lacking = planned.lacking(&person.details.skills);
    if lacking.is_empty() {
        return Ok(());
    }
    for piece in step.pieces().iter().filter(|piece| piece.until.is_none() && piece.who != *who) {
        if planned.lacking(&people::usecase::show(tx, &piece.who)?.details.skills).is_empty() {
            return Ok(());
        }
    }
    let skills: Vec<&str> = lacking.iter().map(|skill| skill.as_str()).collect();
    let detail = format!(
        "{} needs the skill {}, which {} doesn't have. Let somebody with the skill do it, or add the skill to this \
         person.",
        planned.name,
        skills.join(", "),
        person.details.name
    );
    tx.warn("skill-missing", "/person_id", detail);
    Ok(())
}

/// Warns of products that the plan doesn't list for a step, and of amounts far above the plan.
pub(super) fn products(tx: &mut Tx<'_>, job: &Job, code: &Code, said: &Finish) -> Done<()> {
    let Some(planned) = planned(tx, job, code)? else { return Ok(()) };
    for (product, amount) in &said.used {
        let Some(measured) = planned.products.iter().find(|one| one.product == *product) else {
            let detail =
                format!("The plan has no {product} for {}. Check that the right product was chosen.", planned.name);
            tx.warn("product-not-planned", "/used", detail);
            continue;
        };
        if measured.is_far_exceeded(*amount) {
            let unit = measured.unit.label();
            let detail = format!(
                "Check the amount: {amount} {unit} of {} is far more than the {} {unit} planned for {}. Both are amounts \
                 ready to use.",
                measured.name, measured.amount, planned.name
            );
            tx.warn("used-far-more", "/used", detail);
        }
    }
    Ok(())
}

/// Warns of an odometer that shows less, or far more, than at its last reading, at an inspection or a hand-over.
/// `except` is the inspection that the reading is from.
pub fn odometer(
    tx: &mut Tx<'_>,
    vehicle: &VehicleId,
    unit: OdometerUnit,
    shown: u32,
    except: Option<&InspectionId>,
) -> Done<()> {
    let inspected = inspection::usecase::last_odometer(tx, vehicle, except)?;
    let given_back = store::last_odometer(tx, vehicle, unit)?;
    let Some((at, before)) = inspected.max(given_back) else { return Ok(()) };
    let unit = unit.label();
    let days = u32::try_from((tx.now.ms() - at.ms()) / DAY_MS).unwrap_or(0);
    if shown < before {
        let detail = format!("Check the odometer: it showed {before} {unit} before, and now {shown} {unit}.");
        tx.warn("odometer-lower", "/odometer", detail);
    } else if is_far_above(before, shown, days) {
        let detail = format!(
            "Check the odometer: it showed {before} {unit} before, and now {shown} {unit}. Is there a digit too many?"
        );
        tx.warn("odometer-far-higher", "/odometer", detail);
    }
    Ok(())
}
