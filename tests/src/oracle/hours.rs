//! `hours`: local opening hours as UTC intervals.

use std::collections::BTreeMap;

use baywright_domain::calendar::{Dates, DayHours, OpeningHours, Weekly, Zone, ZoneRules};
use baywright_domain::time::{Interval, Minute};
use chrono::{DateTime, NaiveDate, NaiveTime, SecondsFormat, Weekday};
use serde::{Deserialize, Serialize};

use super::Answer;
use super::read::at;

/// A shop's hours and the local dates asked for, as a case writes them.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Case {
    zone: String,
    weekly: BTreeMap<WireDay, Vec<[String; 2]>>,
    #[serde(default)]
    closures: Vec<[NaiveDate; 2]>,
    from: NaiveDate,
    until: NaiveDate,
}

#[derive(Deserialize, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
#[serde(rename_all = "snake_case")]
enum WireDay {
    Mon,
    Tue,
    Wed,
    Thu,
    Fri,
    Sat,
    Sun,
}

/// The open intervals, each end in UTC.
#[derive(Serialize)]
pub struct Open {
    open: Vec<[String; 2]>,
}

/// Turns the hours into intervals.
pub fn answer(case: Case) -> Answer<Open> {
    let zone = Zone::named(&case.zone).map_err(at("zone"))?;
    let hours = OpeningHours { weekly: weekly(&case.weekly)?, closures: closures(&case.closures)? };
    let midnight = |date: NaiveDate| zone.to_utc(date.and_time(NaiveTime::MIN));
    let within = Interval::new(midnight(case.from), midnight(case.until));
    let within = within.ok_or("until: give a date after from; until itself is not included")?;
    let open = hours.open(&zone, within);
    open.iter().map(|i| Ok([utc(i.from())?, utc(i.to())?])).collect::<Answer<_>>().map(|open| Open { open })
}

fn weekly(days: &BTreeMap<WireDay, Vec<[String; 2]>>) -> Answer<Weekly> {
    let mut week = Weekly::new();
    for (day, hours) in days {
        for [opens, closes] in hours {
            week = week.with(weekday(*day), DayHours::new(clock(opens)?, clock(closes)?).map_err(at("weekly"))?);
        }
    }
    Ok(week)
}

fn weekday(day: WireDay) -> Weekday {
    match day {
        WireDay::Mon => Weekday::Mon,
        WireDay::Tue => Weekday::Tue,
        WireDay::Wed => Weekday::Wed,
        WireDay::Thu => Weekday::Thu,
        WireDay::Fri => Weekday::Fri,
        WireDay::Sat => Weekday::Sat,
        WireDay::Sun => Weekday::Sun,
    }
}

fn closures(ranges: &[[NaiveDate; 2]]) -> Answer<Vec<Dates>> {
    ranges.iter().map(|[from, until]| Dates::new(*from, *until).map_err(at("closures"))).collect()
}

/// Minutes after midnight of a time such as `08:00`; `24:00` is the end of the day.
fn clock(text: &str) -> Answer<u16> {
    let wrong = || format!("weekly: {text:?} is no time; write it as 08:00");
    let (hours, minutes) = text.split_once(':').ok_or_else(wrong)?;
    let number = |part: &str| Some(part).filter(|p| p.len() == 2).and_then(|p| p.parse::<u16>().ok());
    match (number(hours), number(minutes)) {
        (Some(hours), Some(minutes)) if hours <= 24 && minutes < 60 => Ok(hours * 60 + minutes),
        _ => Err(wrong()),
    }
}

fn utc(minute: Minute) -> Answer<String> {
    let moment = DateTime::from_timestamp(minute.get().saturating_mul(60), 0);
    moment.map(|m| m.to_rfc3339_opts(SecondsFormat::Secs, true)).ok_or_else(|| "from: beyond the calendar".to_owned())
}
