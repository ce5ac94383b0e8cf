//! Reads what a supposition needs, and searches its answer.

mod read;

use std::collections::BTreeSet;
use std::time::{Duration, Instant};

use baywright_domain::calendar::{Absence as Away, Dates, DayHours, Zone};
use baywright_domain::id::{BayId, PersonId, VariationId};
use baywright_domain::menu::Code;
use baywright_domain::schedule::stays::Visit;
use baywright_domain::schedule::week::Budget;
use baywright_domain::time::Minute;
use baywright_domain::what_if::{BookedCar, ShopTime, Sooner, promises, sooner};

use crate::booking::usecase::Booking;
use crate::platform::fail::Done;
use crate::rescheduling::usecase::Names;

pub use read::ask;

/// Time limit of the search.
const PATIENCE: Duration = Duration::from_secs(4);

/// A supposed change.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Supposition {
    /// Somebody is away.
    Absence {
        /// The person.
        person: PersonId,
        /// Days or hours.
        away: Away,
    },
    /// The studio or a bay is closed.
    Closure {
        /// The bay; `None` for the whole studio.
        bay: Option<BayId>,
        /// The days.
        dates: Dates,
    },
    /// The studio or a bay is open longer, and people work then.
    Hours {
        /// The bay; `None` for all bays.
        bay: Option<BayId>,
        /// The people who work then; everyone if empty.
        people: Vec<PersonId>,
        /// The days.
        dates: Dates,
        /// The hours that begin on each of them.
        hours: DayHours,
    },
    /// One more bay.
    Bay {
        /// Its features.
        features: BTreeSet<Code>,
    },
    /// One more person.
    Person {
        /// Their skills.
        skills: BTreeSet<Code>,
    },
    /// The customer says yes to the required lines of a variation.
    Variation(VariationId),
}

/// A question.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Question {
    /// Number of days that are looked at; as many as the bookings take if it is not given.
    pub days: Option<u32>,
    /// The supposed change.
    pub supposition: Supposition,
}

/// A question with the data that its answer needs.
#[derive(Debug)]
pub struct Asked {
    now: ShopTime,
    supposed: ShopTime,
    gives_time: bool,
    from: Minute,
    zone: Zone,
    bookings: Vec<Booking>,
    cars: Vec<BookedCar>,
    finish: Option<Minute>,
    names: Names,
}

/// The answer.
#[derive(Debug, Clone)]
pub struct Answer {
    /// Start of the period that was looked at.
    pub from: Minute,
    /// End of the period that was looked at.
    pub until: Minute,
    /// Finish of the car with the work of the supposed variation; `None` for other suppositions.
    pub finish: Option<Minute>,
    /// Promises that would move, by their booked starts.
    pub moved: Vec<Moved>,
    /// Whether no other schedule would move fewer promises and be less late.
    pub proven: bool,
    /// Bookings that can't keep their places whatever is supposed.
    pub broken_already: Vec<Booking>,
    /// Gain of a supposition that gives time; `None` if it takes time.
    pub gain: Option<Gain>,
}

/// A promise that would move.
#[derive(Debug, Clone)]
pub struct Moved {
    /// The booking.
    pub booking: Booking,
    /// Its new place; `None` if none was found.
    pub after: Option<Visit>,
    /// Reason in a sentence.
    pub because: Option<String>,
}

/// What a supposition that gives time would save.
#[derive(Debug, Clone)]
pub struct Gain {
    /// Cars that would be finished sooner, by their booked starts.
    pub sooner: Vec<SoonerCar>,
    /// Calendar days saved, summed over all cars.
    pub days: u64,
    /// Minutes saved, summed over all cars.
    pub minutes: u64,
    /// Time when the last car would be finished without the supposition; `None` without cars.
    pub last_without: Option<Minute>,
    /// Time when the last car would be finished with it; `None` without cars.
    pub last_with: Option<Minute>,
    /// Whether the search came to its end.
    pub complete: bool,
}

/// A car that would be finished sooner.
#[derive(Debug, Clone)]
pub struct SoonerCar {
    /// The booking.
    pub booking: Booking,
    /// Its finishes.
    pub finishes: Sooner,
    /// Calendar days by which it would be finished sooner.
    pub days: u32,
}

/// Searches the answer. It may take seconds, so it runs outside any transaction.
pub fn think(asked: &Asked) -> Done<Answer> {
    let begun = Instant::now();
    let stop = || begun.elapsed() > PATIENCE;
    let span = asked.now.horizon.span();
    let mut answer = Answer {
        from: span.from(),
        until: span.to(),
        finish: asked.finish,
        moved: Vec::new(),
        proven: true,
        broken_already: Vec::new(),
        gain: None,
    };
    if asked.gives_time {
        answer.gain = Some(asked.gain(&stop)?);
        return Ok(answer);
    }
    let budget = Budget { stop: Some(&stop), ..Budget::USUAL };
    let found = promises(&asked.now, &asked.supposed, &asked.cars, asked.from, &budget)?;
    answer.proven = found.proven;
    answer.broken_already = found.broken_already.iter().filter_map(|code| asked.booking(code).cloned()).collect();
    for moved in found.moved {
        let Some((booking, car)) = asked.booking(&moved.code).zip(asked.car(&moved.code)) else { continue };
        let told = car.visit.placement();
        let because = moved.cause.map(|cause| asked.names.because(&cause, &told));
        let because = because.or_else(|| asked.names.better(&told, &moved.after.as_ref()?.placement()));
        answer.moved.push(Moved { booking: booking.clone(), after: moved.after, because });
    }
    Ok(answer)
}

impl Asked {
    fn booking(&self, code: &str) -> Option<&Booking> {
        self.bookings.iter().find(|booking| booking.id.as_str() == code)
    }

    fn car(&self, code: &str) -> Option<&BookedCar> {
        self.cars.iter().find(|car| car.code == code)
    }

    fn gain(&self, stop: &dyn Fn() -> bool) -> Done<Gain> {
        let (all, complete) = sooner(&self.now, &self.supposed, &self.cars, stop)?;
        let last = |finish: fn(&Sooner) -> Minute| all.iter().map(finish).max();
        let (last_without, last_with) = (last(|one| one.without), last(|one| one.with));
        let days = all.iter().map(|one| u64::from(one.days(&self.zone))).sum();
        let minutes = all.iter().map(|one| u64::from(one.minutes())).sum();
        let gains = all.into_iter().filter(|one| one.with < one.without);
        let car = |finishes: Sooner| {
            let booking = self.booking(&finishes.code)?.clone();
            Some(SoonerCar { booking, days: finishes.days(&self.zone), finishes })
        };
        let sooner = gains.filter_map(car).collect();
        Ok(Gain { sooner, days, minutes, last_without, last_with, complete })
    }
}
