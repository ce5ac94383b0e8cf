//! Rules of the work itself: nothing before its time, nobody at two things, ready only when all is settled.
#![allow(clippy::unwrap_used, reason = "a wrong one fails the test")]

mod studio;

use baywright_domain::id::PersonId;
use baywright_domain::job::{Job, JobRefusal, JobState, JobStep, StepState};
use baywright_domain::menu::Code;
use baywright_domain::plan::{Hands, work_plan};
use baywright_domain::time::Minutes;
use chrono::{DateTime, Utc};
use proptest::prelude::*;
use studio::{code, codes, medium, menu};

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
    assert_eq!(refusal.to_string(), "FINAL can't be started before these are finished or struck out: VACUUM, EXTRACT");
    job.start(&vacuum, &person("a"), at(0)).unwrap();
    job.finish(&vacuum, at(55), None).unwrap();
    job.strike(&extract, "the seats are dry and clean").unwrap();
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
fn a_car_is_ready_when_every_step_is_finished_or_struck_with_a_reason() {
    let mut job = job(&["interior"]);
    assert_eq!(job.state(), JobState::Waiting);
    assert_eq!(job.ready(), Err(JobRefusal::NotReady(vec!["VACUUM".into(), "EXTRACT".into(), "FINAL".into()])));
    assert_eq!(job.strike(&code("vacuum"), " "), Err(JobRefusal::NoReason));
    job.strike(&code("vacuum"), "done by the customer").unwrap();
    assert_eq!(job.state(), JobState::InWork);
    for name in ["extract", "final"] {
        job.start(&code(name), &person("a"), at(0)).unwrap();
        assert!(job.strike(&code(name), "running").is_err());
        job.finish(&code(name), at(10), None).unwrap();
    }
    assert_eq!((job.ready(), job.state()), (Ok(()), JobState::Ready));
    assert!(matches!(job.start(&code("final"), &person("a"), at(20)), Err(JobRefusal::State(_))));
    assert_eq!(job.start(&code("gone"), &person("a"), at(20)), Err(JobRefusal::UnknownStep(code("gone"))));
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
                _ => job.strike(step, "tried"),
            };
            if done.is_err() {
                prop_assert_eq!(&job, &before);
            }
            for step in job.steps.iter().filter(|step| !matches!(step.state, StepState::Open | StepState::Struck)) {
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
}
