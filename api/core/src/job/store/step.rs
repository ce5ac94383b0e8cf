//! Rows of steps, of the work on them and of what was used.

use std::collections::BTreeMap;

use baywright_domain::id::{JobId, PersonId};
use baywright_domain::job::{self, JobStep, Piece, StepMove, StepState};
use baywright_domain::menu::Code;
use baywright_domain::plan::PlannedStep;
use diesel::prelude::*;
use rust_decimal::Decimal;

use super::undo::last_moves;
use crate::job::usecase::Step;
use crate::platform::clock::UtcTime;
use crate::platform::db::{RowId, insert_rows, of_shop, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::ids;
use crate::platform::kept::Named;
use crate::platform::tx::Tx;
use crate::schema::{job_piece, job_step, job_use};

#[derive(Queryable, Selectable)]
#[diesel(table_name = job_step)]
struct Row {
    id: String,
    job_id: String,
    code: String,
    place: i32,
    name: String,
    after_codes: String,
    budget_minutes: i32,
    wait_minutes: i32,
    wait_when: String,
    wait_holds: String,
    state: String,
    clear_from: Option<i64>,
    finished_at: Option<i64>,
    struck_because: Option<String>,
    version: i64,
}

fn named(id: &str) -> RowId<'_> {
    RowId::of("job_step", id)
}

impl Row {
    fn read(self, pieces: Vec<Piece>, used: BTreeMap<Code, Decimal>, last_move: Option<StepMove>) -> Stored<Step> {
        let row = named(&self.id);
        let step = JobStep {
            code: row.read("code", self.code)?,
            name: self.name,
            after: row.read("after_codes", self.after_codes)?,
            holds: row.read("wait_holds", self.wait_holds)?,
            state: row.read("state", self.state)?,
            pieces,
            finished_at: row.read("finished_at", self.finished_at)?,
            clear_from: row.read("clear_from", self.clear_from)?,
            removal_reason: self.struck_because,
        };
        Ok(Step {
            version: self.version,
            place: row.read("place", self.place)?,
            budget: row.read("budget_minutes", self.budget_minutes)?,
            wait: row.read("wait_minutes", self.wait_minutes)?,
            wait_when: row.read("wait_when", self.wait_when)?,
            step,
            used,
            last_move,
            id: self.id.into(),
        })
    }
}

/// Row of a piece of work: its id, the step, the person, start and finish.
type PieceRow = (String, String, String, i64, Option<i64>);

/// The pieces of work of each step, in the order of the rows.
fn by_step(rows: Vec<PieceRow>) -> Stored<BTreeMap<String, Vec<Piece>>> {
    let mut worked: BTreeMap<String, Vec<Piece>> = BTreeMap::new();
    for (id, step, person, from, until) in rows {
        let row = RowId::of("job_piece", &id);
        let (from, until) = (row.read("from_at", from)?, row.read("until_at", until)?);
        worked.entry(step).or_default().push(Piece { who: person.into(), from, until });
    }
    Ok(worked)
}

/// Several jobs as the rules need them, by the job's id: their steps in order, with the work on them.
pub(in crate::job) fn rules(tx: &mut Tx<'_>, jobs: &[JobId]) -> Stored<BTreeMap<String, job::Job>> {
    let shop = tx.studio.id.as_str();
    let ids: Vec<&str> = jobs.iter().map(JobId::as_str).collect();
    let rows: Vec<Row> = rows_of_shop!(job_step, id = shop)
        .filter(job_step::job_id.eq_any(ids.clone()))
        .order((job_step::job_id.asc(), job_step::place.asc(), job_step::code.asc()))
        .select(Row::as_select())
        .load(tx.conn)?;
    let of_jobs = rows_of_shop!(job_step, id = shop).filter(job_step::job_id.eq_any(ids));
    let pieces: Vec<PieceRow> = rows_of_shop!(job_piece, id = shop)
        .filter(job_piece::step_id.eq_any(of_jobs.select(job_step::id)))
        .order((job_piece::from_at.asc(), job_piece::id.asc()))
        .select((job_piece::id, job_piece::step_id, job_piece::person_id, job_piece::from_at, job_piece::until_at))
        .load(tx.conn)?;
    let mut worked = by_step(pieces)?;
    let mut found: BTreeMap<String, job::Job> = BTreeMap::new();
    for row in rows {
        let (of, pieces) = (row.job_id.clone(), worked.remove(&row.id).unwrap_or_default());
        let step = row.read(pieces, BTreeMap::new(), None)?;
        found.entry(of).or_insert_with(|| job::Job { steps: Vec::new() }).steps.push(step.step);
    }
    Ok(found)
}

/// The steps of a job, in order, with the work on them.
pub(in crate::job) fn steps(tx: &mut Tx<'_>, job: &JobId) -> Stored<Vec<Step>> {
    let shop = tx.studio.id.as_str();
    let rows: Vec<Row> = rows_of_shop!(job_step, id = shop)
        .filter(job_step::job_id.eq(job.as_str()))
        .order((job_step::place.asc(), job_step::code.asc()))
        .select(Row::as_select())
        .load(tx.conn)?;
    let of_job = rows_of_shop!(job_step, id = shop).filter(job_step::job_id.eq(job.as_str()));
    let pieces: Vec<PieceRow> = rows_of_shop!(job_piece, id = shop)
        .filter(job_piece::step_id.eq_any(of_job.select(job_step::id)))
        .order((job_piece::from_at.asc(), job_piece::id.asc()))
        .select((job_piece::id, job_piece::step_id, job_piece::person_id, job_piece::from_at, job_piece::until_at))
        .load(tx.conn)?;
    let of_job = rows_of_shop!(job_step, id = shop).filter(job_step::job_id.eq(job.as_str()));
    let used: Vec<(String, String, String, String)> = rows_of_shop!(job_use, id = shop)
        .filter(job_use::step_id.eq_any(of_job.select(job_step::id)))
        .select((job_use::id, job_use::step_id, job_use::product, job_use::amount))
        .load(tx.conn)?;
    let mut moved = last_moves(tx, job)?;
    let mut worked = by_step(pieces)?;
    let mut taken: BTreeMap<String, BTreeMap<Code, Decimal>> = BTreeMap::new();
    for (id, step, product, amount) in used {
        let row = RowId::of("job_use", &id);
        taken.entry(step).or_default().insert(row.read("product", product)?, row.read("amount", amount)?);
    }
    rows.into_iter()
        .map(|row| {
            let pieces = worked.remove(&row.id).unwrap_or_default();
            let used = taken.remove(&row.id).unwrap_or_default();
            let last_move = moved.remove(&row.id);
            row.read(pieces, used, last_move)
        })
        .collect()
}

/// Stores steps of a plan for a job, each with its position.
pub(in crate::job) fn insert_steps<'a>(
    tx: &mut Tx<'_>,
    job: &JobId,
    steps: impl IntoIterator<Item = (i32, &'a PlannedStep)>,
) -> Stored<()> {
    let mut rows = Vec::new();
    for (place, step) in steps {
        let id: String = ids::new();
        let row = named(&id);
        let after = row.write("after_codes", &step.after)?;
        let budget = row.write("budget_minutes", &step.attended)?;
        let wait = row.write("wait_minutes", &step.wait.minutes)?;
        rows.push((
            job_step::id.eq(id),
            job_step::shop_id.eq(tx.studio.id.as_str()),
            job_step::job_id.eq(job.as_str()),
            job_step::code.eq(step.code.as_str()),
            job_step::place.eq(place),
            job_step::name.eq(step.name.as_str()),
            job_step::after_codes.eq(after),
            job_step::budget_minutes.eq(budget),
            job_step::wait_minutes.eq(wait),
            job_step::wait_when.eq(step.wait.when.as_str()),
            job_step::wait_holds.eq(step.wait.holds.as_str()),
            job_step::state.eq(StepState::Open.stored()),
            job_step::version.eq(1_i64),
            job_step::updated_at.eq(tx.now.ms()),
        ));
    }
    insert_rows!(tx.conn, job_step::table, rows)?;
    Ok(())
}

/// Gives a step the position, budget and order of a later plan.
pub(in crate::job) fn replan_step(tx: &mut Tx<'_>, step: &Step, place: i32, planned: &PlannedStep) -> Stored<()> {
    let row = named(step.id.as_str());
    let one = rows_of_shop!(job_step, tx).filter(job_step::id.eq(step.id.as_str()));
    diesel::update(one)
        .set((
            job_step::place.eq(place),
            job_step::after_codes.eq(row.write("after_codes", &planned.after)?),
            job_step::budget_minutes.eq(row.write("budget_minutes", &planned.attended)?),
            job_step::version.eq(step.version + 1),
            job_step::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

/// Stores the state and the times of a step, as its next version.
pub(super) fn set_row(tx: &mut Tx<'_>, before: &Step, after: &JobStep) -> Stored<()> {
    let one = rows_of_shop!(job_step, tx).filter(job_step::id.eq(before.id.as_str()));
    diesel::update(one)
        .set((
            job_step::state.eq(after.state.stored()),
            job_step::clear_from.eq(after.clear_from.map(|at| UtcTime::from(at).ms())),
            job_step::finished_at.eq(after.finished_at.map(|at| UtcTime::from(at).ms())),
            job_step::struck_because.eq(after.removal_reason.as_deref()),
            job_step::version.eq(before.version + 1),
            job_step::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

/// Stores the changes of a move: the state, pieces that ended, and pieces that began.
pub(in crate::job) fn set_step(tx: &mut Tx<'_>, before: &Step, after: &JobStep) -> Stored<()> {
    set_row(tx, before, after)?;
    let known = before.step.pieces.len();
    for (piece, was) in after.pieces.iter().zip(&before.step.pieces).filter(|(piece, was)| piece != was) {
        let running = rows_of_shop!(job_piece, tx)
            .filter(job_piece::step_id.eq(before.id.as_str()))
            .filter(job_piece::person_id.eq(was.who.as_str()))
            .filter(job_piece::until_at.is_null());
        let until = piece.until.map(|at| UtcTime::from(at).ms());
        diesel::update(running).set(job_piece::until_at.eq(until)).execute(tx.conn)?;
    }
    after.pieces.iter().skip(known).try_for_each(|piece| insert_piece(tx, before, piece))
}

pub(super) fn insert_piece(tx: &mut Tx<'_>, of: &Step, piece: &Piece) -> Stored<()> {
    diesel::insert_into(job_piece::table)
        .values((
            job_piece::id.eq(ids::new::<String>()),
            job_piece::shop_id.eq(tx.studio.id.as_str()),
            job_piece::step_id.eq(of.id.as_str()),
            job_piece::person_id.eq(piece.who.as_str()),
            job_piece::from_at.eq(UtcTime::from(piece.from).ms()),
            job_piece::until_at.eq(piece.until.map(|at| UtcTime::from(at).ms())),
        ))
        .execute(tx.conn)?;
    Ok(())
}

/// The name of the step of another job on which the person works now.
pub(in crate::job) fn at_another_job(tx: &mut Tx<'_>, job: &JobId, who: &PersonId) -> Stored<Option<String>> {
    Ok(job_piece::table
        .inner_join(
            job_step::table.on(job_step::shop_id.eq(job_piece::shop_id).and(job_step::id.eq(job_piece::step_id))),
        )
        .filter(of_shop!(job_piece, tx))
        .filter(job_piece::person_id.eq(who.as_str()))
        .filter(job_piece::until_at.is_null())
        .filter(job_step::job_id.ne(job.as_str()))
        .select(job_step::name)
        .first(tx.conn)
        .optional()?)
}

/// Stores the amount of a product that was used for a step.
pub(in crate::job) fn use_product(
    tx: &mut Tx<'_>,
    step: &Step,
    product: &Code,
    amount: Decimal,
    who: &PersonId,
) -> Stored<()> {
    diesel::insert_into(job_use::table)
        .values((
            job_use::id.eq(ids::new::<String>()),
            job_use::shop_id.eq(tx.studio.id.as_str()),
            job_use::step_id.eq(step.id.as_str()),
            job_use::product.eq(product.as_str()),
            job_use::amount.eq(amount.normalize().to_string()),
            job_use::person_id.eq(who.as_str()),
            job_use::at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}
