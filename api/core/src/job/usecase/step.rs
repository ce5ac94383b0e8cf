//! The moves of a step. The rules decide whether each is allowed; this module stores it.

use std::collections::BTreeMap;

use baywright_domain::calendar::{Zone, ZoneRules};
use baywright_domain::caution::takes_paint;
use baywright_domain::id::{BayId, JobId, PersonId};
use baywright_domain::inspection::WorkStage;
use baywright_domain::job::{self, JobRefusal, Piece, StepMove, StepState, Told, ToldMove};
use baywright_domain::menu::{Code, WaitWhen};
use baywright_domain::schedule::{self, Wait};
use baywright_domain::time::{Minute, Minutes};
use rust_decimal::Decimal;
use serde_json::json;

use super::correct::elsewhere;
use super::{Job, Step, doer, look, own, store, whole};
use crate::platform::clock::UtcTime;
use crate::platform::fail::{DbError, Done, Fail};
use crate::platform::record;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::version::Seen;
use crate::{agreement, booking, inspection, menu, plan, shop};

/// Details of a finish.
#[derive(Debug, Clone, Default)]
pub struct Finish {
    /// Amount used of each product, in the plan's unit, ready to use.
    pub used: BTreeMap<Code, Decimal>,
}

/// What is said of a start, a stop or a finish.
#[derive(Debug, Clone, Default)]
pub struct Said {
    /// Version of the step that was seen; `None` for a move that is told later, which follows the moves before it.
    pub seen: Option<Seen>,
    /// Id of the person who works; `None` for the one who asks.
    pub who: Option<PersonId>,
    /// Time of the move, if it is told later; `None` for now.
    pub at: Option<UtcTime>,
}

impl Said {
    /// A move of whoever asks, made now on the version that was seen.
    pub fn seen(seen: Seen) -> Self {
        Self { seen: Some(seen), ..Self::default() }
    }

    /// The time from which the move counts: now, or the time that is told, if it can be right.
    fn counts_from(&self, tx: &mut Tx<'_>, job: &Job, code: &Code, what: ToldMove, who: &PersonId) -> Done<UtcTime> {
        let Some(at) = self.at else { return Ok(tx.now) };
        let until = Piece { who: who.clone(), from: at.datetime(), until: None };
        let elsewhere = elsewhere(tx, job, &[until])?;
        let arrived = job.booking.arrived_at.map(UtcTime::datetime);
        let told = Told { step: code, what, who, at: at.datetime(), arrived, elsewhere: &elsewhere };
        Ok(job.rules().told_at(&told, tx.now.datetime())?.into())
    }
}

/// Somebody begins a step, continues it, or joins those who work on it.
pub fn start(tx: &mut Tx<'_>, id: &JobId, code: &Code, said: &Said) -> Done<(Job, Step)> {
    let job = open(tx, id, code, said.seen)?;
    let who = doer(tx, said.who.as_ref())?;
    let at = said.counts_from(tx, &job, code, ToldMove::Start, &who)?;
    if let Some(other) = store::at_another_job(tx, &job.id, &who)? {
        let detail = format!("This person is still at {other} on another car: stop or finish that first.");
        return Err(Refused::conflict("person-busy", detail).into());
    }
    may_begin(tx, &job, at)?;
    may_touch_paint(tx, &job, code)?;
    let bay = job.bay_for(code).clone();
    may_leave(tx, &job, code, &who, &bay)?;
    booking::usecase::enter_bay(tx, &job.booking, &bay)?;
    let started = change(tx, &job, code, "job.step-started", |rules| rules.start(code, &who, at.datetime()))?;
    look::skills(tx, &started.0, &started.1, &who)?;
    Ok(started)
}

/// Refuses to move a car to another bay for a step that may not begin, for example because something cures on the car,
/// or while somebody is at work on it.
fn may_leave(tx: &mut Tx<'_>, job: &Job, code: &Code, who: &PersonId, bay: &BayId) -> Done<()> {
    let place = &job.booking.place;
    if !place.standing || place.bay == *bay {
        return Ok(());
    }
    if let Err(refused) = job.rules().start(code, who, tx.now.datetime()) {
        let bay = shop::usecase::show_bay(tx, bay)?.details.name;
        return Err(refused.before_move_to(&bay).into());
    }
    let running = job.steps.iter().find(|step| step.step.state == StepState::Running);
    let Some(running) = running else { return Ok(()) };
    let bay = shop::usecase::show_bay(tx, bay)?.details.name;
    let detail = format!(
        "Stop or finish {} first: for this step the car has to be moved to {bay}, and somebody is at work on it.",
        running.step.name
    );
    Err(Refused::conflict("car-in-work", detail).into())
}

/// Refuses work within the 14 days in which the customer can withdraw, if they did not agree to it.
fn may_begin(tx: &mut Tx<'_>, job: &Job, at: UtcTime) -> Done<()> {
    let plan = plan::usecase::show(tx, &job.plan)?;
    match booking::usecase::not_before(tx, &plan)? {
        Some(first) if at < UtcTime::from_minute(first) => {
            let detail = format!(
                "The customer can withdraw within 14 days and did not agree to work before {}. Wait until then, or let \
                 the desk record that they agree to an earlier start.",
                Zone::named(&tx.studio.zone)?.wall(first)
            );
            Err(Refused::conflict("early-start-not-agreed", detail).into())
        }
        _ => Ok(()),
    }
}

/// Refuses a step that removes paint if the readings need the owner's decision first, and warns at its first start if
/// the car's paint was never measured.
fn may_touch_paint(tx: &mut Tx<'_>, job: &Job, code: &Code) -> Done<()> {
    let plan = plan::usecase::show(tx, &job.plan)?.work()?;
    let planned = plan.steps.iter().find(|step| step.code == *code);
    if planned.is_some_and(|step| !step.takes_paint()) {
        return Ok(());
    }
    let agreed = agreement::usecase::agreed(tx, &job.booking.quote)?;
    // A step that was begun may be missing from a later plan.
    let signed = || agreed.quote.menu.step(code).filter(|step| takes_paint(&step.cautions)).map(|step| &step.name);
    let Some(name) = planned.map(|step| &step.name).or_else(signed) else { return Ok(()) };
    let named = agreed.inspections(None);
    inspection::usecase::may_work_on_paint(tx, &agreed.quote.vehicle, &named, (name, WorkStage::Begun))?;
    if job.step(code).is_some_and(|step| step.pieces().is_empty()) {
        inspection::usecase::warn_of_unmeasured(tx, &agreed.quote.vehicle, name)?;
    }
    Ok(())
}

/// Somebody stops for now.
pub fn stop(tx: &mut Tx<'_>, id: &JobId, code: &Code, said: &Said) -> Done<(Job, Step)> {
    let job = open(tx, id, code, said.seen)?;
    let who = doer(tx, said.who.as_ref())?;
    let at = said.counts_from(tx, &job, code, ToldMove::Stop, &who)?;
    change(tx, &job, code, "job.step-stopped", |rules| rules.stop(code, &who, at.datetime()))
}

/// Declares a step done; later steps may begin once it has dried or cured.
pub fn finish(tx: &mut Tx<'_>, id: &JobId, code: &Code, said: &Said, finish: &Finish) -> Done<(Job, Step)> {
    let job = open(tx, id, code, said.seen)?;
    let step = job.step(code).ok_or_else(|| JobRefusal::UnknownStep(code.clone()))?.clone();
    known(tx, &job, finish)?;
    let me = doer(tx, said.who.as_ref())?;
    let at = said.counts_from(tx, &job, code, ToldMove::Finish, &me)?;
    let clear_from = clear_from(tx, &job, &step, at)?;
    let rules = |rules: &mut job::Job| rules.finish(code, at.datetime(), clear_from.map(UtcTime::datetime));
    change(tx, &job, code, "job.step-finished", rules)?;
    for (product, amount) in &finish.used {
        store::use_product(tx, &step, product, *amount, &me)?;
    }
    look::products(tx, &job, code, finish)?;
    again(tx, id, code)
}

/// Refuses a product that is neither on the menu of the signed quote nor on the one in force.
fn known(tx: &mut Tx<'_>, job: &Job, said: &Finish) -> Done<()> {
    if said.used.is_empty() {
        return Ok(());
    }
    let signed = agreement::usecase::agreed(tx, &job.booking.quote)?.quote.menu;
    let now = menu::usecase::current(tx)?;
    match said.used.keys().find(|product| signed.product(product).is_none() && now.product(product).is_none()) {
        None => Ok(()),
        Some(product) => {
            let detail =
                format!("The menu has no product {product}. Choose one from the menu, or add this one to it first.");
            Err(Refused::field("/used", "unknown_product", detail).into())
        }
    }
}

/// Removes a step, with a reason.
pub fn remove(tx: &mut Tx<'_>, id: &JobId, code: &Code, seen: Seen, reason: &str) -> Done<(Job, Step)> {
    let job = open(tx, id, code, Some(seen))?;
    change(tx, &job, code, "job.step-removed", |rules| rules.remove(code, reason))
}

/// The job whose step is to change, while the car is in its bay.
fn open(tx: &mut Tx<'_>, id: &JobId, code: &Code, seen: Option<Seen>) -> Done<Job> {
    Ok(may_change(tx, id, code, seen)?.0)
}

/// The job and its step that is to change, while the car is in its bay.
pub(super) fn may_change(tx: &mut Tx<'_>, id: &JobId, code: &Code, seen: impl Into<Option<Seen>>) -> Done<(Job, Step)> {
    let job = whole(tx, id)?;
    own(tx, &job)?;
    let step = job.step(code).ok_or_else(|| Refused::not_found("step"))?.clone();
    if let Some(seen) = seen.into() {
        seen.check(step.version)?;
    }
    if job.booking.ready_at.is_some() {
        let state = job.booking.state.label();
        let detail =
            format!("This car is {state}, so its steps can't be changed. If that is a mistake, undo it first.");
        return Err(Refused::conflict("wrong-state", detail).into());
    }
    Ok((job, step))
}

/// Applies a move of the rules, and stores what it changed and what is needed to undo it.
pub(super) fn change(
    tx: &mut Tx<'_>,
    job: &Job,
    code: &Code,
    action: &str,
    mut by: impl FnMut(&mut job::Job) -> Result<StepMove, JobRefusal>,
) -> Done<(Job, Step)> {
    let mut rules = job.rules();
    let made = by(&mut rules)?;
    let places = job.steps.iter().zip(&rules.steps).filter(|(before, after)| before.step != **after);
    for (before, after) in places {
        store::set_step(tx, before, after).map_err(busy_meanwhile)?;
        let place = &job.booking.place;
        let enters = !place.standing || place.bay != *job.bay_for(code);
        let entered = matches!(made, StepMove::Start | StepMove::Join) && enters;
        store::push_move(tx, before, made, entered)?;
    }
    store::touch(tx, job, None)?;
    record::write(tx, action, ("job", job.id.as_str()), json!({ "step": code.as_str() }))?;
    again(tx, &job.id, code)
}

/// Nobody works on two steps at once: a constraint of the database says the same.
pub(super) fn busy_meanwhile(error: DbError) -> Fail {
    if error.is_taken() {
        Refused::conflict("person-busy", "This person began another step just now. Stop or finish that step first.")
            .into()
    } else {
        Fail::from(error)
    }
}

pub(super) fn again(tx: &mut Tx<'_>, id: &JobId, code: &Code) -> Done<(Job, Step)> {
    let job = whole(tx, id)?;
    let step = job.step(code).ok_or_else(|| JobRefusal::UnknownStep(code.clone()))?.clone();
    Ok((job, step))
}

/// Time when later steps may begin, if the step has to dry or cure after it was done at a given time.
pub(super) fn clear_from(tx: &mut Tx<'_>, job: &Job, step: &Step, done: UtcTime) -> Done<Option<UtcTime>> {
    if step.wait == Minutes::ZERO {
        return Ok(None);
    }
    if step.wait_when == WaitWhen::Any {
        return Ok(Some(done.plus_minutes(i64::from(step.wait.get()))));
    }
    // Only minutes in which the bay is open count, from the next whole one on.
    let begin = done.plus_ms(59_999).minute();
    let open = booking::usecase::bay_hours(tx, &job.booking.place.bay, begin)?;
    let wait = Wait { minutes: step.wait, when: schedule::WaitWhen::Open };
    let over: Option<Minute> = wait.over(&open, begin);
    let never = "Check the opening hours: in the coming weeks the bay isn't open for long enough for this step to dry.";
    Ok(Some(UtcTime::from_minute(over.ok_or_else(|| Refused::conflict("never-dry", never))?)))
}
