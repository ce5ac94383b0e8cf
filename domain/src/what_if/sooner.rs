//! Cars that would be finished sooner.

use alloc::string::String;
use alloc::vec::Vec;

use super::place::first_place;
use super::{BookedCar, ShopTime};
use crate::calendar::ZoneRules;
use crate::schedule::Unplannable;
use crate::schedule::stays::Visit;
use crate::time::{Interval, Minute};

/// The finishes of a car that moves up.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sooner {
    /// Code of the booking.
    pub code: String,
    /// Finish as booked.
    pub booked: Minute,
    /// Finish if all cars move up in the shop as it is.
    pub without: Minute,
    /// Finish if they go on to move up in the supposed shop; never later.
    pub with: Minute,
}

impl Sooner {
    /// Minutes by which the supposition lets it be finished sooner.
    pub fn minutes(&self) -> u32 {
        Interval::new(self.with, self.without).map_or(0, |saved| saved.length().get())
    }

    /// Calendar days between the two finishes, in the shop's time zone.
    pub fn days(&self, zone: &impl ZoneRules) -> u32 {
        let date = |at| zone.to_local(at).date();
        u32::try_from((date(self.without) - date(self.with)).num_days()).unwrap_or(0)
    }
}

/// Moves the cars up until none can be finished sooner while all others stay; `places` are theirs, in the cars' order. No
/// car gets a later finish. Returns whether it came to that end: `stop` is asked before each car.
///
/// # Errors
/// If bays or people share a code.
pub fn move_up(
    time: &ShopTime,
    cars: &[BookedCar],
    places: &mut [Visit],
    stop: &dyn Fn() -> bool,
) -> Result<bool, Unplannable> {
    let mut order: Vec<usize> = (0..cars.len().min(places.len())).collect();
    order.sort_by_key(|at| cars.get(*at).map(|car| (car.visit.start, &car.code)));
    loop {
        let mut moved = false;
        for at in order.iter().copied() {
            if stop() {
                return Ok(false);
            }
            let found = first_place(time, cars, places, at)?;
            if let (Some(found), Some(place)) = (found, places.get_mut(at))
                && found.finish < place.finish
            {
                *place = found;
                moved = true;
            }
        }
        if !moved {
            return Ok(true);
        }
    }
}

/// The finishes of all cars in the shop as it is and in the supposed one, in the cars' order, and whether the answer is
/// complete.
///
/// # Errors
/// If bays or people share a code.
pub fn sooner(
    now: &ShopTime,
    supposed: &ShopTime,
    cars: &[BookedCar],
    stop: &dyn Fn() -> bool,
) -> Result<(Vec<Sooner>, bool), Unplannable> {
    let mut places: Vec<Visit> = cars.iter().map(|car| car.visit.clone()).collect();
    let as_is = move_up(now, cars, &mut places, stop)?;
    let without: Vec<Minute> = places.iter().map(|visit| visit.finish).collect();
    let complete = move_up(supposed, cars, &mut places, stop)?;
    let finishes = cars.iter().zip(without).zip(&places);
    let each = finishes.map(|((car, without), place)| Sooner {
        code: car.code.clone(),
        booked: car.visit.finish,
        without,
        with: place.finish,
    });
    Ok((each.collect(), as_is && complete))
}
