//! One test for each ruling on availability.

use alloc::collections::BTreeSet;
use alloc::string::{String, ToString};
use alloc::vec;

use super::*;
use crate::schedule::{Bay, Holds, Horizon, PlacedStep, Technician, Unplannable, Wait, WaitWhen, Work};

type Pairs<'a> = &'a [(i64, i64)];

fn set(pairs: Pairs) -> IntervalSet {
    pairs.iter().filter_map(|&(from, to)| Interval::new(Minute::new(from), Minute::new(to))).collect()
}

fn words<T: FromIterator<String>>(list: &[&str]) -> T {
    list.iter().map(ToString::to_string).collect()
}

fn bay(code: &str, open: Pairs, held: Pairs) -> Bay {
    Bay { code: code.into(), features: words(&["cover"]), open: set(open), held: set(held) }
}

fn technician(code: &str, skills: &[&str], working: Pairs, busy: Pairs) -> Technician {
    Technician { code: code.into(), skills: words(skills), working: set(working), busy: set(busy) }
}

fn step(minutes: u32) -> Step {
    let wait = Wait::NONE;
    Step { code: "S".into(), minutes: Minutes::new(minutes), skills: words(&[]), work: Work::Whole, wait }
}

fn split(minutes: u32, smallest: u32) -> Step {
    Step { work: Work::Pieces { smallest: Minutes::new(smallest) }, ..step(minutes) }
}

fn waiting(minutes: u32, wait: u32, when: WaitWhen) -> Step {
    Step { wait: Wait { minutes: Minutes::new(wait), when }, ..step(minutes) }
}

fn plan(steps: Vec<Step>) -> Plan {
    Plan::new(words(&[]), steps).unwrap()
}

/// Two days from midnight on, quarter-hour slots.
fn diary(bays: &[Bay], technicians: &[Technician]) -> Diary {
    let horizon = Horizon::new(Minute::new(0), Minute::new(2880), Minutes::new(15)).unwrap();
    Diary::new(horizon, bays, technicians).unwrap()
}

/// One bay and one technician, both 08:00 to 18:00 on the first day.
fn usual() -> Diary {
    diary(&[bay("B1", &[(480, 1080)], &[])], &[technician("T1", &["x"], &[(480, 1080)], &[])])
}

/// The earliest placement from the beginning, checked, as (finish, start, bay, who, pieces).
fn first(diary: &Diary, plan: &Plan) -> Option<(i64, i64, String)> {
    best(diary, plan).map(|p| (p.finish.get(), p.start.get(), p.bay))
}

fn best(diary: &Diary, plan: &Plan) -> Option<Placement> {
    let best = diary.search(plan).earliest(Minute::new(0))?;
    assert_eq!(diary.check(plan, &best), Ok(()));
    Some(best)
}

fn who(placement: &Placement) -> Vec<&str> {
    placement.steps.iter().filter_map(|step| step.technician.as_deref()).collect()
}

fn pieces(step: &PlacedStep) -> Vec<(i64, i64)> {
    step.pieces.iter().map(|piece| (piece.from().get(), piece.to().get())).collect()
}

#[test]
fn touching_intervals_are_one_in_every_set() {
    let bays = [bay("B1", &[(600, 700), (500, 600)], &[])];
    let people = [technician("T1", &[], &[(600, 660), (540, 600)], &[])];
    assert_eq!(first(&diary(&bays, &people), &plan(vec![step(120)])), Some((660, 540, "B1".into())));
}

#[test]
fn placements_may_touch_in_a_bay_and_in_a_day() {
    let bays = [bay("B1", &[(480, 1080)], &[(0, 540), (600, 2000)])];
    let people = [technician("T1", &[], &[(480, 1080)], &[(480, 540), (600, 900)])];
    assert_eq!(first(&diary(&bays, &people), &plan(vec![step(60)])), Some((600, 540, "B1".into())));
}

#[test]
fn a_step_of_no_minutes_needs_nobody_and_its_wait_runs_from_its_end() {
    let nobody = Step { skills: words(&["nobody has it"]), ..waiting(0, 300, WaitWhen::Any) };
    let found = best(&usual(), &plan(vec![step(600), nobody])).unwrap();
    assert_eq!((found.start.get(), found.finish.get()), (480, 1380));
    assert_eq!(found.steps[1], PlacedStep { code: "S".into(), technician: None, pieces: vec![] });
}

#[test]
fn work_goes_on_beside_a_wait_that_holds_single_steps() {
    let drying = plan(vec![waiting(90, 240, WaitWhen::Any), step(390), step(15)]);
    assert_eq!(first(&usual(), &drying), None, "the polishing doesn't fit after the drying");
    let after = drying.holding(vec![Holds::After(BTreeSet::from([2]))]);
    let found = best(&usual(), &after).unwrap();
    assert_eq!((found.start.get(), found.finish.get()), (480, 975));
    assert_eq!(pieces(&found.steps[1]), [(570, 960)]);
    // The last wait to end determines the finish, though no step waits for it.
    let dried = plan(vec![waiting(60, 300, WaitWhen::Any), step(60)]).holding(vec![Holds::After(BTreeSet::new())]);
    assert_eq!(first(&usual(), &dried), Some((840, 480, "B1".into())));
}

#[test]
fn a_plan_needs_a_step_with_minutes() {
    let idle = || Plan::new(words(&[]), vec![step(0)]);
    assert_eq!((idle(), Plan::new(words(&[]), vec![])), (Err(Unplannable::NoWork), Err(Unplannable::NoWork)));
}

#[test]
fn an_open_wait_counts_the_bays_open_minutes_and_may_end_at_closing() {
    let bays = [bay("B1", &[(480, 1080), (1920, 2520)], &[])];
    let people = [technician("T1", &[], &[(480, 1080)], &[])];
    let shop = diary(&bays, &people);
    assert_eq!(first(&shop, &plan(vec![waiting(540, 120, WaitWhen::Open)])), Some((1980, 480, "B1".into())));
    assert_eq!(first(&shop, &plan(vec![waiting(540, 60, WaitWhen::Open)])), Some((1080, 480, "B1".into())));
}

#[test]
fn a_wait_of_any_kind_runs_through_the_night_and_may_finish_in_closed_time() {
    assert_eq!(first(&usual(), &plan(vec![waiting(60, 720, WaitWhen::Any)])), Some((1260, 480, "B1".into())));
}

#[test]
fn no_minute_lies_beyond_the_horizon_waits_included() {
    assert_eq!(first(&usual(), &plan(vec![waiting(60, 2340, WaitWhen::Any)])), Some((2880, 480, "B1".into())));
    assert_eq!(first(&usual(), &plan(vec![waiting(60, 2341, WaitWhen::Any)])), None);
    assert_eq!(first(&usual(), &plan(vec![waiting(60, 541, WaitWhen::Open)])), None);
}

#[test]
fn a_window_shorter_than_the_smallest_piece_serves_only_to_finish() {
    let bays = [bay("B1", &[(480, 1080)], &[])];
    let people = [technician("T1", &[], &[(480, 520), (540, 560), (600, 640), (710, 900)], &[])];
    let found = best(&diary(&bays, &people), &plan(vec![split(90, 30)])).unwrap();
    assert_eq!(pieces(&found.steps[0]), [(480, 520), (600, 640), (710, 720)]);
    let found = best(&diary(&bays, &people), &plan(vec![split(50, 30)])).unwrap();
    assert_eq!(pieces(&found.steps[0]), [(480, 520), (540, 550)]);
}

#[test]
fn a_start_that_shortens_the_first_window_below_the_piece_loses_that_window() {
    let bays = [bay("B1", &[(480, 1080)], &[])];
    let people = [technician("T1", &[], &[(570, 600), (700, 790)], &[])];
    assert_eq!(first(&diary(&bays, &people), &plan(vec![split(100, 30)])), Some((770, 570, "B1".into())));
}

#[test]
fn a_smallest_piece_as_long_as_the_step_means_one_piece() {
    let bays = [bay("B1", &[(480, 1080)], &[])];
    let people = [technician("T1", &[], &[(480, 530), (600, 660)], &[])];
    for smallest in [60, 61, u32::MAX] {
        let found = best(&diary(&bays, &people), &plan(vec![split(60, smallest)])).unwrap();
        assert_eq!(pieces(&found.steps[0]), [(600, 660)], "{smallest}");
    }
}

#[test]
fn a_smallest_piece_of_nothing_lets_any_minute_count() {
    let bays = [bay("B1", &[(480, 1080)], &[])];
    let people = [technician("T1", &[], &[(513, 514), (520, 530), (600, 608), (610, 611)], &[])];
    assert_eq!(first(&diary(&bays, &people), &plan(vec![split(20, 0)])), Some((611, 510, "B1".into())));
}

#[test]
fn a_split_step_stays_with_one_technician() {
    let bays = [bay("B1", &[(480, 1080)], &[])];
    let people =
        [technician("T1", &[], &[(480, 520), (900, 960)], &[]), technician("T2", &[], &[(520, 560), (800, 860)], &[])];
    let found = best(&diary(&bays, &people), &plan(vec![split(80, 10)])).unwrap();
    assert_eq!((who(&found), pieces(&found.steps[0])), (vec!["T2"], vec![(520, 560), (800, 840)]));
}

#[test]
fn the_latest_start_is_a_slot_in_open_time() {
    let horizon = Horizon::new(Minute::new(0), Minute::new(2880), Minutes::new(20)).unwrap();
    let bays = [bay("B1", &[(480, 570), (641, 700)], &[])];
    let people = [technician("T1", &[], &[(645, 690)], &[])];
    let shop = Diary::new(horizon, &bays, &people).unwrap();
    assert_eq!(first(&shop, &plan(vec![step(45)])), Some((690, 560, "B1".into())));
}

#[test]
fn the_latest_start_stays_in_the_gap_and_after_what_was_asked() {
    // Work is possible from 700 on, but 690 is closed: the last open slot is 585.
    let people = [technician("T1", &[], &[(700, 760)], &[])];
    let plan = plan(vec![step(60)]);
    let ask = |held, from| {
        let shop = diary(&[bay("B1", &[(480, 600), (700, 1080)], held)], &people);
        shop.search(&plan).earliest(Minute::new(from)).map(|p| (p.finish.get(), p.start.get()))
    };
    assert_eq!((ask(&[], 0), ask(&[], 585), ask(&[], 586)), (Some((760, 585)), Some((760, 585)), None));
    // In the gap from 586 on no slot is open, and the one before it ends too soon.
    assert_eq!(ask(&[(570, 571)], 0), Some((760, 585)));
    assert_eq!(ask(&[(570, 586)], 0), None);
}

#[test]
fn slots_count_from_the_horizons_beginning() {
    let horizon = Horizon::new(Minute::new(-8), Minute::new(2880), Minutes::new(20)).unwrap();
    let bays = [bay("B1", &[(480, 1080)], &[])];
    let people = [technician("T1", &[], &[(500, 560)], &[])];
    let shop = Diary::new(horizon, &bays, &people).unwrap();
    assert_eq!(first(&shop, &plan(vec![step(60)])), Some((560, 492, "B1".into())));
}

#[test]
fn a_later_start_in_any_bay_beats_a_smaller_code_and_codes_compare_by_bytes() {
    let people = [technician("T1", &[], &[(677, 737)], &[])];
    let bays = [bay("B2", &[(480, 1080)], &[]), bay("B1", &[(480, 650), (676, 1080)], &[])];
    assert_eq!(first(&diary(&bays, &people), &plan(vec![step(60)])), Some((737, 675, "B2".into())));
    let bays = [bay("b", &[(480, 1080)], &[]), bay("C", &[(480, 1080)], &[]), bay("C10", &[(480, 1080)], &[])];
    assert_eq!(first(&diary(&bays, &people), &plan(vec![step(60)])), Some((737, 675, "C".into())));
}

#[test]
fn the_smallest_technician_code_that_allows_the_finish_works() {
    let horizon = Horizon::new(Minute::new(0), Minute::new(2880), Minutes::new(30)).unwrap();
    let bays = [bay("B1", &[(480, 1080)], &[])];
    let people = [
        technician("T2", &["x"], &[(480, 1080)], &[]),
        technician("T1", &["x"], &[(635, 700)], &[]),
        technician("T3", &["y"], &[(700, 760)], &[]),
    ];
    let shop = Diary::new(horizon, &bays, &people).unwrap();
    let skilled = |skill| Step { skills: words(&[skill]), ..step(60) };
    let found = best(&shop, &plan(vec![skilled("x"), skilled("y")])).unwrap();
    assert_eq!((found.finish.get(), found.start.get(), who(&found)), (760, 630, vec!["T1", "T3"]));
    assert_eq!(pieces(&found.steps[0]), [(635, 695)]);
}

#[test]
fn all_skills_of_a_step_are_in_one_person() {
    let both = Step { skills: words(&["x", "y"]), ..step(60) };
    let bays = [bay("B1", &[(480, 1080)], &[])];
    let people = [technician("T1", &["x"], &[(480, 1080)], &[]), technician("T2", &["y"], &[(480, 1080)], &[])];
    let shop = diary(&bays, &people);
    let plan = plan(vec![both]);
    assert_eq!(first(&shop, &plan), None);
    assert!(!shop.search(&plan).able(0));
}

#[test]
fn attended_work_needs_the_bays_open_time_too() {
    let bays = [bay("B1", &[(480, 1080), (1920, 2520)], &[])];
    let people = [technician("T1", &[], &[(1050, 1140), (1920, 2520)], &[])];
    assert_eq!(first(&diary(&bays, &people), &plan(vec![step(60)])), Some((1980, 1920, "B1".into())));
}

#[test]
fn the_car_keeps_its_bay_through_every_wait_and_overnight() {
    let bays = [bay("B1", &[(480, 1080), (1920, 2520)], &[(1500, 1501)])];
    let people = [technician("T1", &[], &[(480, 1080), (1920, 2520)], &[])];
    let over_night = plan(vec![waiting(60, 900, WaitWhen::Any), step(30)]);
    assert_eq!(first(&diary(&bays, &people), &over_night), None);
    let free = [bay("B1", &[(480, 1080), (1920, 2520)], &[(1000, 1020)])];
    assert_eq!(first(&diary(&free, &people), &over_night), Some((2010, 1020, "B1".into())));
}

#[test]
fn the_bay_has_every_feature() {
    let bays =
        [bay("B1", &[(480, 1080)], &[]), Bay { features: words(&["drain", "lift"]), ..bay("B2", &[(480, 1080)], &[]) }];
    let people = [technician("T1", &[], &[(480, 1080)], &[])];
    let needs = |features: &[&str]| Plan::new(words(features), vec![step(60)]).unwrap();
    assert_eq!(first(&diary(&bays, &people), &needs(&["lift", "drain"])), Some((540, 480, "B2".into())));
    assert_eq!(first(&diary(&bays, &people), &needs(&["lift", "cover"])), None);
}

#[test]
fn a_list_of_k_is_k_queries_and_may_end_early() {
    let bays = [bay("B1", &[(480, 1080)], &[])];
    let people = [technician("T1", &[], &[(480, 570)], &[])];
    let shop = diary(&bays, &people);
    let plan = plan(vec![step(60)]);
    let list = |count| shop.search(&plan).list(Minute::new(0), count);
    let times: Vec<_> = list(9).iter().map(|p| (p.finish.get(), p.start.get())).collect();
    assert_eq!(times, [(540, 480), (555, 495), (570, 510)]);
    assert_eq!((list(2).len(), list(0).len()), (2, 0));
    assert!(shop.search(&plan).list(Minute::new(511), 9).is_empty());
}

#[test]
fn a_gap_that_ends_too_soon_is_jumped_over() {
    let held: Vec<(i64, i64)> = (0..20).map(|n| (480 + n * 30 + 20, 480 + n * 30 + 30)).collect();
    let bays = [bay("B1", &[(480, 1080), (1920, 2520)], &held)];
    let people = [technician("T1", &[], &[(480, 1080), (1920, 2520)], &[])];
    assert_eq!(first(&diary(&bays, &people), &plan(vec![step(60)])), Some((1980, 1920, "B1".into())));
}

#[test]
fn a_chosen_start_is_placed_or_refused() {
    let shop = usual();
    let plan = plan(vec![step(60)]);
    let at = |bay, start| shop.search(&plan).at(bay, Minute::new(start)).map(|p| p.finish.get());
    assert_eq!(at("B1", 600), Some(660));
    assert_eq!((at("B1", 601), at("B1", 465), at("B1", 1035), at("B9", 600)), (None, None, None, None));
}

#[test]
fn two_of_one_code_are_refused() {
    let horizon = Horizon::new(Minute::new(0), Minute::new(2880), Minutes::new(15)).unwrap();
    let bays = [bay("B1", &[], &[]), bay("B1", &[], &[])];
    let refused = Diary::new(horizon, &bays, &[]).map(|_| ());
    assert_eq!(refused, Err(Unplannable::SameCode { what: "bays", code: "B1".into() }));
}
