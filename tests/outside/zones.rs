//! Local times, lengths of days and ISO weeks against the IANA time zone database as another reader has it.
//!
//! Source: `data/iana/SOURCE.md` (release 2026f). Left out: nothing.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a check that cannot go on may stop")]

use baywright_domain::calendar::{WallTime, Zone, ZoneRules};
use baywright_domain::time::Minute;
use chrono::{Datelike, NaiveDate, NaiveDateTime};
use serde_json::Value;

const FACTS: &str = include_str!("../data/iana/timezones.json");

fn facts(of: &str) -> Vec<Value> {
    serde_json::from_str::<Value>(FACTS).unwrap()[of].as_array().unwrap().clone()
}

fn text<'a>(fact: &'a Value, name: &str) -> &'a str {
    fact[name].as_str().unwrap_or_else(|| panic!("{name} of {fact}"))
}

fn local(fact: &Value, name: &str) -> NaiveDateTime {
    text(fact, name).parse().unwrap()
}

fn utc(fact: &Value, name: &str) -> Minute {
    let moment: chrono::DateTime<chrono::Utc> = text(fact, name).parse().unwrap();
    Minute::new(moment.timestamp() / 60)
}

fn zone(fact: &Value) -> Zone {
    Zone::named(text(fact, "zone")).unwrap()
}

#[test]
fn local_times_have_the_moments_of_the_database() {
    let facts = facts("local_times");
    for fact in &facts {
        let (before, after) = (utc(fact, "utc_fold0"), utc(fact, "utc_fold1"));
        let expected = match text(fact, "kind") {
            "single" => WallTime::Once(before),
            "gap" => WallTime::Skipped { pushed_on: before, pulled_back: after },
            _ => WallTime::Twice { first: before, second: after },
        };
        let (zone, local) = (zone(fact), local(fact, "local"));
        assert_eq!(zone.wall_time(local), expected, "{fact}");
        assert_eq!(zone.to_utc(local), before, "{fact}");
        if text(fact, "kind") != "gap" {
            assert_eq!(zone.to_local(before), local, "{fact}");
            assert_eq!(zone.to_local(after), local, "{fact}");
            assert_eq!(Value::from(zone.offset_at(before)), fact["offset_fold0"], "{fact}");
            assert_eq!(Value::from(zone.offset_at(after)), fact["offset_fold1"], "{fact}");
        }
    }
    assert_eq!(facts.len(), 24);
}

#[test]
fn local_days_and_nights_are_as_long_as_the_database_says() {
    let facts = facts("day_lengths");
    for fact in &facts {
        let zone = zone(fact);
        let (minutes, hours) = if fact["date"].is_string() {
            let day = zone.day(text(fact, "date").parse().unwrap()).unwrap();
            (i64::from(day.length().get()), &fact["hours"])
        } else {
            let passed = zone.to_utc(local(fact, "end")).get() - zone.to_utc(local(fact, "start")).get();
            (passed, &fact["elapsed_hours"])
        };
        assert_eq!(Some(minutes), quarter_hours(hours).map(|quarters| quarters * 15), "{fact}");
    }
    assert_eq!(facts.len(), 8);
}

/// A number of hours such as 23.5, in quarters of an hour.
fn quarter_hours(hours: &Value) -> Option<i64> {
    let hours: rust_decimal::Decimal = hours.to_string().parse().ok()?;
    i64::try_from(hours * rust_decimal::Decimal::from(4)).ok()
}

#[test]
fn dates_have_their_iso_week() {
    let facts = facts("iso_weeks");
    for fact in &facts {
        let date: NaiveDate = fact[0].as_str().unwrap().parse().unwrap();
        let week = date.iso_week();
        let day = date.weekday().number_from_monday();
        assert_eq!(fact[1].as_str(), Some(format!("{}-W{:02}-{day}", week.year(), week.week()).as_str()));
    }
    assert_eq!(facts.len(), 6);
}
