//! `appointment`: the calendar file of an appointment, as it comes with a confirmation.

use baywright::documents::calendar::{Appointment, Standing, file};
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

/// The file's text.
#[derive(Serialize)]
pub struct Written {
    file: String,
}

/// Writes the file.
pub fn answer(case: Case) -> Answer<Written> {
    let moment = |text: &str| UtcTime::parse(text).ok_or_else(|| format!("{text:?} is no moment"));
    let bytes = file(&Appointment {
        uid: &case.uid,
        sequence: case.sequence,
        stamp: moment(&case.stamp)?,
        start: moment(&case.start)?,
        finish: moment(&case.finish)?,
        summary: &case.summary,
        location: &case.location,
        description: &case.description,
        standing: if case.cancelled { Standing::Cancelled } else { Standing::Confirmed },
    });
    Ok(Written { file: String::from_utf8(bytes).map_err(|error| error.to_string())? })
}
