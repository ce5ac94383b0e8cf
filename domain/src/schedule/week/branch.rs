//! Branch and bound over steps, bays and technicians.
//!
//! Steps are placed in the order of their ends, each as early as possible. Every schedule has such a counterpart in
//! which nothing ends later. A step without interruption finds its own time free when the steps that end before it are
//! placed, since none of them ends later than it did. Steps that may be split at any minute find enough free minutes:
//! if there were too few after some idle minute, the original schedule would not fit either (the argument for earliest
//! deadlines first on one machine). This does not hold if pieces have a least length, or bays have different hours;
//! then the tree is that of the relaxed problem, and its result is a lower bound.

use alloc::vec::Vec;

use super::board;
use super::decode::GapNow;
use super::draft::{Draft, Lead, NEVER_BEFORE};
use super::local::Search;
use super::model::{Model, Task};
use super::node_budget::NodeBudget;
use crate::schedule::progress::Progress;
use crate::time::{Interval, Minute};

/// Objectives to be proven.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Aim {
    /// Jobs placed, promises kept, and lateness.
    Lateness,
    /// The last finish as well.
    Finish,
}

impl Aim {
    /// The part of the score that is to be proven.
    pub(super) fn of(self, lead: Lead) -> Lead {
        match self {
            Self::Lateness => Lead { finish: NEVER_BEFORE, ..lead },
            Self::Finish => lead,
        }
    }
}

/// A state of the search: the placed steps and the remaining time.
#[derive(Default)]
struct Node {
    free: Vec<Vec<Interval>>,
    gaps: Vec<GapNow>,
    jobs: Vec<JobNow>,
    /// End and job of the step placed last.
    last: Option<(Minute, usize)>,
}

#[derive(Clone)]
struct JobNow {
    next: usize,
    done: Progress,
    at: Option<(usize, Minute)>,
}

/// One option for placing the next step of a job.
struct Child {
    end: Minute,
    task: usize,
    who: usize,
    gap: usize,
    start: Minute,
    begin: Minute,
    /// Progress of the job after it.
    done: Progress,
}

/// The tree.
pub(super) struct Tree<'t, 'm, 'a> {
    /// The relaxed problem, with pieces of any length.
    model: &'t Model<'a>,
    search: &'t mut Search<'m, 'a>,
    aim: Aim,
    nodes: Vec<Node>,
    path: Vec<Child>,
    finishes: Vec<Minute>,
    /// The best score that the relaxed problem reaches and the real one has not reached.
    least: Option<Lead>,
}

/// Explores the tree and returns a proven lower bound for `aim`, or `None` if the node budget ran out first. Better
/// schedules on the way are offered to the search.
pub(super) fn prove<'a>(
    model: &Model<'a>,
    search: &mut Search<'_, 'a>,
    aim: Aim,
    node_budget: &mut NodeBudget<'_>,
) -> Option<Lead> {
    let mut nodes = Vec::new();
    nodes.resize_with(model.steps.len() + 1, Node::default);
    let root = nodes.first_mut()?;
    board::copy(&mut root.free, model.people());
    root.gaps.extend(model.gaps.iter().map(|gap| GapNow { ready: gap.span.from(), taken: None }));
    let new = |task: &Task| JobNow { next: task.steps.start, done: Progress::new(task.arrives), at: None };
    root.jobs.extend(model.tasks.iter().map(new));
    let finishes = alloc::vec![NEVER_BEFORE; model.tasks.len()];
    let mut tree = Tree { model, search, aim, nodes, path: Vec::new(), finishes, least: None };
    let complete = tree.explore(node_budget);
    let mut best = tree.search.best.score.lead;
    if best.unplaced > 0 {
        // This proves only that not all jobs fit, not how many don't.
        best = Lead { unplaced: 1, ..Lead::BEST };
    }
    let least = tree.least.map_or(best, |least| least.min(best));
    complete.then(|| aim.of(least))
}

impl Tree<'_, '_, '_> {
    /// Whether everything below the last node of the path was explored.
    fn explore(&mut self, node_budget: &mut NodeBudget<'_>) -> bool {
        let depth = self.path.len();
        if node_budget.is_empty() {
            return false;
        }
        // To compute a bound, all remaining steps are placed.
        node_budget.spend((self.model.steps.len() - depth) as u64);
        let Some(lead) = self.bound(depth) else { return true };
        if self.aim.of(lead) >= self.aim.of(self.search.best.score.lead) {
            return true;
        }
        if depth == self.model.steps.len() {
            self.leaf(lead, node_budget);
            return true;
        }
        let mut children = self.children(depth);
        children.sort_by_key(|child| (child.end, child.task, child.who, child.gap));
        for child in children {
            self.place(depth, &child);
            self.path.push(child);
            let complete = self.explore(node_budget);
            self.path.pop();
            if !complete {
                return false;
            }
        }
        true
    }

    /// Everything is placed: offers the same list in the same order to the search.
    fn leaf(&mut self, lead: Lead, node_budget: &mut NodeBudget<'_>) {
        let mut draft = Draft::of_jobs(self.model, core::iter::empty());
        let mut next: Vec<usize> = self.model.tasks.iter().map(|task| task.steps.start).collect();
        for child in &self.path {
            draft.list.push(child.task);
            draft.who[next[child.task]] = Some(child.who);
            next[child.task] += 1;
            draft.bay[child.task] = Some(self.model.gaps[child.gap].bay);
            draft.from[child.task] = child.start;
        }
        self.search.offer(&draft, node_budget);
        if self.aim.of(lead) < self.aim.of(self.search.best.score.lead) {
            self.least = Some(self.least.map_or(lead, |least| least.min(lead)));
        }
    }

    /// Lower bound from a week in which nothing waits for a step that is not placed yet.
    fn bound(&mut self, depth: usize) -> Option<Lead> {
        let (model, node) = (self.model, &self.nodes[depth]);
        for (task, job) in node.jobs.iter().enumerate() {
            let Some((gap, _)) = job.at else { continue };
            let known = &model.tasks[task];
            let limit = model.gaps[gap].span.to().min(known.latest);
            let left = job.next..known.steps.end;
            self.finishes[task] = model.finish(&node.free, model.gaps[gap].hours, left, job.done.clone(), limit)?;
        }
        let mut lead = Lead::BEST;
        for (task, job) in node.jobs.iter().enumerate() {
            let known = &model.tasks[task];
            if job.at.is_none() {
                self.finishes[task] = self.not_begun(node, task)?;
            }
            let finish = self.finishes[task];
            lead.lateness = lead.lateness.saturating_add(known.lateness(finish));
            lead.finish = lead.finish.max(finish);
            // A job without a bay may still begin when its customer was told.
            let start = job.at.map(|(_, start)| start).or(known.promised.map(|(from, _)| from)).unwrap_or(finish);
            lead.moved += usize::from(known.moves(start, finish));
        }
        Some(lead)
    }

    /// The earliest finish of a job that has no bay yet.
    fn not_begun(&self, node: &Node, task: usize) -> Option<Minute> {
        let (model, known) = (self.model, &self.model.tasks[task]);
        let mut best: Option<Minute> = None;
        for bay in &known.bays {
            for gap in model.gaps_of[*bay].clone() {
                let span = model.gaps[gap].span;
                let ready = node.gaps[gap].taken.map_or(node.gaps[gap].ready, |other| self.finishes[other]);
                let limit = span.to().min(known.latest);
                let limit = best.map_or(limit, |best| best.min(limit));
                let rest = Interval::new(ready.max(known.arrives), limit);
                let hours = model.gaps[gap].hours;
                let start = rest.and_then(|rest| model.diary.first_slot(hours, rest));
                let begin = start.and_then(|start| model.begin(task, hours, start));
                let finish = begin.and_then(|begin| model.finish(&node.free, hours, known.steps.clone(), begin, limit));
                if finish.is_some() {
                    best = finish;
                    break;
                }
            }
        }
        best
    }

    fn children(&self, depth: usize) -> Vec<Child> {
        let (model, node) = (self.model, &self.nodes[depth]);
        let mut children = Vec::new();
        for (task, job) in node.jobs.iter().enumerate() {
            let known = &model.tasks[task];
            if job.next == known.steps.end {
                continue;
            }
            if let Some((gap, start)) = job.at {
                self.by_technician(node, task, (gap, start, &job.done), &mut children);
                continue;
            }
            for (place, bay) in known.bays.iter().enumerate() {
                let twin = |other: &usize| self.alike(node, *other, *bay);
                if known.bays[..place].iter().any(twin) {
                    continue;
                }
                for gap in model.gaps_of[*bay].clone().filter(|gap| node.gaps[*gap].taken.is_none()) {
                    self.starts(node, task, gap, &mut children);
                }
            }
        }
        children
    }

    /// Adds the options for starting a job in a gap: as soon as possible, and, if its customer was told a later time,
    /// at that time.
    fn starts(&self, node: &Node, task: usize, gap: usize, children: &mut Vec<Child>) {
        let (model, known) = (self.model, &self.model.tasks[task]);
        let told = known.promised.map(|(from, _)| from).filter(|from| *from > known.arrives);
        let limit = model.gaps[gap].span.to().min(known.latest);
        let mut before = None;
        for from in told.into_iter().chain([known.arrives]) {
            let rest = Interval::new(node.gaps[gap].ready.max(from), limit);
            let start = rest.and_then(|rest| model.diary.first_slot(model.gaps[gap].hours, rest));
            let Some(start) = start.filter(|start| before != Some(*start)) else { continue };
            before = Some(start);
            if start + known.shortest <= limit
                && let Some(begin) = model.begin(task, model.gaps[gap].hours, start)
            {
                self.by_technician(node, task, (gap, start, &begin), children);
            }
        }
    }

    fn by_technician(
        &self,
        node: &Node,
        task: usize,
        (gap, start, done): (usize, Minute, &Progress),
        children: &mut Vec<Child>,
    ) {
        let model = self.model;
        let step = node.jobs[task].next;
        let begin = model.ready(done, step);
        let able = &model.steps[step].able;
        let (hours, limit) = (model.gaps[gap].hours, model.gaps[gap].span.to().min(model.tasks[task].latest));
        for (place, who) in able.iter().enumerate() {
            let people = &model.diary.people;
            let twin =
                |other: &usize| node.free[*other] == node.free[*who] && people[*other].skills == people[*who].skills;
            if able[..place].iter().any(twin) {
                continue;
            }
            let end = model.end_by(&node.free[*who], hours, step, begin, limit, |_| ());
            let Some(end) = end.filter(|end| node.last.is_none_or(|last| (*end, task) > last)) else { continue };
            let mut done = done.clone();
            if model.note(&mut done, step, hours, end).is_some() && done.finish() <= limit {
                children.push(Child { end, task, who: *who, gap, start, begin, done });
            }
        }
    }

    /// Whether two bays are interchangeable from here on.
    fn alike(&self, node: &Node, one: usize, other: usize) -> bool {
        let model = self.model;
        let (bays, a, b) = (&model.diary.bays, model.gaps_of[one].clone(), model.gaps_of[other].clone());
        bays[one].features == bays[other].features
            && bays[one].hours == bays[other].hours
            && bays[one].gaps == bays[other].gaps
            && a.zip(b).all(|(a, b)| {
                let (a, b) = (node.gaps[a], node.gaps[b]);
                a.ready == b.ready && a.taken.is_none() && b.taken.is_none()
            })
    }

    /// Makes a child of a node.
    fn place(&mut self, depth: usize, child: &Child) {
        let model = self.model;
        let (above, below) = self.nodes.split_at_mut(depth + 1);
        let (Some(from), Some(to)) = (above.last(), below.first_mut()) else { return };
        board::copy(&mut to.free, &from.free);
        to.gaps.clone_from(&from.gaps);
        to.jobs.clone_from(&from.jobs);
        let &Child { end, task, who, gap, start, begin, ref done } = child;
        let step = from.jobs[task].next;
        let (taken, hours) = (&mut to.free[who], model.gaps[gap].hours);
        model.end_by(&from.free[who], hours, step, begin, end, |piece| board::take(taken, piece));
        let last = step + 1 == model.tasks[task].steps.end;
        to.jobs[task] = JobNow { next: step + 1, done: done.clone(), at: Some((gap, start)) };
        to.gaps[gap] = GapNow { ready: done.finish(), taken: (!last).then_some(task) };
        to.last = Some((end, task));
    }
}
