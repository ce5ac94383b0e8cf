//! The shop's diary over a period: hours of bays and people, less what is already booked.

use std::collections::BTreeMap;

use baywright_domain::id::{BookingId, VehicleId};
use baywright_domain::learning::Outlook;
use baywright_domain::plan::{Hands, WorkPlan};
use baywright_domain::schedule::stays::{Moving, Visit};
use baywright_domain::schedule::{Bay, Diary, Horizon, Taken, Technician, slot_of, with_pairs};
use baywright_domain::time::{Interval, IntervalSet, Minute, Minutes};

use super::promise;
use super::store;
use super::timetable::{Timetable, timetable};
use super::{Booking, Promised};
use crate::platform::fail::Done;
use crate::platform::tx::Tx;
use crate::shop::settings::Settings;

/// Number of days ahead a question about the diary looks.
pub const AHEAD_DAYS: u32 = 90;

/// The shop's time over a horizon, and what is taken of it.
pub(super) struct Book {
    pub(super) horizon: Horizon,
    pub(super) timetable: Timetable,
    pub(super) bays: Vec<Taken>,
    pub(super) people: Vec<Taken>,
    /// Time for which other bookings have the car in question in some bay: no bay can have it then.
    car: Vec<Taken>,
    /// With two people, the diary lists people in pairs too.
    hands: Hands,
}

/// Existing bookings that count as taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Others {
    /// All bookings count.
    Count,
    /// All bookings count except other bookings of the same car.
    CountButCar,
    /// No bookings count, to distinguish times that are taken from plans that never fit.
    Ignored,
}

/// Reads the shop's diary for `days` days from the slot of `from` on. `car` is the car to be placed, if known; the
/// booking `except` is left out, because it is being moved.
pub(super) fn open(
    tx: &mut Tx<'_>,
    settings: &Settings,
    from: Minute,
    days: u32,
    hands: Hands,
    car: Option<&VehicleId>,
    except: Option<&BookingId>,
) -> Done<Book> {
    let horizon = horizon(settings, from, days)?;
    let (begin, end) = (horizon.span().from(), horizon.span().to());
    let timetable = timetable(tx, begin, end)?;
    let mut bays = store::standing_early(tx, except)?;
    bays.extend(store::bays_taken(tx, begin, end, except)?);
    let people = store::people_taken(tx, begin, end, except)?;
    let car = car.map_or(Ok(Vec::new()), |car| store::car_taken(tx, car, (begin, end), except))?;
    Ok(Book { horizon, timetable, bays, people, car, hands })
}

/// The period of `days` days from the slot of `from` on, with the shop's slots.
pub(super) fn horizon(settings: &Settings, from: Minute, days: u32) -> Done<Horizon> {
    let begin = slot_of(&settings.zone, settings.terms.slot, from);
    Ok(Horizon::new(begin, begin + Minutes::new(days * 1440), settings.terms.slot)?)
}

impl Book {
    /// The same time for the car of a booking: without the time that the booking itself takes, and for its number of
    /// people.
    pub(super) fn without(&self, booking: &Booking) -> Self {
        let others = |taken: &[Taken]| -> Vec<Taken> {
            taken.iter().filter(|one| one.booking != booking.id.as_str()).cloned().collect()
        };
        Self {
            horizon: self.horizon,
            timetable: self.timetable.clone(),
            bays: others(&self.bays),
            people: others(&self.people),
            car: Vec::new(),
            hands: booking.hands,
        }
    }

    /// The diary as the rules read it.
    pub(super) fn diary(&self, others: Others) -> Done<Diary> {
        Ok(Diary::new(self.horizon, &self.bay_time(others), &self.people_time(others))?)
    }

    /// The bays with their time.
    pub(super) fn bay_time(&self, others: Others) -> Vec<Bay> {
        let held = others.of(&self.bays);
        let elsewhere = match others {
            Others::Count => self.car.iter().map(|taken| taken.when).collect(),
            Others::CountButCar | Others::Ignored => IntervalSet::EMPTY,
        };
        let held_in = |code: &str| held.get(code).map_or_else(|| elsewhere.clone(), |own| own.union(&elsewhere));
        self.timetable.bays.iter().map(|bay| Bay { held: held_in(&bay.code).union(&bay.held), ..bay.clone() }).collect()
    }

    /// The people with their time, and the pairs of them where two work together.
    pub(super) fn people_time(&self, others: Others) -> Vec<Technician> {
        let busy = others.of(&self.people);
        let none = IntervalSet::EMPTY;
        let alone: Vec<Technician> = self
            .timetable
            .technicians
            .iter()
            .map(|person| Technician {
                busy: busy.get(person.code.as_str()).unwrap_or(&none).union(&person.busy),
                ..person.clone()
            })
            .collect();
        match self.hands {
            Hands::One => alone,
            Hands::Two => with_pairs(&alone),
        }
    }

    /// Moves from bay to bay that a car may make for this work: those that the shop allows if the work needs them, or if
    /// they are allowed `anyway`.
    pub(super) fn moving(&self, settings: &Settings, work: &WorkPlan, anyway: bool) -> Moving {
        let allowed = settings.terms.moving;
        if anyway { allowed } else { work.moves_needed(&self.timetable.bays, allowed) }
    }

    /// A visit within the horizon with its promised finish; time after the horizon counts as open.
    pub(super) fn promise(&self, settings: &Settings, outlook: Option<&Outlook>, visit: Visit) -> Promised {
        let bay = self.timetable.bays.iter().find(|bay| bay.code == visit.last_bay());
        let promised = bay.and_then(|bay| promise::moment(settings, outlook, visit.finish, &bay.open));
        let at = promised.unwrap_or(visit.finish + outlook.map_or(Minutes::ZERO, Outlook::margin));
        Promised { visit, at }
    }

    /// The bays and people with their time, as if the car in question had no other booking.
    pub(super) fn time_but_car(&self) -> (Vec<Bay>, Vec<Technician>) {
        (self.bay_time(Others::CountButCar), self.people_time(Others::CountButCar))
    }

    /// The time that other bookings have of the car in question, earliest first.
    pub(super) fn car(&self) -> &[Taken] {
        &self.car
    }
}

impl Others {
    /// The time taken from each bay or person.
    fn of(self, taken: &[Taken]) -> BTreeMap<&str, IntervalSet> {
        match self {
            Self::Count | Self::CountButCar => by_owner(taken),
            Self::Ignored => BTreeMap::new(),
        }
    }
}

fn by_owner(taken: &[Taken]) -> BTreeMap<&str, IntervalSet> {
    let mut lists: BTreeMap<&str, Vec<Interval>> = BTreeMap::new();
    for one in taken {
        lists.entry(one.owner.as_str()).or_default().push(one.when);
    }
    lists.into_iter().map(|(owner, list)| (owner, list.into_iter().collect())).collect()
}
