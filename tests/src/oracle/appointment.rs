//! `appointment`: a calendar file that publishes appointments or cancels one, as mails bring it; `feed`: a feed of many.

use baywright_core::documents::calendar::{Appointment, Organizer, Standing, cancelled, feed, published};
use baywright_core::platform::clock::UtcTime;
use serde::{Deserialize, Serialize};

use super::Answer;

/// A file of a mail: the appointments that it publishes, or the one that it cancels.
#[derive(Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Case {
    /// They are agreed, or have new times.
    Publish(Vec<Event>),
    /// It is called off.
    Cancel(Box<Event>),
}

/// One appointment; moments as RFC 3339 writes them.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Event {
    uid: String,
    sequence: i64,
    stamp: String,
    start: String,
    finish: String,
    summary: String,
    location: String,
    description: String,
    #[serde(default)]
    contact: String,
    organizer: Option<(String, String)>,
    alarm_minutes: Option<u32>,
    cancelled: bool,
}

/// A feed of that name.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FeedCase {
    name: String,
    events: Vec<Event>,
}

/// The file's text.
#[derive(Serialize)]
pub struct Written {
    file: String,
}

impl Event {
    fn appointment(self) -> Answer<Appointment> {
        let moment = |text: &str| UtcTime::parse(text).ok_or_else(|| format!("{text:?} is no moment"));
        Ok(Appointment {
            sequence: self.sequence,
            stamp: moment(&self.stamp)?,
            start: moment(&self.start)?,
            finish: moment(&self.finish)?,
            uid: self.uid,
            summary: self.summary,
            location: self.location,
            description: self.description,
            contact: self.contact,
            organizer: self.organizer.map(|(name, email)| Organizer { name, email }),
            alarm_minutes: self.alarm_minutes,
            standing: if self.cancelled { Standing::Cancelled } else { Standing::Confirmed },
        })
    }
}

fn written(bytes: Vec<u8>) -> Answer<Written> {
    Ok(Written { file: String::from_utf8(bytes).map_err(|error| error.to_string())? })
}

/// Writes the file of a mail.
pub fn answer(case: Case) -> Answer<Written> {
    match case {
        Case::Publish(events) => written(published(&all(events)?)),
        Case::Cancel(event) => written(cancelled(&event.appointment()?)),
    }
}

fn all(events: Vec<Event>) -> Answer<Vec<Appointment>> {
    events.into_iter().map(Event::appointment).collect()
}

/// Writes the file of a feed.
pub fn answer_feed(case: FeedCase) -> Answer<Written> {
    written(feed(&case.name, &all(case.events)?))
}
