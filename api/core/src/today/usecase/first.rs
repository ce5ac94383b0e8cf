//! What comes first on a day: a promise that will be broken before a customer who waits, and both before a car to come.

use baywright_domain::time::{Minute, Minutes};
use baywright_domain::visit::Act;

use super::{Car, First, JobDay};

/// Minutes before the start of its booked time from which on a car's arrival is expected.
const SOON: Minutes = Minutes::new(30);

/// What comes first; `None` if no car is late or ready, and none is expected soon.
pub(super) fn first(cars: &[Car], jobs: &[JobDay], now: Minute) -> Option<First> {
    let late = jobs.iter().filter_map(|job| Some((job, job.forecast.late().filter(|by| *by > Minutes::ZERO)?)));
    if let Some((job, by)) = late.max_by_key(|(_, by)| *by) {
        return Some(First::Late { booking: job.booking.clone(), by });
    }
    let to = |act: Act| cars.iter().filter(move |car| car.next == Some(act));
    let ready = to(Act::HandOver).min_by_key(|car| car.promised);
    let due = || to(Act::Arrive).filter(|car| car.starts - SOON <= now).min_by_key(|car| car.starts);
    ready
        .map(|car| First::HandOver(car.booking.clone()))
        .or_else(|| due().map(|car| First::TakeIn(car.booking.clone())))
}

#[cfg(test)]
mod tests {
    use baywright_domain::booking::BookingState;
    use baywright_domain::id::{BookingId, JobId, QuoteId, VehicleId};

    use super::*;
    use crate::job::usecase::Forecast;

    fn car(booking: &str, next: Option<Act>, starts: i64) -> Car {
        Car {
            booking: BookingId::new(booking),
            quote: QuoteId::new("quote"),
            state: BookingState::Booked,
            vehicle: VehicleId::new("vehicle"),
            vehicle_name: String::new(),
            registration: None,
            customer_name: String::new(),
            standing: false,
            starts: Minute::new(starts),
            promised: Minute::new(starts + 60),
            version: 1,
            next,
        }
    }

    fn job(booking: &str, expected: i64) -> JobDay {
        let at = Minute::new(100);
        JobDay {
            id: JobId::new("job"),
            booking: BookingId::new(booking),
            step: None,
            settled: 0,
            steps: 1,
            forecast: Forecast {
                finish: at,
                promised: at,
                expected: Some(Minute::new(expected)),
                left: Minutes::new(10),
            },
        }
    }

    #[test]
    fn a_late_car_comes_before_a_ready_one_and_that_before_one_to_come() {
        let cars = [car("come", Some(Act::Arrive), 20), car("ready", Some(Act::HandOver), 50)];
        let now = Minute::new(0);
        let jobs = [job("little", 110), job("most", 140), job("in-time", 90)];
        let late = First::Late { booking: BookingId::new("most"), by: Minutes::new(40) };
        assert_eq!(first(&cars, &jobs, now), Some(late));
        assert_eq!(first(&cars, &[job("in-time", 100)], now), Some(First::HandOver(BookingId::new("ready"))));
        assert_eq!(first(&cars[..1], &[], now), Some(First::TakeIn(BookingId::new("come"))));
    }

    #[test]
    fn a_car_is_not_expected_an_hour_before_its_time_and_nobody_is_told_of_acts_they_may_not_see() {
        let now = Minute::new(0);
        assert_eq!(first(&[car("later", Some(Act::Arrive), 60), car("none", None, 0)], &[], now), None);
    }
}
