//! A week's problem with its codes resolved to indexes, so that the search compares only numbers.

use alloc::vec::Vec;
use core::ops::Range;

use super::crew::Crew;
use super::route::{self, Route};
use super::{Job, board};
use crate::schedule::availability::places;
use crate::schedule::diary::PersonTime;
use crate::schedule::progress::Progress;
use crate::schedule::window::{self, Labour};
use crate::schedule::{Diary, Plan, Step};
use crate::time::{Interval, IntervalSet, Minute, Minutes};

/// Jobs and diary as the search sees them.
pub(super) struct Model<'a> {
    pub(super) diary: &'a Diary,
    pub(super) jobs: &'a [Job],
    pub(super) tasks: Vec<Task>,
    /// The attended steps of all jobs, job after job.
    pub(super) steps: Vec<Attended>,
    /// The gaps of all bays, bay after bay, each bay's in order of time.
    pub(super) gaps: Vec<Gap>,
    /// For each bay, the range of its gaps.
    pub(super) gaps_of: Vec<Range<usize>>,
    /// Time in which each technician could work in some bay.
    people: Vec<Vec<Interval>>,
    /// Whether all bays have the same open time.
    alike: bool,
    /// The technicians who work in pairs too; `None` if nobody does.
    pub(super) crew: Option<Crew>,
    /// Whether the car of any job may change bays.
    pub(super) moves: bool,
}

/// A job.
pub(super) struct Task {
    /// Its attended steps, as indexes in [`Model::steps`].
    pub(super) steps: Range<usize>,
    /// The bays that have every feature; those in which it may begin, if its car may change bays.
    pub(super) bays: Vec<usize>,
    /// The moves of its car; `None` if it keeps its bay.
    pub(super) route: Option<Route>,
    /// Its plan, which has the hold of each wait.
    plan: Plan,
    /// Minutes from start to finish if nothing is in the way.
    pub(super) shortest: Minutes,
    /// Minimum minutes in its first bay.
    pub(super) in_first_bay: Minutes,
    pub(super) arrives: Minute,
    pub(super) due: Minute,
    /// Latest finish of any placement.
    pub(super) latest: Minute,
    weight: u64,
    /// The start and finish that its customer was told.
    pub(super) promised: Option<(Minute, Minute)>,
}

/// A step with minutes.
pub(super) struct Attended {
    pub(super) task: usize,
    /// Its index in the job's plan.
    pub(super) in_plan: usize,
    pub(super) labour: Labour,
    /// The same with a move of the car before it.
    pub(super) moved: Labour,
    /// Index in the job's plan of the next attended step; the number of steps after the last one.
    pub(super) until: usize,
    /// If the car may change bays, the bays in which it can be done.
    pub(super) rooms: Vec<usize>,
    /// Whether it may be done while its own bay is closed, as long as another one is open: only in the relaxed problem.
    anywhere: bool,
    /// Technicians who have its skills, smallest code first.
    pub(super) able: Vec<usize>,
    /// Minimum minutes from its end to the job's finish.
    pub(super) tail: Minutes,
}

/// A period in which no fixed placement has a bay.
pub(super) struct Gap {
    pub(super) bay: usize,
    /// The bay's open time, as an index in the diary's.
    pub(super) hours: usize,
    pub(super) span: Interval,
}

impl<'a> Model<'a> {
    /// Resolves the codes. In the `easier` problem, a step that may be split may be split at any minute, and be worked
    /// on when any bay is open. It is a relaxation: no schedule of the real problem has a better score.
    pub(super) fn new(diary: &'a Diary, jobs: &'a [Job], easier: bool) -> Self {
        let mut model = Self {
            diary,
            jobs,
            tasks: Vec::with_capacity(jobs.len()),
            steps: Vec::new(),
            gaps: Vec::new(),
            gaps_of: Vec::new(),
            people: Vec::new(),
            alike: diary.hours.len() <= 1,
            crew: Crew::of(&diary.people),
            moves: false,
        };
        for (place, bay) in diary.bays.iter().enumerate() {
            let first = model.gaps.len();
            model.gaps.extend(bay.gaps.iter().map(|span| Gap { bay: place, hours: bay.hours, span: *span }));
            model.gaps_of.push(first..model.gaps.len());
        }
        let open = diary.hours.iter().fold(IntervalSet::EMPTY, |all, open| all.union(open));
        let free = |person: &PersonTime| open.intersection(&person.free).as_slice().to_vec();
        model.people.extend(diary.people.iter().map(free));
        for job in jobs {
            model.add(job, easier);
        }
        model
    }

    fn add(&mut self, job: &Job, easier: bool) {
        let (first, task) = (self.steps.len(), self.tasks.len());
        let (plan, route) = (job.order.plan(), Route::of(self.diary, job));
        for (in_plan, step) in plan.steps().iter().enumerate() {
            if step.minutes > Minutes::ZERO {
                let able = self.able(step);
                let mut labour = Labour::from(step);
                let anywhere = easier && labour.smallest < labour.minutes;
                if anywhere {
                    labour.smallest = Minutes::new(1);
                }
                let tail = plan.tail(in_plan);
                let rest = plan.steps().iter().enumerate().skip(in_plan + 1);
                let attended = |(_, step): &(usize, &Step)| step.minutes > Minutes::ZERO;
                let until = rest.clone().find(attended).map_or(plan.steps().len(), |(place, _)| place);
                let all = 0..self.diary.bays.len();
                let rooms = route
                    .as_ref()
                    .map_or(Vec::new(), |route| all.filter(|bay| route.serves(*bay, in_plan, until)).collect());
                let moved = route::moved(step, job.moving.minutes);
                self.steps.push(Attended { task, in_plan, labour, moved, until, rooms, anywhere, able, tail });
            }
        }
        let span = self.diary.horizon.span();
        let shortest = plan.shortest();
        let (bays, in_first_bay) = match &route {
            Some(route) => self.first_bays(route, first),
            None => (places(&self.diary.bays, |bay| plan.features().is_subset(&bay.features)), shortest),
        };
        self.moves |= route.is_some();
        self.tasks.push(Task {
            steps: first..self.steps.len(),
            bays,
            route,
            plan: plan.clone(),
            shortest,
            in_first_bay,
            arrives: job.arrives.max(span.from()),
            due: job.due,
            latest: job.latest.map_or(span.to(), |latest| latest.min(span.to())),
            weight: u64::from(job.weight.get()),
            promised: job.promised.as_ref().map(|told| (told.start, told.finish)),
        });
    }

    /// The technicians who can do a step; a pair does only steps for two, because its leader alone is free at all of its
    /// times.
    fn able(&self, step: &Step) -> Vec<usize> {
        let skilled = places(&self.diary.people, |person| step.skills.is_subset(&person.skills));
        match &self.crew {
            Some(crew) if !step.is_for_two() => skilled.into_iter().filter(|who| !crew.is_pair(*who)).collect(),
            _ => skilled,
        }
    }

    /// The bays in which a car that may be moved can begin, with its step at the index `first` if possible, and the
    /// minutes that it is there at least.
    fn first_bays(&self, route: &Route, first: usize) -> (Vec<usize>, Minutes) {
        let Some(step) = self.steps.get(first) else { return (Vec::new(), Minutes::ZERO) };
        let all = || 0..self.diary.bays.len();
        let stays = |bay: &usize| route.serves(*bay, 0, step.until) && route.goes_on(*bay, 0, step.until);
        let here: Vec<usize> = all().filter(stays).collect();
        if !here.is_empty() {
            return (here, step.labour.minutes);
        }
        let leaves = |bay: &usize| step.in_plan > 0 && route.serves(*bay, 0, step.in_plan);
        (all().filter(leaves).collect(), Minutes::new(1))
    }

    /// Time in which each technician could work.
    pub(super) fn people(&self) -> &[Vec<Interval>] {
        &self.people
    }

    /// Whether no car may change bays, and nobody works in pairs.
    pub(super) fn is_plain(&self) -> bool {
        !self.moves && self.crew.is_none()
    }

    /// Whether the easier problem differs from this one.
    pub(super) fn may_be_easier(&self) -> bool {
        let eased = |step: &Attended| {
            let Labour { minutes, smallest } = step.labour;
            smallest < minutes && (smallest > Minutes::new(1) || !self.alike)
        };
        self.steps.iter().any(eased)
    }

    /// End of a step that a technician with the free time `free` begins at `begin`, in a bay with these hours.
    pub(super) fn end_by(
        &self,
        free: &[Interval],
        hours: usize,
        step: usize,
        begin: Minute,
        limit: Minute,
        piece: impl FnMut(Interval),
    ) -> Option<Minute> {
        self.end_of(free, hours, step, self.steps[step].labour, (begin, limit), piece)
    }

    /// End of a step as [`end_by`](Self::end_by), with these minutes.
    pub(super) fn end_of(
        &self,
        free: &[Interval],
        hours: usize,
        step: usize,
        labour: Labour,
        (begin, limit): (Minute, Minute),
        piece: impl FnMut(Interval),
    ) -> Option<Minute> {
        let free = window::rest(free, begin);
        let anywhere = self.steps[step].anywhere;
        if self.alike || anywhere {
            return window::work(free.iter().copied(), labour, begin, limit, piece);
        }
        let open = window::rest(self.diary.open_hours(hours), begin);
        window::work(Both { one: free, other: open }, labour, begin, limit, piece)
    }

    /// Takes free minutes of a technician.
    pub(super) fn take(&self, free: &mut [Vec<Interval>], who: usize, taken: Interval) {
        match &self.crew {
            None => board::take(&mut free[who], taken),
            Some(crew) => crew.take(free, who, taken),
        }
    }

    /// Gives back minutes that a technician took.
    pub(super) fn give(&self, free: &mut [Vec<Interval>], who: usize, given: Interval) {
        match &self.crew {
            None => board::give(&mut free[who], given),
            Some(crew) => crew.give(free, who, given),
        }
    }

    /// Whether a person is busy when a technician works.
    pub(super) fn includes(&self, technician: usize, person: usize) -> bool {
        technician == person || self.crew.as_ref().is_some_and(|crew| crew.includes(technician, person))
    }

    /// Whether two technicians can't work at the same time.
    pub(super) fn share(&self, one: usize, other: usize) -> bool {
        one == other || self.crew.as_ref().is_some_and(|crew| crew.share(one, other))
    }

    /// Progress of a job that has its bay from `start` on: its steps without minutes before the first attended one are
    /// done.
    pub(super) fn begin(&self, task: usize, hours: usize, start: Minute) -> Option<Progress> {
        let mut done = Progress::new(start);
        self.pass_unattended(&mut done, task, hours, 0)?;
        Some(done)
    }

    /// Time when a step may begin.
    pub(super) fn ready(&self, done: &Progress, step: usize) -> Minute {
        let Attended { task, in_plan, .. } = self.steps[step];
        done.begin(&self.tasks[task].plan, in_plan)
    }

    /// Notes that a step ended at `end`, and that the steps without minutes directly after it are done then too; `None`
    /// if the bay's open time does not suffice for a wait.
    pub(super) fn note(&self, done: &mut Progress, step: usize, hours: usize, end: Minute) -> Option<()> {
        let Attended { task, in_plan, .. } = self.steps[step];
        self.note_wait(done, task, hours, in_plan, end)?;
        self.pass_unattended(done, task, hours, in_plan + 1)
    }

    /// Notes the steps without minutes from this place of the plan up to the next attended step; each ends at the time
    /// when it may begin.
    fn pass_unattended(&self, done: &mut Progress, task: usize, hours: usize, from: usize) -> Option<()> {
        let plan = &self.tasks[task].plan;
        for place in from..plan.steps().len() {
            if plan.steps()[place].minutes > Minutes::ZERO {
                break;
            }
            let at = done.begin(plan, place);
            self.note_wait(done, task, hours, place, at)?;
        }
        Some(())
    }

    fn note_wait(&self, done: &mut Progress, task: usize, hours: usize, place: usize, end: Minute) -> Option<()> {
        let plan = &self.tasks[task].plan;
        let passed = window::wait(self.diary.open_hours(hours), plan.steps()[place].wait, end)?;
        done.note(plan, place, end, passed);
        Some(())
    }

    /// The earliest finish of a job with these steps left after the progress `done`, if the technicians have the free
    /// time `free`; `None` if it is after `limit`.
    pub(super) fn finish(
        &self,
        free: &[Vec<Interval>],
        hours: usize,
        steps: Range<usize>,
        mut done: Progress,
        limit: Minute,
    ) -> Option<Minute> {
        for step in steps {
            let (_, end) = self.soonest(free, hours, step, self.ready(&done, step), limit)?;
            self.note(&mut done, step, hours, end)?;
            if done.finish() > limit {
                return None;
            }
        }
        Some(done.finish())
    }

    /// The technician who ends a step first, and when; of equal ones the smallest code.
    pub(super) fn soonest(
        &self,
        free: &[Vec<Interval>],
        hours: usize,
        step: usize,
        begin: Minute,
        limit: Minute,
    ) -> Option<(usize, Minute)> {
        let Attended { labour, able, .. } = &self.steps[step];
        let mut best: Option<(usize, Minute)> = None;
        for person in able {
            let until = best.map_or(limit, |(_, end)| end);
            let end = self.end_by(&free[*person], hours, step, begin, until, |_| ());
            if let Some(end) = end.filter(|end| best.is_none_or(|(_, sooner)| *end < sooner)) {
                best = Some((*person, end));
                if end == begin + labour.minutes {
                    break;
                }
            }
        }
        best
    }
}

impl Task {
    /// Weighted minutes of lateness.
    pub(super) fn lateness(&self, finish: Minute) -> u64 {
        let late = u64::try_from(finish.get().saturating_sub(self.due.get())).unwrap_or(0);
        late.saturating_mul(self.weight)
    }

    /// Whether a stay breaks a promise: the car has to come at another time, or is ready later.
    pub(super) fn moves(&self, start: Minute, finish: Minute) -> bool {
        self.promised.is_some_and(|(from, until)| start != from || finish > until)
    }

    /// The promised start and finish, if a stay keeps them.
    pub(super) fn kept(&self, start: Minute, finish: Minute) -> Option<(Minute, Minute)> {
        self.promised.filter(|_| !self.moves(start, finish))
    }
}

/// The minutes that two sorted lists share.
pub(super) struct Both<'a> {
    pub(super) one: &'a [Interval],
    pub(super) other: &'a [Interval],
}

impl Iterator for Both<'_> {
    type Item = Interval;

    fn next(&mut self) -> Option<Interval> {
        while let ([a, rest_a @ ..], [b, rest_b @ ..]) = (self.one, self.other) {
            if a.to() <= b.to() {
                self.one = rest_a;
            } else {
                self.other = rest_b;
            }
            if let Some(shared) = a.intersection(*b) {
                return Some(shared);
            }
        }
        None
    }
}
