//! Calendar files that people put into their own calendars (RFC 5545): one appointment, or a feed of many.

use chrono::{DateTime, Utc};

use crate::platform::clock::UtcTime;

/// The media type of such a file.
pub const MEDIA_TYPE: &str = "text/calendar";

/// The longest content line in octets, without its break (RFC 5545, 3.1).
const LINE_OCTETS: usize = 75;

/// Whether an appointment stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// It is agreed.
    Confirmed,
    /// A place is held for it, and it is not agreed yet.
    Tentative,
    /// It was called off.
    Cancelled,
}

/// One appointment.
#[derive(Debug, Clone)]
pub struct Appointment {
    /// Names it for good: a later file of the same name takes the place of an earlier one.
    pub uid: String,
    /// Counts its versions, so that a calendar knows the later one.
    pub sequence: i64,
    /// When the file is made.
    pub stamp: UtcTime,
    /// When it begins.
    pub start: UtcTime,
    /// When it ends.
    pub finish: UtcTime,
    /// What it is, in one line.
    pub summary: String,
    /// Where it is; empty for nowhere in particular.
    pub location: String,
    /// What else is to be said; empty for nothing.
    pub description: String,
    /// Whether it stands.
    pub standing: Standing,
}

/// How often a calendar program reads a feed anew: an ISO 8601 duration.
const COME_BACK: &str = "PT1H";

/// The file of an appointment. All times are in UTC, which every calendar shows in its owner's zone.
pub fn file(appointment: &Appointment) -> Vec<u8> {
    calendar(&[], core::slice::from_ref(appointment))
}

/// The file of a feed of that name, which stands for all there is: what is no longer in it has gone.
pub fn feed(name: &str, appointments: &[Appointment]) -> Vec<u8> {
    let about = [("NAME", escape(name)), ("REFRESH-INTERVAL;VALUE=DURATION", COME_BACK.to_owned())];
    calendar(&about, appointments)
}

fn calendar(about: &[(&str, String)], appointments: &[Appointment]) -> Vec<u8> {
    let mut text = String::new();
    let mut put = |name: &str, value: &str| fold(&mut text, &format!("{name}:{value}"));
    put("BEGIN", "VCALENDAR");
    put("VERSION", "2.0");
    put("PRODID", "-//Baywright//Bookings//EN");
    put("METHOD", "PUBLISH");
    for (name, value) in about {
        put(name, value);
    }
    for appointment in appointments {
        event(&mut put, appointment);
    }
    put("END", "VCALENDAR");
    text.into_bytes()
}

fn event(put: &mut impl FnMut(&str, &str), appointment: &Appointment) {
    let status = match appointment.standing {
        Standing::Confirmed => "CONFIRMED",
        Standing::Tentative => "TENTATIVE",
        Standing::Cancelled => "CANCELLED",
    };
    put("BEGIN", "VEVENT");
    put("UID", &escape(&appointment.uid));
    put("SEQUENCE", &appointment.sequence.to_string());
    put("DTSTAMP", &moment(appointment.stamp));
    put("DTSTART", &moment(appointment.start));
    put("DTEND", &moment(appointment.finish));
    put("SUMMARY", &escape(&appointment.summary));
    for (name, value) in [("LOCATION", &appointment.location), ("DESCRIPTION", &appointment.description)] {
        if !value.is_empty() {
            put(name, &escape(value));
        }
    }
    put("STATUS", status);
    put("END", "VEVENT");
}

/// A moment in the basic form of RFC 5545, 3.3.5: `20260302T080000Z`.
fn moment(at: UtcTime) -> String {
    let at: DateTime<Utc> = at.datetime();
    at.format("%Y%m%dT%H%M%SZ").to_string()
}

/// Text with what has a meaning of its own escaped (RFC 5545, 3.3.11); other control characters are left out.
fn escape(text: &str) -> String {
    let mut escaped = String::with_capacity(text.len());
    for c in text.replace("\r\n", "\n").chars() {
        match c {
            '\\' | ';' | ',' => escaped.extend(['\\', c]),
            '\n' => escaped.push_str("\\n"),
            c if c.is_control() => {}
            c => escaped.push(c),
        }
    }
    escaped
}

/// Adds a line, broken where it is too long: never within a character, each next part behind a space.
fn fold(text: &mut String, line: &str) {
    let mut used = 0;
    for c in line.chars() {
        if used + c.len_utf8() > LINE_OCTETS {
            text.push_str("\r\n ");
            used = 1;
        }
        text.push(c);
        used += c.len_utf8();
    }
    text.push_str("\r\n");
}

#[cfg(test)]
mod tests {
    use super::*;

    fn appointment() -> Appointment {
        let at = |text| UtcTime::parse(text).unwrap();
        Appointment {
            uid: "0198c0de-0000-7000-8000-000000000001".to_owned(),
            sequence: 2,
            stamp: at("2026-03-01T10:00:00Z"),
            start: at("2026-03-02T08:00:00Z"),
            finish: at("2026-03-03T08:15:00Z"),
            summary: "Wash; polish, and coat".to_owned(),
            location: String::new(),
            description: "One\r\ntwo\u{0}".to_owned(),
            standing: Standing::Confirmed,
        }
    }

    #[test]
    fn a_file_has_one_event_with_its_times_in_utc() {
        let text = String::from_utf8(file(&appointment())).unwrap();
        for line in [
            "DTSTART:20260302T080000Z",
            "DTEND:20260303T081500Z",
            "SEQUENCE:2",
            "SUMMARY:Wash\\; polish\\, and coat",
            "DESCRIPTION:One\\ntwo",
            "STATUS:CONFIRMED",
        ] {
            assert!(text.split("\r\n").any(|found| found == line), "{line}: {text}");
        }
        assert!(!text.contains("LOCATION") && text.ends_with("END:VCALENDAR\r\n"));
    }

    #[test]
    fn a_feed_has_its_name_and_every_event() {
        let held = Appointment { uid: "2".to_owned(), standing: Standing::Tentative, ..appointment() };
        let text = String::from_utf8(feed("Bay 1, Slackwater; Quay", &[appointment(), held])).unwrap();
        for line in ["NAME:Bay 1\\, Slackwater\\; Quay", "REFRESH-INTERVAL;VALUE=DURATION:PT1H", "STATUS:TENTATIVE"] {
            assert!(text.split("\r\n").any(|found| found == line), "{line}: {text}");
        }
        assert_eq!((text.matches("BEGIN:VEVENT").count(), text.matches("END:VCALENDAR").count()), (2, 1));
    }

    #[test]
    fn a_long_line_is_broken_at_75_octets_and_never_within_a_character() {
        let summary = "é".repeat(200);
        let bytes = file(&Appointment { summary: summary.clone(), ..appointment() });
        let text = String::from_utf8(bytes).unwrap();
        assert!(text.split("\r\n").all(|line| line.len() <= LINE_OCTETS));
        assert!(text.replace("\r\n ", "").contains(&summary));
    }
}
