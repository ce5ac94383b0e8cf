//! A stored rescheduling. It has no form number: fields that were added later may be missing, and some have an older
//! name in the document than here.

use baywright_domain::schedule::PlacedStep;
use baywright_domain::schedule::stays::{Stay, Visit};
use baywright_domain::time::{Interval, Minute};
use serde::{Deserialize, Serialize};

use crate::platform::clock::UtcTime;
use crate::platform::fail::DbError;
use crate::platform::kept::Moment;

/// Schedule of all jobs, with its quality.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct WeekForm {
    /// Start of the period that was planned, RFC 3339 in UTC.
    pub from: Moment,
    /// End of the period that was planned, RFC 3339 in UTC.
    pub until: Moment,
    /// Jobs with their places: bookings that may move, and quotes that are to be booked.
    pub jobs: Vec<RescheduledJobForm>,
    /// Cars that stay longer in their bay, as given in the request.
    pub overruns: Vec<OverrunForm>,
    /// Bookings that keep their places and people: of a car that has several in this period, and bookings that begin at a
    /// time that is no longer a possible start. Each can be moved by itself.
    #[serde(rename = "staying", default, alias = "staying_ids")]
    pub unmoved: Vec<UnmovedForm>,
    /// Total lateness after promised or requested times, in minutes, weighted.
    pub lateness_minutes: u64,
    /// Finish of the last job, RFC 3339 in UTC; null if there are no jobs.
    pub finish: Option<Moment>,
    /// Total time that cars occupy bays, in minutes.
    #[serde(rename = "standing_minutes")]
    pub bay_minutes: u64,
    /// Possible gain, in minutes: the best possible schedule is better by at most this much, in lateness, or in the
    /// last finish if nothing is late. 0 if the schedule is proven to be the best.
    #[serde(rename = "gap_minutes")]
    pub possible_gain_minutes: u64,
    /// Whether no better schedule with as few moved promises is possible.
    pub proven: bool,
}

impl WeekForm {
    /// Number of promises that move.
    pub fn moves(&self) -> usize {
        self.jobs.iter().filter(|job| job.promise_moves).count()
    }
}

/// Job with its place.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct RescheduledJobForm {
    /// Id of the quote whose work it is.
    pub quote_id: String,
    /// Id of the booking; null if there is none yet.
    pub booking_id: Option<String>,
    /// Version of the booking when the schedule was made; null if there is none yet.
    pub booking_version: Option<i64>,
    /// Current bay and time; null if there is no booking yet.
    pub before: Option<RescheduledTimeForm>,
    /// New bay and time of the job.
    pub after: RescheduledTimeForm,
    /// Whether a promise moves: the car would have to come at another time, or be ready later. The customer is then
    /// told by mail, with a new calendar file.
    pub promise_moves: bool,
    /// Reason why the booking has another place, naming the bay, the person or the car in the way, or what is better about
    /// the new place if the old one is free. Null if it keeps its place or has none yet.
    #[serde(default)]
    pub because: Option<String>,
    /// Steps with people and times.
    pub steps: Vec<RescheduledStepForm>,
    /// Index of the order in which the steps are done, among those of the plan; 0 for its own one.
    #[serde(default)]
    pub order: usize,
}

/// Bays with the time from start to finish.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct RescheduledTimeForm {
    /// Id of the bay, the first one if the car changes bays.
    pub bay_id: String,
    /// Time when the car takes the bay, RFC 3339 in UTC.
    pub start: Moment,
    /// Time when the work is done, RFC 3339 in UTC.
    pub finish: Moment,
    /// Bays one after another, from start to finish; empty in old documents, whose cars keep their bay.
    #[serde(default)]
    pub stays: Vec<RescheduledStayForm>,
}

/// Stay of a car in one bay.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct RescheduledStayForm {
    /// Id of the bay.
    pub bay_id: String,
    /// Time when the car takes the bay, RFC 3339 in UTC.
    pub start: Moment,
    /// Time when the car leaves the bay, RFC 3339 in UTC.
    pub finish: Moment,
}

/// Step of a job.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct RescheduledStepForm {
    /// Code of the step.
    pub code: String,
    /// Id of the person who works on the step or leads; null for a step without minutes.
    pub person_id: Option<String>,
    /// Id of the person who helps with a step for two; null for other steps.
    #[serde(default)]
    pub helper_id: Option<String>,
    /// Periods in which the step is done, in order.
    pub pieces: Vec<RescheduledPieceForm>,
}

/// Period of work with its start and end.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct RescheduledPieceForm {
    /// Start of the period, RFC 3339 in UTC.
    pub start: Moment,
    /// End of the period, RFC 3339 in UTC.
    pub finish: Moment,
}

/// Car that stays longer in its bay.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct OverrunForm {
    /// Id of the booking of a car that is in its bay.
    pub booking_id: String,
    /// New finish of the work, RFC 3339; a whole minute.
    pub finish: Moment,
}

/// Booking that keeps its place.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(from = "WrittenUnmoved")]
pub struct UnmovedForm {
    /// Id of the booking.
    pub booking_id: String,
    /// Whether the work can no longer be done at that place, because somebody is absent, the bay is closed or other
    /// work was signed. In that case move the booking.
    pub broken: bool,
}

/// The stored facts about a booking that keeps its place.
#[derive(Deserialize)]
#[serde(untagged)]
enum WrittenUnmoved {
    Told {
        booking_id: String,
        broken: bool,
    },
    /// The first ones contained only the ids, of bookings for two people, and did not check whether they are still
    /// possible.
    Id(String),
}

impl From<WrittenUnmoved> for UnmovedForm {
    fn from(written: WrittenUnmoved) -> Self {
        match written {
            WrittenUnmoved::Told { booking_id, broken } => Self { booking_id, broken },
            WrittenUnmoved::Id(booking_id) => Self { booking_id, broken: false },
        }
    }
}

fn moment(at: Minute) -> Moment {
    Moment(UtcTime::from_minute(at))
}

impl RescheduledTimeForm {
    /// Bays and times of a visit.
    pub fn of(visit: &Visit) -> Self {
        let stay = |stay: &Stay| RescheduledStayForm {
            bay_id: stay.bay.clone(),
            start: moment(stay.from),
            finish: moment(stay.to),
        };
        Self {
            bay_id: visit.placement().bay,
            start: moment(visit.start),
            finish: moment(visit.finish),
            stays: visit.stays.iter().map(stay).collect(),
        }
    }

    /// Bays one after another.
    pub fn stays(&self) -> Vec<Stay> {
        let stay = |bay: &str, from: Moment, to: Moment| Stay {
            bay: bay.to_owned(),
            from: from.0.minute(),
            to: to.0.minute(),
        };
        if self.stays.is_empty() {
            return vec![stay(&self.bay_id, self.start, self.finish)];
        }
        self.stays.iter().map(|one| stay(&one.bay_id, one.start, one.finish)).collect()
    }
}

impl RescheduledStepForm {
    /// A step of a placement.
    pub fn of(step: &PlacedStep) -> Self {
        let piece = |piece: &Interval| RescheduledPieceForm { start: moment(piece.from()), finish: moment(piece.to()) };
        Self {
            code: step.code.clone(),
            person_id: step.leads().map(str::to_owned),
            helper_id: step.helps().map(str::to_owned),
            pieces: step.pieces.iter().map(piece).collect(),
        }
    }

    fn read(&self) -> Result<PlacedStep, DbError> {
        let corrupt = || DbError::Corrupt("a kept rescheduling has an empty piece".to_owned());
        let piece = |piece: &RescheduledPieceForm| {
            Interval::new(piece.start.0.minute(), piece.finish.0.minute()).ok_or_else(corrupt)
        };
        Ok(PlacedStep {
            code: self.code.clone(),
            technician: self
                .person_id
                .as_ref()
                .map(|leads| PlacedStep::technician_of(leads, self.helper_id.as_deref())),
            pieces: self.pieces.iter().map(piece).collect::<Result<_, _>>()?,
        })
    }
}

impl RescheduledJobForm {
    /// The new bays and times, for the rules.
    ///
    /// # Errors
    /// If it contains something that this program can't have written.
    pub fn visit(&self) -> Result<Visit, DbError> {
        Ok(Visit {
            order: self.order,
            stays: self.after.stays(),
            start: self.after.start.0.minute(),
            finish: self.after.finish.0.minute(),
            steps: self.steps.iter().map(RescheduledStepForm::read).collect::<Result<_, _>>()?,
        })
    }
}

#[cfg(test)]
mod tests {
    use serde_json::Value;

    use super::*;

    const FIRST: &str = include_str!("../../../../tests/data/kept/proposal-1.json");
    const STAYING_IDS: &str = include_str!("../../../../tests/data/kept/proposal-2.json");
    const STAYING: &str = include_str!("../../../../tests/data/kept/proposal-3.json");
    const BECAUSE: &str = include_str!("../../../../tests/data/kept/proposal-4.json");
    const STAYS: &str = include_str!("../../../../tests/data/kept/proposal-5.json");

    fn read(text: &str) -> WeekForm {
        serde_json::from_str(text).unwrap()
    }

    #[test]
    fn a_rescheduling_of_every_form_is_read_and_the_newest_written_as_it_was() {
        assert_eq!(serde_json::to_value(read(STAYS)).unwrap(), serde_json::from_str::<Value>(STAYS).unwrap());
        for text in [FIRST, STAYING_IDS, STAYING, BECAUSE, STAYS] {
            let week = read(text);
            assert_eq!((week.moves(), week.jobs.len(), week.overruns.len()), (1, 2, 1));
            assert_eq!(week.until.0.to_string(), "2026-03-16T00:00:00Z");
            let visit = week.jobs[0].visit().unwrap();
            assert_eq!(
                (&visit.stays[0].bay, visit.start),
                (&week.jobs[0].after.bay_id, week.jobs[0].after.start.0.minute())
            );
            assert_eq!(visit.steps.iter().map(|step| step.pieces.len()).collect::<Vec<_>>(), [1, 2, 0]);
            assert!(week.jobs[1].booking_id.is_none() && week.jobs[1].before.is_none());
        }
    }

    #[test]
    fn a_car_that_changes_bays_and_the_one_who_helps_are_read() {
        let visits = |text: &str| read(text).jobs.iter().map(|job| job.visit().unwrap()).collect::<Vec<Visit>>();
        let [moved, _] = &visits(STAYS)[..] else { panic!("two jobs") };
        assert_eq!((moved.order, moved.stays.len(), moved.stays[0].to), (1, 2, moved.stays[1].from));
        assert!(moved.steps[1].leads().is_some() && moved.steps[1].helps().is_some());
        let [before, _] = &visits(BECAUSE)[..] else { panic!("two jobs") };
        assert!(before.is_plain() && before.stays[0].to == before.finish);
        assert_eq!(before.steps[1].helps(), None);
    }

    #[test]
    fn what_the_first_reschedulings_do_not_say_is_read_as_they_meant_it() {
        let unmoved = |text: &str| -> Vec<(String, bool)> {
            read(text).unmoved.into_iter().map(|one| (one.booking_id, one.broken)).collect()
        };
        let ids = ["0198c0de-0000-7000-8000-000000000034", "0198c0de-0000-7000-8000-000000000035"].map(str::to_owned);
        let [one, two] = ids;
        assert!(unmoved(FIRST).is_empty());
        assert_eq!(unmoved(STAYING_IDS), [(one.clone(), false), (two.clone(), false)]);
        assert_eq!(unmoved(STAYING), [(one, false), (two, true)]);
        assert_eq!(read(STAYING).jobs[0].because, None);
        assert!(read(BECAUSE).jobs[0].because.is_some());
    }
}
