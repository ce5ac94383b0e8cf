//! Hours on ordinary days, on the days of a clock change, and on days that are closed.

use alloc::vec;

use chrono::NaiveDate;

use super::*;
use crate::calendar::Zone;
use crate::time::Minute;

fn date(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

/// Local days from the first date up to the second.
fn days(zone: &Zone, from: &str, until: &str) -> Interval {
    Interval::new(zone.day(date(from)).unwrap().from(), zone.day(date(until)).unwrap().from()).unwrap()
}

fn utc(text: &str) -> Minute {
    Minute::new(text.parse::<chrono::NaiveDateTime>().unwrap().and_utc().timestamp() / 60)
}

fn set(pairs: &[(&str, &str)]) -> IntervalSet {
    pairs.iter().filter_map(|(a, b)| Interval::new(utc(a), utc(b))).collect()
}

fn every_day(hours: DayHours) -> Weekly {
    (0..7).filter_map(|n| Weekday::try_from(n).ok()).fold(Weekly::new(), |week, day| week.with(day, hours))
}

#[test]
fn opening_hours_follow_the_clock_on_the_wall_over_a_change() {
    let berlin = Zone::named("Europe/Berlin").unwrap();
    let shop = OpeningHours { weekly: every_day(DayHours::new(480, 1080).unwrap()), closures: vec![] };
    assert_eq!(
        shop.open(&berlin, days(&berlin, "2026-03-28", "2026-03-30")),
        set(&[("2026-03-28T07:00:00", "2026-03-28T17:00:00"), ("2026-03-29T06:00:00", "2026-03-29T16:00:00")])
    );
}

#[test]
fn a_day_of_a_clock_change_has_23_or_25_hours() {
    let berlin = Zone::named("Europe/Berlin").unwrap();
    let always = OpeningHours { weekly: every_day(DayHours::new(0, 1440).unwrap()), closures: vec![] };
    for (from, until, hours) in [("2026-03-29", "2026-03-30", 23), ("2026-10-25", "2026-10-26", 25)] {
        let open = always.open(&berlin, days(&berlin, from, until));
        assert_eq!((open.iter().count(), open.total()), (1, hours * 60), "{from}");
    }
}

#[test]
fn hours_that_a_change_swallows_are_no_hours() {
    let berlin = Zone::named("Europe/Berlin").unwrap();
    let night = date("2026-03-29");
    // 02:30 is pushed on to 03:30, past the end at 03:00.
    assert_eq!(DayHours::new(150, 180).unwrap().on(night, &berlin), None);
    // Both ends are skipped and both are pushed on.
    let pushed = DayHours::new(130, 150).unwrap().on(night, &berlin).unwrap();
    assert_eq!((pushed.from(), pushed.to()), (utc("2026-03-29T01:10:00"), utc("2026-03-29T01:30:00")));
}

#[test]
fn hours_past_midnight_end_on_the_next_day() {
    let berlin = Zone::named("Europe/Berlin").unwrap();
    let late = DayHours::new(1320, 120).unwrap();
    let shop = OpeningHours {
        weekly: Weekly::new().with(Weekday::Sat, late),
        closures: vec![Dates::new(date("2026-06-14"), date("2026-06-15")).unwrap()],
    };
    // Saturday's hours run into Sunday, also seen from Sunday alone, and though Sunday is closed.
    assert_eq!(
        shop.open(&berlin, days(&berlin, "2026-06-14", "2026-06-15")),
        set(&[("2026-06-13T22:00:00", "2026-06-14T00:00:00")])
    );
}

#[test]
fn a_closure_takes_the_days_from_the_first_up_to_the_last() {
    let berlin = Zone::named("Europe/Berlin").unwrap();
    let shop = OpeningHours {
        weekly: every_day(DayHours::new(480, 1080).unwrap()),
        closures: vec![Dates::new(date("2026-12-24"), date("2026-12-27")).unwrap()],
    };
    assert_eq!(
        shop.open(&berlin, days(&berlin, "2026-12-23", "2026-12-28")),
        set(&[("2026-12-23T07:00:00", "2026-12-23T17:00:00"), ("2026-12-27T07:00:00", "2026-12-27T17:00:00")])
    );
}

#[test]
fn working_time_is_shift_less_absence() {
    let berlin = Zone::named("Europe/Berlin").unwrap();
    let doctor = Interval::new(utc("2026-06-15T08:00:00"), utc("2026-06-15T09:00:00")).unwrap();
    let person = Shifts {
        weekly: every_day(DayHours::new(480, 720).unwrap()),
        absences: vec![
            Absence::Hours(doctor),
            Absence::Days(Dates::new(date("2026-06-16"), date("2026-06-17")).unwrap()),
        ],
    };
    assert_eq!(
        person.working(&berlin, days(&berlin, "2026-06-15", "2026-06-17")),
        set(&[("2026-06-15T06:00:00", "2026-06-15T08:00:00"), ("2026-06-15T09:00:00", "2026-06-15T10:00:00")])
    );
}

#[test]
fn a_date_that_a_zone_left_out_is_no_day() {
    let apia = Zone::named("Pacific/Apia").unwrap();
    assert_eq!(apia.day(date("2011-12-30")), None);
    assert_eq!(apia.day(date("2011-12-31")).map(Interval::length).map(crate::time::Minutes::get), Some(1440));
}

#[test]
fn times_off_the_clock_are_refused() {
    assert_eq!(DayHours::new(1440, 1440), Err(NotHours::NotOnTheClock));
    assert_eq!(DayHours::new(0, 1441), Err(NotHours::NotOnTheClock));
    assert_eq!(DayHours::new(480, 480), Err(NotHours::Empty));
    assert_eq!(Dates::new(date("2026-01-02"), date("2026-01-02")), Err(NotHours::EmptyDates));
}

#[test]
fn one_day_off_is_the_same_day_twice() {
    let day = |day| NaiveDate::from_ymd_opt(2026, 3, day).unwrap();
    let one = Dates::through(day(3), day(3)).unwrap();
    assert_eq!((one.from(), one.last(), one.until()), (day(3), day(3), day(4)));
    assert!(one.contains(day(3)) && !one.contains(day(2)) && !one.contains(day(4)));
    assert_eq!(Dates::through(day(3), day(2)), Err(NotHours::EmptyDates));
    let three = Dates::through(day(1), day(3)).unwrap();
    assert!(three.overlaps(one) && !three.overlaps(Dates::through(day(4), day(5)).unwrap()));
}
