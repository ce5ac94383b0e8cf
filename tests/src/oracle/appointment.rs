//! `appointment`: the calendar file of an appointment, as it comes with a confirmation; `feed`: that of many.

use baywright::documents::calendar::{Appointment, Standing, feed, file};
use baywright::platform::clock::UtcTime;
use serde::{Deserialize, Serialize};

use super::Answer;

/// One appointment; moments as RFC 3339 writes them.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Case {
    uid: String,
    sequence: i64,
    stamp: String,
    start: String,
    finish: String,
    summary: String,
    location: String,
    description: String,
    cancelled: bool,
}

/// A feed of that name.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FeedCase {
    name: String,
    events: Vec<Case>,
}

/// The file's text.
#[derive(Serialize)]
pub struct Written {
    file: String,
}

impl Case {
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
            standing: if self.cancelled { Standing::Cancelled } else { Standing::Confirmed },
        })
    }
}

fn written(bytes: Vec<u8>) -> Answer<Written> {
    Ok(Written { file: String::from_utf8(bytes).map_err(|error| error.to_string())? })
}

/// Writes the file of one.
pub fn answer(case: Case) -> Answer<Written> {
    written(file(&case.appointment()?))
}

/// Writes the file of a feed.
pub fn answer_feed(case: FeedCase) -> Answer<Written> {
    let events = case.events.into_iter().map(Case::appointment).collect::<Result<Vec<_>, _>>()?;
    written(feed(&case.name, &events))
}
