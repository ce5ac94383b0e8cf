//! Rules of the work itself: nothing before its time, nobody at two things, ready only when all is settled.
use baywright_domain::id::PersonId;
use baywright_domain::job::{Job, JobRefusal, JobState, JobStep, Made, Piece, StepMove, StepState};
use baywright_domain::menu::{Code, Holds};
use baywright_domain::plan::{Hands, work_plan};
use baywright_domain::refusal::Refusal;
use baywright_domain::time::Minutes;
use chrono::{DateTime, Utc};
use proptest::prelude::*;

use crate::studio::{code, codes, medium, menu};

fn at(minutes: i64) -> DateTime<Utc> {
    DateTime::from_timestamp(1_800_000_000 + minutes * 60, 0).unwrap()
}

fn person(name: &str) -> PersonId {
    PersonId::new(name)
}

fn job(services: &[&str]) -> Job {
    let plan = work_plan(&menu(), &codes(services), medium(), Hands::One).unwrap();
    Job { steps: plan.steps.into_iter().map(|step| JobStep::new(step.code, step.name, step.after)).collect() }
}

#[test]
fn a_step_waits_for_its_predecessors_and_names_them() {
    let mut job = job(&["interior"]);
    let (vacuum, extract, last) = (code("vacuum"), code("extract"), code("final"));
    let refusal = job.start(&last, &person("a"), at(0)).unwrap_err();
    assert_eq!(refusal.to_string(), "FINAL can't be started before these are finished or removed: VACUUM, EXTRACT");
    job.start(&vacuum, &person("a"), at(0)).unwrap();
    job.finish(&vacuum, at(55), None).unwrap();
    job.remove(&extract, "the seats are dry and clean").unwrap();
    job.start(&last, &person("a"), at(60)).unwrap();
}

#[test]
fn a_step_waits_until_the_one_before_has_cured() {
    let mut job = job(&["interior"]);
    for name in ["vacuum", "extract"] {
        job.start(&code(name), &person("a"), at(0)).unwrap();
        job.finish(&code(name), at(10), (name == "extract").then(|| at(250))).unwrap();
    }
    let early = job.start(&code("final"), &person("a"), at(249));
    assert!(matches!(early, Err(JobRefusal::StillCuring { until, .. }) if until == at(250)));
    assert!(job.startable(at(249)).is_empty());
    assert_eq!(job.startable(at(250)).len(), 1);
    job.start(&code("final"), &person("a"), at(250)).unwrap();
}

#[test]
fn what_cures_holds_the_whole_car_and_what_dries_only_the_steps_after_it() {
    let mut job = job(&["wash-only", "interior"]);
    let (vacuum, wheels, extract) = (code("vacuum"), code("wheels"), code("extract"));
    job.start(&vacuum, &person("a"), at(0)).unwrap();
    job.finish(&vacuum, at(10), Some(at(250))).unwrap();
    let mut dries = job.clone();
    for step in &mut dries.steps {
        step.holds = Holds::After;
    }
    for step in [&wheels, &extract] {
        let early = job.start(step, &person("a"), at(20));
        assert!(matches!(early, Err(JobRefusal::StillCuring { until, .. }) if until == at(250)), "{step}");
    }
    assert!(dries.start(&extract, &person("a"), at(20)).is_err());
    dries.start(&wheels, &person("a"), at(20)).unwrap();
    // The wheels began because the whole car was free early, so the early end can't be undone before them.
    let early = done(&mut job, "vacuum", 30, |job, code| job.end_wait(code, at(30), at(30)));
    let start = done(&mut job, "wheels", 31, |job, code| job.start(code, &person("a"), at(31)));
    assert!(matches!(job.undo(&vacuum, &early, &[]), Err(JobRefusal::BuiltOn { .. })));
    job.undo(&wheels, &start, &[]).unwrap();
    job.undo(&vacuum, &early, &[]).unwrap();
}

#[test]
fn nobody_is_at_two_steps_and_two_may_be_at_one() {
    let mut job = job(&["wash-only", "interior"]);
    let (wheels, vacuum) = (code("wheels"), code("vacuum"));
    job.start(&wheels, &person("a"), at(0)).unwrap();
    assert_eq!(job.start(&vacuum, &person("a"), at(5)), Err(JobRefusal::Busy("WHEELS".into())));
    assert_eq!(job.start(&wheels, &person("a"), at(5)), Err(JobRefusal::Busy("WHEELS".into())));
    job.start(&wheels, &person("b"), at(10)).unwrap();
    job.stop(&wheels, &person("a"), at(20)).unwrap();
    assert_eq!(job.steps[0].state, StepState::Running);
    assert_eq!(job.stop(&wheels, &person("a"), at(21)), Err(JobRefusal::NotAtIt("WHEELS".into())));
    job.stop(&wheels, &person("b"), at(30)).unwrap();
    assert_eq!(job.steps[0].state, StepState::Paused);
    assert_eq!(job.steps[0].attended(at(99)), Minutes::new(30));
    assert_eq!(job.steps[0].of_all_hands(at(99)), Minutes::new(40));
}

#[test]
fn a_car_is_ready_when_every_step_is_finished_or_removed_with_a_reason() {
    let mut job = job(&["interior"]);
    assert_eq!(job.state(), JobState::Waiting);
    assert_eq!(job.ready(), Err(JobRefusal::NotReady(vec!["VACUUM".into(), "EXTRACT".into(), "FINAL".into()])));
    assert_eq!(job.remove(&code("vacuum"), " "), Err(JobRefusal::NoReason));
    job.remove(&code("vacuum"), "done by the customer").unwrap();
    assert_eq!(job.state(), JobState::InWork);
    for name in ["extract", "final"] {
        job.start(&code(name), &person("a"), at(0)).unwrap();
        assert!(job.remove(&code(name), "running").is_err());
        job.finish(&code(name), at(10), None).unwrap();
    }
    assert_eq!((job.ready(), job.state()), (Ok(()), JobState::Ready));
    assert!(matches!(job.start(&code("final"), &person("a"), at(20)), Err(JobRefusal::State(_))));
    assert_eq!(job.start(&code("gone"), &person("a"), at(20)), Err(JobRefusal::UnknownStep(code("gone"))));
}

/// A job whose vacuuming `a` finished at 30, after `b` helped from 10 to 20.
fn vacuumed() -> Job {
    let mut job = job(&["wash-only", "interior"]);
    let vacuum = code("vacuum");
    job.start(&vacuum, &person("a"), at(0)).unwrap();
    job.start(&vacuum, &person("b"), at(10)).unwrap();
    job.stop(&vacuum, &person("b"), at(20)).unwrap();
    job.finish(&vacuum, at(30), None).unwrap();
    job
}

fn find<'j>(job: &'j Job, name: &str) -> &'j JobStep {
    job.steps.iter().find(|step| step.code == code(name)).unwrap()
}

fn piece(who: &str, from: i64, until: Option<i64>) -> Piece {
    Piece { who: person(who), from: at(from), until: until.map(at) }
}

/// A person who is at two steps at once for some time, if there is one.
fn twice_at_work(job: &Job) -> Option<PersonId> {
    let all: Vec<&Piece> = job.steps.iter().flat_map(|step| &step.pieces).collect();
    let until = |piece: &Piece| piece.until.unwrap_or(DateTime::<Utc>::MAX_UTC);
    let meet =
        |one: &Piece, other: &Piece| one.who == other.who && one.from.max(other.from) < until(one).min(until(other));
    let twice = (0..all.len()).find(|place| all[..*place].iter().any(|earlier| meet(earlier, all[*place])));
    twice.map(|place| all[place].who.clone())
}

/// Makes a move and gives what it takes to undo it.
fn done(
    job: &mut Job,
    name: &str,
    clock: i64,
    by: impl FnOnce(&mut Job, &Code) -> Result<StepMove, JobRefusal>,
) -> Made {
    let before = find(job, name).clone();
    let what = by(job, &code(name)).unwrap();
    Made { what, at: at(clock), before }
}

#[test]
fn undoing_a_finish_lets_the_clocks_run_again_unless_they_run_elsewhere_or_later_steps_began() {
    let mut job = job(&["interior"]);
    job.start(&code("vacuum"), &person("a"), at(0)).unwrap();
    let before = job.clone();
    let finish = done(&mut job, "vacuum", 30, |job, code| job.finish(code, at(30), None));
    let finished = job.clone();
    job.undo(&code("vacuum"), &finish, &[]).unwrap();
    assert_eq!(job, before);
    // Somebody went on to the next step: that comes first.
    let mut later = finished.clone();
    let start = done(&mut later, "extract", 31, |job, code| job.start(code, &person("b"), at(31)));
    let refusal = later.undo(&code("vacuum"), &finish, &[]).unwrap_err();
    assert_eq!(refusal.code(), "undo-first");
    assert_eq!(refusal.to_string(), "VACUUM can't be undone: EXTRACT began after it. Undo that first");
    later.undo(&code("extract"), &start, &[]).unwrap();
    later.undo(&code("vacuum"), &finish, &[]).unwrap();
    assert_eq!(later, before);
}

#[test]
fn nobody_is_put_back_to_a_step_while_they_are_at_another() {
    let mut job = job(&["wash-only", "interior"]);
    job.start(&code("vacuum"), &person("a"), at(0)).unwrap();
    let stop = done(&mut job, "vacuum", 5, |job, code| job.stop(code, &person("a"), at(5)));
    job.start(&code("wheels"), &person("a"), at(6)).unwrap();
    assert_eq!(job.undo(&code("vacuum"), &stop, &[]), Err(JobRefusal::Busy("WHEELS".into())));
}

#[test]
fn nobody_is_put_back_to_a_step_over_what_they_have_done_since() {
    let mut job = job(&["wash-only", "interior"]);
    job.start(&code("vacuum"), &person("a"), at(0)).unwrap();
    job.start(&code("vacuum"), &person("b"), at(1)).unwrap();
    let finish = done(&mut job, "vacuum", 5, |job, code| job.finish(code, at(5), None));
    let finished = job.clone();
    job.start(&code("wheels"), &person("a"), at(6)).unwrap();
    job.stop(&code("wheels"), &person("a"), at(7)).unwrap();
    let refusal = job.undo(&code("vacuum"), &finish, &[]).unwrap_err();
    assert_eq!(refusal, JobRefusal::WorkedSince { step: "VACUUM".into(), on: vec!["WHEELS".into()] });
    assert_eq!(refusal.code(), "undo-first");
    // What they did on another car is in the way as well; what they did there before, or somebody else did, is not.
    let elsewhere = |piece: Piece| [("Wash on another car".to_owned(), piece)];
    let refusal = finished.clone().undo(&code("vacuum"), &finish, &elsewhere(piece("b", 8, Some(9)))).unwrap_err();
    assert_eq!(refusal, JobRefusal::WorkedSince { step: "VACUUM".into(), on: vec!["Wash on another car".into()] });
    let refusal = finished.clone().undo(&code("vacuum"), &finish, &elsewhere(piece("b", 8, None))).unwrap_err();
    assert_eq!(refusal, JobRefusal::Busy("Wash on another car".into()));
    for other in [piece("b", -9, Some(1)), piece("c", 8, Some(9))] {
        finished.clone().undo(&code("vacuum"), &finish, &elsewhere(other)).unwrap();
    }
}

#[test]
fn corrected_times_are_not_undone_over_work_that_took_their_place() {
    let mut job = vacuumed();
    let right = vec![piece("a", 0, Some(10)), piece("b", 10, Some(20))];
    let correct = done(&mut job, "vacuum", 60, |job, code| job.correct(code, right, &[], None, at(60)));
    job.start(&code("wheels"), &person("a"), at(61)).unwrap();
    job.finish(&code("wheels"), at(62), None).unwrap();
    job.correct(&code("wheels"), vec![piece("a", 12, Some(25))], &[], None, at(63)).unwrap();
    let refusal = job.undo(&code("vacuum"), &correct, &[]).unwrap_err();
    assert_eq!(refusal, JobRefusal::WorkedSince { step: "VACUUM".into(), on: vec!["WHEELS".into()] });
}

#[test]
fn a_clock_is_put_right_and_the_step_counts_as_finished_when_its_last_piece_ended() {
    let mut job = vacuumed();
    let right = vec![piece("b", 10, Some(20)), piece("a", -5, Some(25))];
    let touched: Vec<Piece> = find(&job, "vacuum").touched(&right).cloned().collect();
    assert_eq!(touched, [piece("a", 0, Some(30)), piece("a", -5, Some(25))]);
    let before = job.clone();
    let correct = done(&mut job, "vacuum", 60, |job, code| job.correct(code, right, &[], Some(at(-5)), at(60)));
    let step = find(&job, "vacuum");
    assert_eq!((step.finished_at, step.attended(at(60))), (Some(at(25)), Minutes::new(30)));
    assert_eq!(step.pieces[0], piece("a", -5, Some(25)));
    job.undo(&code("vacuum"), &correct, &[]).unwrap();
    assert_eq!(job, before);
}

#[test]
fn nobody_was_at_a_car_before_it_came() {
    let mut job = vacuumed();
    let before = job.clone();
    let early = vec![piece("a", 1, Some(30)), piece("b", 2, Some(20))];
    let refusal = job.correct(&code("vacuum"), early, &[], Some(at(2)), at(60)).unwrap_err();
    let faults = refusal.faults();
    let named: Vec<(&str, &str)> = faults.iter().map(|fault| (fault.pointer.as_str(), fault.code)).collect();
    assert_eq!((named, &job), (vec![("/pieces/0/start", "before_arrival")], &before));
    // The minute in which it came is not before it, and what was there already is left alone.
    let came = at(2) + chrono::TimeDelta::seconds(50);
    let kept = vec![piece("a", 0, Some(30)), piece("b", 2, Some(20))];
    job.correct(&code("vacuum"), kept, &[], Some(came), at(60)).unwrap();
}

#[test]
fn times_that_cannot_have_been_are_all_named() {
    let mut job = vacuumed();
    job.start(&code("wheels"), &person("b"), at(40)).unwrap();
    let wrong = vec![
        piece("a", 0, Some(30)),
        piece("a", 29, Some(35)),
        piece("a", 50, Some(45)),
        piece("b", 41, Some(42)),
        piece("c", 55, Some(61)),
        piece("c", 61, Some(61)),
    ];
    let elsewhere = [("Wash".to_owned(), piece("c", 58, None))];
    let before = job.clone();
    let refusal = job.correct(&code("vacuum"), wrong, &elsewhere, Some(at(0)), at(60)).unwrap_err();
    assert_eq!(job, before);
    let named: Vec<(String, &str)> = refusal.faults().into_iter().map(|fault| (fault.pointer, fault.code)).collect();
    let named: Vec<(&str, &str)> = named.iter().map(|(pointer, code)| (pointer.as_str(), *code)).collect();
    assert_eq!(
        named,
        [
            ("/pieces/1", "overlaps"),
            ("/pieces/2/finish", "before_start"),
            ("/pieces/3", "overlaps"),
            ("/pieces/4/finish", "in_the_future"),
            ("/pieces/4", "overlaps"),
            ("/pieces/5/start", "in_the_future"),
            ("/pieces/5/finish", "in_the_future"),
        ]
    );
    let running = job.correct(&code("wheels"), vec![piece("b", 40, Some(50))], &[], None, at(60)).unwrap_err();
    assert_eq!(running.faults()[0].code, "other_people_at_it");
    assert_eq!(job.correct(&code("vacuum"), Vec::new(), &[], None, at(60)).unwrap_err().faults()[0].code, "empty");
    assert!(matches!(job.correct(&code("final"), Vec::new(), &[], None, at(60)), Err(JobRefusal::State(_))));
}

#[test]
fn a_wait_ends_early_but_never_later_and_not_in_the_past() {
    let mut job = job(&["interior"]);
    job.start(&code("vacuum"), &person("a"), at(0)).unwrap();
    job.finish(&code("vacuum"), at(10), Some(at(250))).unwrap();
    let vacuum = code("vacuum");
    for wrong in [39, 250, 300] {
        assert!(matches!(job.end_wait(&vacuum, at(wrong), at(40)), Err(JobRefusal::NotEarlier { .. })), "{wrong}");
    }
    let before = job.clone();
    let early = done(&mut job, "vacuum", 40, |job, code| job.end_wait(code, at(60), at(40)));
    assert_eq!(find(&job, "vacuum").clear_from, Some(at(60)));
    job.undo(&vacuum, &early, &[]).unwrap();
    assert_eq!(job, before);
    let early = done(&mut job, "vacuum", 40, |job, code| job.end_wait(code, at(40), at(40)));
    job.start(&code("extract"), &person("a"), at(41)).unwrap();
    assert!(matches!(job.undo(&vacuum, &early, &[]), Err(JobRefusal::BuiltOn { .. })));
    assert_eq!(job.end_wait(&vacuum, at(42), at(42)), Err(JobRefusal::NotCuring("VACUUM".into())));
    assert!(matches!(job.end_wait(&code("final"), at(42), at(42)), Err(JobRefusal::State(_))));
}

proptest! {
    #[test]
    fn whatever_is_tried_no_step_begins_before_those_it_waits_for(
        tries in prop::collection::vec((0_usize..10, 0_u8..4, 0_usize..2), 0..200),
    ) {
        let mut job = job(&["coating", "interior"]);
        let all: Vec<Code> = job.steps.iter().map(|step| step.code.clone()).collect();
        let people = [person("a"), person("b")];
        for (clock, (step, deed, who)) in (0..).zip(tries) {
            let step = &all[step % all.len()];
            let before = job.clone();
            let done = match deed {
                0 => job.start(step, &people[who], at(clock)),
                1 => job.stop(step, &people[who], at(clock)),
                2 => job.finish(step, at(clock), Some(at(clock + 3))),
                _ => job.remove(step, "tried"),
            };
            if done.is_err() {
                prop_assert_eq!(&job, &before);
            }
            for step in job.steps.iter().filter(|step| !matches!(step.state, StepState::Open | StepState::Removed)) {
                let settled = |code: &Code| job.steps.iter().any(|other| other.code == *code && other.state.is_settled());
                prop_assert!(step.after.iter().all(settled));
            }
            for who in &people {
                let open = job.steps.iter().flat_map(|step| &step.pieces);
                prop_assert!(open.filter(|piece| piece.until.is_none() && piece.who == *who).count() <= 1);
            }
            for step in &job.steps {
                let at_it = step.pieces.iter().any(|piece| piece.until.is_none());
                prop_assert_eq!(at_it, step.state == StepState::Running);
            }
        }
    }
    #[test]
    fn whatever_was_done_undoing_it_gives_exactly_what_was_before(
        tries in prop::collection::vec((0_usize..10, 0_u8..10, 0_usize..3), 0..120),
    ) {
        let mut job = job(&["coating", "interior"]);
        let all: Vec<Code> = job.steps.iter().map(|step| step.code.clone()).collect();
        let people = [person("a"), person("b"), person("c")];
        // Everything done and not undone yet, with the whole job before it.
        let mut made: Vec<(Code, Made, Job)> = Vec::new();
        for (clock, (step, deed, who)) in (0..).zip(tries) {
            let code = &all[step % all.len()];
            let (whole, now) = (job.clone(), at(clock));
            let before = job.steps[step % all.len()].clone();
            let what = match deed {
                0..=2 => job.start(code, &people[who], now),
                3 => job.stop(code, &people[who], now),
                4 | 5 => job.finish(code, now, Some(at(clock + 3))),
                6 => job.remove(code, "tried"),
                7 => job.end_wait(code, now, now),
                8 => {
                    let mut earlier = before.pieces.clone();
                    for piece in &mut earlier {
                        piece.from -= chrono::TimeDelta::seconds(30);
                    }
                    job.correct(code, earlier, &[], None, now)
                }
                _ => {
                    if let Some((code, last, whole)) = made.pop() {
                        job.undo(&code, &last, &[]).unwrap();
                        prop_assert_eq!(&job, &whole);
                    }
                    continue;
                }
            };
            if let Ok(what) = what {
                made.push((code.clone(), Made { what, at: now, before }, whole));
            } else {
                prop_assert_eq!(&job, &whole);
            }
        }
        while let Some((code, last, whole)) = made.pop() {
            job.undo(&code, &last, &[]).unwrap();
            prop_assert_eq!(&job, &whole);
        }
    }

    #[test]
    fn undoing_one_step_out_of_turn_leaves_the_others_alone_or_is_refused(
        tries in prop::collection::vec((0_usize..10, 0_u8..6, 0_usize..3), 0..80),
        undone in 0_usize..10,
    ) {
        let mut job = job(&["coating", "interior"]);
        let people = [person("a"), person("b"), person("c")];
        let mut last: Vec<Option<Made>> = vec![None; job.steps.len()];
        for (clock, (step, deed, who)) in (0..).zip(tries) {
            let step = step % job.steps.len();
            let (code, before) = (job.steps[step].code.clone(), job.steps[step].clone());
            let what = match deed {
                0..=2 => job.start(&code, &people[who], at(clock)),
                3 => job.stop(&code, &people[who], at(clock)),
                4 => job.finish(&code, at(clock), None),
                _ => job.remove(&code, "tried"),
            };
            if let Ok(what) = what {
                last[step] = Some(Made { what, at: at(clock), before });
            }
        }
        let step = undone % job.steps.len();
        if let Some(made) = &last[step] {
            let (before, code) = (job.clone(), job.steps[step].code.clone());
            match job.undo(&code, made, &[]) {
                Err(JobRefusal::BuiltOn { .. } | JobRefusal::WorkedSince { .. } | JobRefusal::Busy(_)) => {
                    prop_assert_eq!(&job, &before);
                }
                Err(other) => prop_assert!(false, "{}", other),
                Ok(()) => {
                    prop_assert_eq!(&job.steps[step], &made.before);
                    for (place, one) in job.steps.iter().enumerate() {
                        prop_assert!(place == step || *one == before.steps[place]);
                        let settled = |code: &Code| {
                            job.steps.iter().any(|other| other.code == *code && other.state.is_settled())
                        };
                        prop_assert!(one.pieces.is_empty() || one.after.iter().all(settled));
                    }
                    prop_assert_eq!(twice_at_work(&job), None);
                }
            }
        }
    }
}
