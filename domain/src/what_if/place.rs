//! The first place of one booked car while all others stay.

use alloc::vec::Vec;

use super::{BookedCar, ShopTime};
use crate::schedule::stays::Visit;
use crate::schedule::{Bay, Diary, Technician, Unplannable, with_pairs};
use crate::time::{Interval, IntervalSet};

/// The shop's time with these visits booked, beside what it has taken already.
pub(super) fn with_visits<'v>(time: &ShopTime, visits: impl Iterator<Item = &'v Visit> + Clone) -> ShopTime {
    let bay = |bay: &Bay| {
        let stays = visits.clone().flat_map(|visit| &visit.stays).filter(|stay| stay.bay == bay.code);
        let taken: IntervalSet = stays.filter_map(|stay| Interval::new(stay.from, stay.to)).collect();
        Bay { held: bay.held.union(&taken), ..bay.clone() }
    };
    let person = |person: &Technician| {
        let steps = visits.clone().flat_map(|visit| &visit.steps);
        let theirs =
            steps.filter(|step| [step.leads(), step.helps()].into_iter().flatten().any(|who| who == person.code));
        let busy: IntervalSet = theirs.flat_map(|step| step.pieces.iter().copied()).collect();
        Technician { busy: person.busy.union(&busy), ..person.clone() }
    };
    ShopTime {
        horizon: time.horizon,
        bays: time.bays.iter().map(bay).collect(),
        people: time.people.iter().map(person).collect(),
    }
}

/// The diary for the car at this index, with all other cars at these places. While another booking of the same car has a
/// bay, no other bay can have it.
fn diary_for(time: &ShopTime, cars: &[BookedCar], places: &[Visit], at: usize) -> Result<Diary, Unplannable> {
    let Some(car) = cars.get(at) else { return Diary::new(time.horizon, &time.bays, &time.people) };
    let others = places.iter().enumerate().filter(|(place, _)| *place != at);
    let mut booked = with_visits(time, others.clone().map(|(_, visit)| visit));
    let same = others.filter(|(place, _)| cars.get(*place).is_some_and(|other| other.car == car.car));
    let whole: IntervalSet = same.filter_map(|(_, visit)| Interval::new(visit.start, visit.finish)).collect();
    let elsewhere = whole.union(&car.elsewhere);
    if !elsewhere.is_empty() {
        for bay in &mut booked.bays {
            bay.held = bay.held.union(&elsewhere);
        }
    }
    let takes_two = car.orders.iter().any(|order| order.plan().takes_two());
    let people = if takes_two { with_pairs(&booked.people) } else { booked.people };
    Diary::new(time.horizon, &booked.bays, &people)
}

/// The first place for the car at this index, from the time on at which its work may begin.
pub(super) fn first_place(
    time: &ShopTime,
    cars: &[BookedCar],
    places: &[Visit],
    at: usize,
) -> Result<Option<Visit>, Unplannable> {
    let Some(car) = cars.get(at) else { return Ok(None) };
    let diary = diary_for(time, cars, places, at)?;
    Ok(diary.visits(&car.orders, car.moving).earliest(car.from))
}

/// A place for a car that can't keep its own: with the same start and no later finish if there is one in any bay, so that
/// its promise is kept, else the first one from its start on.
pub(super) fn next_place(
    time: &ShopTime,
    cars: &[BookedCar],
    places: &[Visit],
    at: usize,
) -> Result<Option<Visit>, Unplannable> {
    let Some(car) = cars.get(at) else { return Ok(None) };
    let diary = diary_for(time, cars, places, at)?;
    let visits = diary.visits(&car.orders, car.moving);
    let start = car.visit.start;
    let mut same: Vec<Visit> = time.bays.iter().filter_map(|bay| visits.at(&bay.code, start)).collect();
    same.retain(|visit| visit.finish <= car.visit.finish);
    let kept = same.into_iter().min_by_key(|visit| (visit.finish, visit.stays.len()));
    Ok(kept.or_else(|| visits.earliest(start.max(car.from))))
}
