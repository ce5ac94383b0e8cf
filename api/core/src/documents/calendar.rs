//! Calendar files that people put into their own calendars (RFC 5545): appointments that are published or cancelled by mail
//! (RFC 5546), and feeds of many that calendar programs read again and again.

use chrono::{DateTime, Utc};

use crate::platform::clock::UtcTime;

/// The media type of a feed.
pub const MEDIA_TYPE: &str = "text/calendar";

/// The media type of a file that publishes appointments: it names the file's own METHOD (RFC 5545, 3.7.2).
pub const PUBLISH_TYPE: &str = "text/calendar; charset=utf-8; method=PUBLISH; component=VEVENT";

/// The media type of a file that cancels an appointment.
pub const CANCEL_TYPE: &str = "text/calendar; charset=utf-8; method=CANCEL; component=VEVENT";

/// The longest content line in octets, without its break (RFC 5545, 3.1).
const LINE_OCTETS: usize = 75;

/// Status of an appointment.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// The booking is confirmed.
    Confirmed,
    /// A place is held, and the booking is not confirmed yet.
    Tentative,
    /// The booking was cancelled.
    Cancelled,
}

/// Organiser of an appointment. A file that is sent by mail names them (RFC 5546, 3.2).
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Organizer {
    /// Name of the organiser.
    pub name: String,
    /// Email address of the organiser.
    pub email: String,
}

/// One appointment.
#[derive(Debug, Clone)]
pub struct Appointment {
    /// Permanent identifier: a later file with the same uid replaces an earlier one.
    pub uid: String,
    /// Version number, by which a calendar recognises the later version.
    pub sequence: i64,
    /// Time when the file is made.
    pub stamp: UtcTime,
    /// Time when it begins.
    pub start: UtcTime,
    /// Time when it ends.
    pub finish: UtcTime,
    /// Title, on one line.
    pub summary: String,
    /// Location; empty if there is none.
    pub location: String,
    /// Further text; empty if there is none.
    pub description: String,
    /// Contact for questions, in words; empty if there is none.
    pub contact: String,
    /// Organiser; `None` in a feed.
    pub organizer: Option<Organizer>,
    /// Number of minutes before its start at which the calendar reminds of it; `None` for no alarm.
    pub alarm_minutes: Option<u32>,
    /// Status of the appointment.
    pub standing: Standing,
}

/// Interval at which a calendar program reads a feed again: an ISO 8601 duration.
const COME_BACK: &str = "PT1H";

/// A file that adds appointments to a customer's calendar, or moves them. All times are in UTC, which every calendar
/// converts to its owner's zone.
pub fn published(appointments: &[Appointment]) -> Vec<u8> {
    calendar(&[("METHOD", "PUBLISH".to_owned())], appointments)
}

/// A file that removes an appointment from a customer's calendar. It contains only one: all events of such a file have
/// the same uid (RFC 5546, 3.2.5). It has no alarm, and its status says what happened.
pub fn cancelled(appointment: &Appointment) -> Vec<u8> {
    let ended = Appointment { standing: Standing::Cancelled, alarm_minutes: None, ..appointment.clone() };
    calendar(&[("METHOD", "CANCEL".to_owned())], core::slice::from_ref(&ended))
}

/// The file of a feed with that name. It is complete: events that are missing from it no longer exist. It is no message
/// from one calendar to another, so it has no METHOD.
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
    if let Some(organizer) = &appointment.organizer {
        let name = format!("ORGANIZER;CN={}", parameter(&organizer.name));
        put(&name, &format!("mailto:{}", addressed(&organizer.email)));
    }
    for (name, value) in [
        ("LOCATION", &appointment.location),
        ("DESCRIPTION", &appointment.description),
        ("CONTACT", &appointment.contact),
    ] {
        if !value.is_empty() {
            put(name, &escape(value));
        }
    }
    put("STATUS", status);
    if let Some(minutes) = appointment.alarm_minutes {
        put("BEGIN", "VALARM");
        put("ACTION", "DISPLAY");
        put("DESCRIPTION", &escape(&appointment.summary));
        put("TRIGGER", &format!("-PT{minutes}M"));
        put("END", "VALARM");
    }
    put("END", "VEVENT");
}

/// The value of a parameter in quotes, which can hold neither a quote nor a control character (RFC 5545, 3.2).
fn parameter(text: &str) -> String {
    let kept = text.chars().filter(|c| !c.is_control()).map(|c| if c == '"' { '\'' } else { c });
    format!("\"{}\"", kept.collect::<String>())
}

/// One digit of a hexadecimal number, for 0 to 15.
fn hex_digit(value: u8) -> char {
    char::from_digit(value.into(), 16).unwrap_or('0').to_ascii_uppercase()
}

/// An email address within a `mailto` address, with every character that has a meaning there escaped (RFC 6068, section
/// 2).
fn addressed(email: &str) -> String {
    let mut address = String::with_capacity(email.len());
    for byte in email.bytes() {
        match byte {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'-' | b'.' | b'_' | b'~' | b'@' | b'+' => {
                address.push(byte.into());
            }
            other => address.extend(['%', hex_digit(other >> 4), hex_digit(other & 15)]),
        }
    }
    address
}

/// A time in the basic form of RFC 5545, 3.3.5: `20260302T080000Z`.
fn moment(at: UtcTime) -> String {
    let at: DateTime<Utc> = at.datetime();
    at.format("%Y%m%dT%H%M%SZ").to_string()
}

/// Text with special characters escaped (RFC 5545, 3.3.11); other control characters are left out.
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

/// Adds a line and folds it if it is too long: never within a character, each continuation after a space.
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
            contact: "Quay Studio, +353 1 555 0100".to_owned(),
            organizer: Some(Organizer { name: "Quay \"&\" Bay".to_owned(), email: "a b?@example.com".to_owned() }),
            alarm_minutes: Some(120),
            standing: Standing::Confirmed,
        }
    }

    fn has(text: &str, line: &str) -> bool {
        text.split("\r\n").any(|found| found == line)
    }

    #[test]
    fn a_published_file_has_its_events_with_times_in_utc_whom_to_ask_and_an_alarm() {
        let text = String::from_utf8(published(&[appointment()])).unwrap();
        for line in [
            "METHOD:PUBLISH",
            "ORGANIZER;CN=\"Quay '&' Bay\":mailto:a%20b%3F@example.com",
            "CONTACT:Quay Studio\\, +353 1 555 0100",
            "TRIGGER:-PT120M",
            "DTSTART:20260302T080000Z",
            "DTEND:20260303T081500Z",
            "SEQUENCE:2",
            "SUMMARY:Wash\\; polish\\, and coat",
            "DESCRIPTION:One\\ntwo",
            "STATUS:CONFIRMED",
        ] {
            assert!(has(&text, line), "{line}: {text}");
        }
        assert!(!text.contains("LOCATION") && text.ends_with("END:VCALENDAR\r\n"));
    }

    #[test]
    fn a_cancelling_file_has_the_method_and_status_and_no_alarm() {
        let text = String::from_utf8(cancelled(&appointment())).unwrap();
        for line in ["METHOD:CANCEL", "STATUS:CANCELLED", "SEQUENCE:2", "UID:0198c0de-0000-7000-8000-000000000001"] {
            assert!(has(&text, line), "{line}: {text}");
        }
        assert!(!text.contains("VALARM"), "{text}");
        assert!(PUBLISH_TYPE.contains("method=PUBLISH") && CANCEL_TYPE.contains("method=CANCEL"));
    }

    #[test]
    fn a_feed_has_its_name_and_every_event() {
        let held = Appointment { uid: "2".to_owned(), standing: Standing::Tentative, ..appointment() };
        let text = String::from_utf8(feed("Bay 1, Slackwater; Quay", &[appointment(), held])).unwrap();
        for line in ["NAME:Bay 1\\, Slackwater\\; Quay", "REFRESH-INTERVAL;VALUE=DURATION:PT1H", "STATUS:TENTATIVE"] {
            assert!(has(&text, line), "{line}: {text}");
        }
        assert!(!text.contains("METHOD"), "{text}");
        assert_eq!((text.matches("BEGIN:VEVENT").count(), text.matches("END:VCALENDAR").count()), (2, 1));
    }

    #[test]
    fn a_long_line_is_broken_at_75_octets_and_never_within_a_character() {
        let summary = "é".repeat(200);
        let bytes = published(&[Appointment { summary: summary.clone(), ..appointment() }]);
        let text = String::from_utf8(bytes).unwrap();
        assert!(text.split("\r\n").all(|line| line.len() <= LINE_OCTETS));
        assert!(text.replace("\r\n ", "").contains(&summary));
    }
}
