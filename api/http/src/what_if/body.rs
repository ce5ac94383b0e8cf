//! Suppositions as they are sent.

use baywright_core::booking::usecase::MOST_DAYS;
use baywright_core::platform::refusal::Refused;
use baywright_core::what_if::usecase::{Question, Supposition};
use baywright_domain::calendar::{Absence as Away, Dates, DayHours};
use baywright_domain::id::{BayId, PersonId, VariationId};
use baywright_domain::time::Interval;
use serde::Deserialize;
use utoipa::ToSchema;

use crate::platform::body::at_most;
use crate::platform::wire::{Code, Day, Instant, Reference, WallTime, Whole};
use crate::shop::codes;

/// Maximum number of features or skills, and of people.
const MOST: usize = 30;

// The API document needs the number itself.
const _: () = assert!(MOST_DAYS == 60, "the days of a request are not those of the rules");

/// Supposition: one change of the shop. Give exactly one of the changes.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({ "bay": { "features": ["cover", "dust-free"] } }))]
pub(super) struct WhatIfBody {
    /// Number of days from now to look at; as many as the bookings take if null or left out.
    #[serde(default)]
    days: Option<Whole<1, 60>>,
    /// Absence of a person; null or left out for another change.
    #[serde(default)]
    absence: Option<SupposedAbsence>,
    /// Closure of the studio or of a bay; null or left out for another change.
    #[serde(default)]
    closure: Option<SupposedClosure>,
    /// Extra hours; null or left out for another change.
    #[serde(default)]
    hours: Option<SupposedHours>,
    /// Bay that the studio does not have, open whenever any other one is; null or left out for another change.
    #[serde(default)]
    bay: Option<SupposedBay>,
    /// Person whom the studio does not have, at work whenever a bay is open; null or left out for another change.
    #[serde(default)]
    person: Option<SupposedPerson>,
    /// Id of a variation that is a draft or not answered yet: the customer is supposed to agree to its required lines. Null
    /// or left out for another change.
    #[serde(default)]
    variation_id: Option<Reference>,
}

/// Absence that is only supposed: whole days, or a part of one day.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct SupposedAbsence {
    /// Id of the person who would be away.
    person_id: Reference,
    /// First day of the absence, in the shop's time zone; null or left out for a part of a day.
    #[serde(default)]
    first_day: Option<Day>,
    /// Last day of the absence, in the shop's time zone; the same as the first for a single day. Null or left out for a
    /// part of a day.
    #[serde(default)]
    last_day: Option<Day>,
    /// Start of the absence, RFC 3339, for a part of a day; seconds are ignored. Null or left out for whole days.
    #[serde(default)]
    from_at: Option<Instant>,
    /// End of the absence, RFC 3339, for a part of a day. Null or left out for whole days.
    #[serde(default)]
    until_at: Option<Instant>,
}

/// Closure that is only supposed.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct SupposedClosure {
    /// Id of the bay that would be closed; null or left out for the whole studio.
    #[serde(default)]
    bay_id: Option<Reference>,
    /// First day of the closure, in the shop's time zone.
    first_day: Day,
    /// Last day of the closure, in the shop's time zone; the same as the first for a single day.
    last_day: Day,
}

/// Extra hours that are only supposed: the same on each of some days.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct SupposedHours {
    /// Id of the bay that would be open; null or left out for all bays.
    #[serde(default)]
    bay_id: Option<Reference>,
    /// Ids of the people who would work then; everyone if empty or left out.
    #[serde(default)]
    #[schema(max_items = 30)]
    person_ids: Vec<Reference>,
    /// First day, in the shop's time zone.
    first_day: Day,
    /// Last day, in the shop's time zone; the same as the first for a single day.
    last_day: Day,
    /// Start of the hours on each day, time of day in the shop's time zone.
    #[schema(example = "17:30")]
    from: WallTime,
    /// End of the hours, time of day in the shop's time zone, up to 24:00; an end before the start is on the next day.
    #[schema(example = "20:00")]
    until: WallTime,
}

/// Bay that is only supposed.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct SupposedBay {
    /// Features of the bay, as the steps of the menu name them.
    #[serde(default)]
    #[schema(max_items = 30, example = json!(["cover", "dust-free"]))]
    features: Vec<Code>,
}

/// Person who is only supposed.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct SupposedPerson {
    /// Skills of the person, as the steps of the menu name them.
    #[serde(default)]
    #[schema(max_items = 30, example = json!(["correction"]))]
    skills: Vec<Code>,
}

/// The days from the first to the last; `pointer` is the position of the last one.
fn dates(first: Day, last: Day, pointer: &str) -> Result<Dates, Refused> {
    Dates::through(first.0, last.0).map_err(|e| Refused::field(pointer, "empty_dates", format!("{e}.")))
}

impl SupposedAbsence {
    fn read(self) -> Result<Supposition, Refused> {
        let away = match (self.first_day, self.last_day, self.from_at, self.until_at) {
            (Some(first), Some(last), None, None) => Away::Days(dates(first, last, "/absence/last_day")?),
            (None, None, Some(from), Some(until)) => {
                let hours = Interval::new(from.0.minute(), until.0.minute());
                let detail = "It must end at least one minute after it begins.";
                Away::Hours(hours.ok_or_else(|| Refused::field("/absence/until_at", "empty_hours", detail))?)
            }
            _ => {
                let detail = "Give first_day and last_day for whole days, or from_at and until_at for a part of one.";
                return Err(Refused::field("/absence", "days_or_hours", detail));
            }
        };
        Ok(Supposition::Absence { person: PersonId::new(self.person_id), away })
    }
}

impl SupposedHours {
    fn read(self) -> Result<Supposition, Refused> {
        at_most("/hours/person_ids", self.person_ids.len(), MOST)?;
        let hours = DayHours::new(self.from.0, self.until.0)
            .map_err(|e| Refused::field("/hours/until", "not_hours", format!("{e}.")))?;
        Ok(Supposition::Hours {
            bay: self.bay_id.map(BayId::new),
            people: self.person_ids.into_iter().map(PersonId::new).collect(),
            dates: dates(self.first_day, self.last_day, "/hours/last_day")?,
            hours,
        })
    }
}

impl WhatIfBody {
    /// The question, if exactly one change is supposed.
    pub(super) fn into_question(self) -> Result<Question, Refused> {
        let days = self.days.map(Whole::get);
        let mut all = Vec::new();
        if let Some(absence) = self.absence {
            all.push(absence.read()?);
        }
        if let Some(closure) = self.closure {
            let dates = dates(closure.first_day, closure.last_day, "/closure/last_day")?;
            all.push(Supposition::Closure { bay: closure.bay_id.map(BayId::new), dates });
        }
        if let Some(hours) = self.hours {
            all.push(hours.read()?);
        }
        if let Some(bay) = self.bay {
            all.push(Supposition::Bay { features: codes(&bay.features, "/bay/features", MOST)? });
        }
        if let Some(person) = self.person {
            all.push(Supposition::Person { skills: codes(&person.skills, "/person/skills", MOST)? });
        }
        if let Some(variation) = self.variation_id {
            all.push(Supposition::Variation(VariationId::new(variation)));
        }
        let only = all.pop().filter(|_| all.is_empty());
        let supposition = only.ok_or_else(|| {
            let detail = "Suppose exactly one change: absence, closure, hours, bay, person or variation_id.";
            Refused::field("", "one_change", detail)
        })?;
        Ok(Question { days, supposition })
    }
}
