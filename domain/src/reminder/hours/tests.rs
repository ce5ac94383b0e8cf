//! Times at which a shop's reminders are sent: over nights, weekends, closures and with unusual hours.

use alloc::vec;
use alloc::vec::Vec;

use chrono::{NaiveDate, Weekday};

use super::*;
use crate::calendar::{Dates, DayHours, Weekly, Zone};

/// A day of March 2026; the 2nd is a Monday.
fn march(day: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 3, day).unwrap()
}

fn dublin() -> Zone {
    Zone::named("Europe/Dublin").unwrap()
}

/// Monday to Friday from eight to half past five, closed on these days of March, the last not included.
fn office(closures: &[(u32, u32)]) -> OpeningHours {
    let days = [Weekday::Mon, Weekday::Tue, Weekday::Wed, Weekday::Thu, Weekday::Fri];
    let hours = DayHours::new(8 * 60, 17 * 60 + 30).unwrap();
    OpeningHours {
        weekly: days.into_iter().fold(Weekly::new(), |week, day| week.with(day, hours)),
        closures: closures.iter().map(|(from, until)| Dates::new(march(*from), march(*until)).unwrap()).collect(),
    }
}

/// The first quarter of an hour of March from that day on for which `due` is true, as day, hour and minute in local
/// time.
fn first(from: u32, due: impl Fn(Minute) -> bool) -> Option<(u32, u32, u32)> {
    use chrono::{Datelike, Timelike};
    let zone = dublin();
    let begin = zone.day(march(from)).unwrap().from();
    let mut quarters = (0..30 * 96).map(|quarter| Minute::new(begin.get() + quarter * 15));
    quarters.find(|now| due(*now)).map(|now| {
        let local = zone.to_local(now);
        (local.day(), local.hour(), local.minute())
    })
}

#[test]
fn a_letter_waits_for_the_next_open_hours_over_nights_weekends_and_closures() {
    let zone = dublin();
    let (plain, closed) = (office(&[]), office(&[(9, 11)]));
    let sent = |hours: &OpeningHours, from| first(from, |now| SendingHours::new(hours, &zone).are_now(now));
    assert_eq!(sent(&plain, 4), Some((4, 8, 0)));
    assert_eq!(sent(&plain, 7), Some((9, 8, 0)), "a Saturday");
    assert_eq!(sent(&closed, 7), Some((11, 8, 0)), "a weekend and two closed days");
    let hours = SendingHours::new(&plain, &zone);
    assert!(!hours.are_now(zone.to_utc(march(4).and_hms_opt(17, 30, 0).unwrap())), "the shop has closed");
}

#[test]
fn a_reminder_of_a_monday_goes_out_on_the_friday_before() {
    let zone = dublin();
    let hours = office(&[]);
    let sent = |target, latest| {
        first(1, |now| SendingHours::new(&hours, &zone).are_now_for(now, march(target), march(latest)))
    };
    assert_eq!(sent(3, 3), Some((3, 8, 0)), "the day before a Wednesday");
    assert_eq!(sent(8, 8), Some((6, 8, 0)), "the Sunday before a Monday");
}

#[test]
fn a_reminder_of_the_day_after_a_long_closure_reaches_the_customer_during_it() {
    let zone = dublin();
    // Closed from the 9th to the 20th, a Friday; the booking is on the 23rd.
    let hours = office(&[(9, 21)]);
    let sent = |target, latest| {
        first(1, |now| SendingHours::new(&hours, &zone).are_now_for(now, march(target), march(latest)))
    };
    assert_eq!(sent(22, 22), Some((22, 9, 0)));
    // A quote that is valid until the 24th can wait for the first open day after its day.
    assert_eq!(sent(21, 24), Some((23, 8, 0)));
    // A customer due on the second closed day gets the reminder before the closure.
    assert_eq!(sent(9, 9), Some((6, 8, 0)));
}

#[test]
fn a_missed_reminder_is_made_up_for_and_a_late_one_is_useless() {
    let zone = dublin();
    let hours = office(&[]);
    let sending = SendingHours::new(&hours, &zone);
    let at = |day, hour| zone.to_utc(march(day).and_hms_opt(hour, 0, 0).unwrap());
    // The program was off on Friday the 6th; the booking is on Monday.
    assert!(!sending.are_now_for(at(7, 8), march(8), march(8)));
    assert!(sending.are_now_for(at(7, 9), march(8), march(8)));
    assert!(!sending.are_now_for(at(9, 9), march(8), march(8)));
}

#[test]
fn a_shop_that_works_at_night_or_has_no_hours_writes_by_day() {
    let zone = dublin();
    let night = OpeningHours {
        weekly: Weekly::new().with(Weekday::Wed, DayHours::new(22 * 60, 2 * 60).unwrap()),
        closures: vec![],
    };
    let early = OpeningHours {
        weekly: Weekly::new().with(Weekday::Wed, DayHours::new(5 * 60, 23 * 60).unwrap()),
        closures: vec![],
    };
    let none = OpeningHours { closures: vec![Dates::new(march(1), march(3)).unwrap()], ..OpeningHours::default() };
    let sent: Vec<_> = [&night, &early, &none]
        .into_iter()
        .map(|hours| first(1, |now| SendingHours::new(hours, &zone).are_now(now)).unwrap())
        .collect();
    assert_eq!(sent, [(4, 9, 0), (4, 7, 0), (3, 9, 0)]);
}

#[test]
fn nobody_is_ever_written_to_at_night_and_nothing_due_is_dropped() {
    let zone = dublin();
    for closures in [&[][..], &[(9, 12)], &[(2, 28)], &[(6, 7), (13, 17)]] {
        let hours = office(closures);
        let sending = SendingHours::new(&hours, &zone);
        for target in 5..25 {
            for latest in target..target + 3 {
                let when = first(1, |now| sending.are_now_for(now, march(target), march(latest)));
                let (day, hour, _) = when.unwrap_or_else(|| panic!("{closures:?} {target} {latest}"));
                assert!(day <= latest && day + 3 >= target, "{closures:?} {target} {latest}: {when:?}");
                assert!((7..21).contains(&hour), "{closures:?} {target} {latest}: {when:?}");
                let closed = sending.on(march(day)).is_empty();
                assert_eq!(hour, if closed { 9 } else { 8 }, "{closures:?} {target} {latest}: {when:?}");
            }
        }
    }
}
