//! Reads what a supposition needs, in one transaction that only reads.

use std::collections::BTreeSet;

use baywright_domain::calendar::{DayHours, DayOfWeek, Weekly, Zone};
use baywright_domain::id::{BayId, PersonId};
use baywright_domain::menu::Code;
use baywright_domain::what_if::Supposed;

use super::{Asked, Question, Supposition};
use crate::booking::usecase::{self as booking, Overrun};
use crate::people::usecase::Person;
use crate::platform::fail::Done;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::rescheduling::usecase::Names;
use crate::shop::usecase::ClosureDetails;
use crate::{people, shop, variation};

/// Reason of a closure that is only supposed.
const ONLY_SUPPOSED: &str = "as supposed";

/// Reads the booked cars, and the shop's time as it is and as supposed.
///
/// # Errors
/// `Invalid` if it names no bay or person of the shop, or a variation that is answered already; `NotFound` or `Conflict`
/// of the variation.
pub fn ask(tx: &mut Tx<'_>, question: &Question) -> Done<Asked> {
    let zone = Zone::named(&tx.studio.zone)?;
    let with_work = match &question.supposition {
        Supposition::Variation(id) => Some(variation::usecase::done_with(tx, id)?),
        _ => None,
    };
    let overrun = with_work.as_ref().filter(|work| work.finish > work.booked);
    let overrun = overrun.map(|work| Overrun { booking: work.booking.clone(), finish: work.finish });
    let of_variation = |pointer: &str| match pointer.strip_prefix("/overruns/0") {
        Some(_) => "/variation_id".to_owned(),
        None => pointer.to_owned(),
    };
    let days =
        booking::booked_days(tx, question.days, overrun.as_ref()).map_err(|fail| fail.repointed(of_variation))?;
    let place: Vec<_> = days.longer.iter().map(|(_, place)| place.clone()).collect();
    let mut names = Names::read(tx, &place, days.time.horizon.span())?;
    let change = supposed(tx, &question.supposition, &mut names)?;
    let supposed = match days.longer {
        Some((time, _)) => time,
        None => change.applied(&days.time, &zone),
    };
    let (bookings, cars): (Vec<_>, Vec<_>) = days.cars.into_iter().unzip();
    for booking in &bookings {
        names.booked(booking);
    }
    Ok(Asked {
        now: days.time,
        supposed,
        gives_time: change.gives_time(),
        from: tx.now.minute(),
        zone,
        bookings,
        cars,
        finish: with_work.map(|work| work.finish),
        names,
    })
}

/// The supposition as the rules know it. An absence or a closure is noted among those that reasons name.
fn supposed(tx: &mut Tx<'_>, supposition: &Supposition, names: &mut Names) -> Done<Supposed> {
    Ok(match supposition {
        Supposition::Absence { person, away } => {
            let person = person_of(tx, person, "/absence/person_id")?;
            names.suppose_absence(&person.id, *away);
            Supposed::Absence { person: person.id.to_string(), shifts: weekly(&person.details.shifts), away: *away }
        }
        Supposition::Closure { bay, dates } => {
            known_bay(tx, bay.as_ref(), "/closure/bay_id")?;
            let details = ClosureDetails { bay: bay.clone(), dates: *dates, reason: ONLY_SUPPOSED.to_owned() };
            names.suppose_closure(details);
            let weekly = weekly(&shop::usecase::week(tx)?.hours);
            Supposed::Closure { bay: bay.as_ref().map(ToString::to_string), weekly, dates: *dates }
        }
        Supposition::Hours { bay, people, dates, hours } => {
            known_bay(tx, bay.as_ref(), "/hours/bay_id")?;
            for (at, person) in people.iter().enumerate() {
                person_of(tx, person, &format!("/hours/person_ids/{at}"))?;
            }
            Supposed::Hours {
                bay: bay.as_ref().map(ToString::to_string),
                people: people.iter().map(ToString::to_string).collect(),
                dates: *dates,
                hours: *hours,
            }
        }
        Supposition::Bay { features } => Supposed::Bay { features: texts(features) },
        Supposition::Person { skills } => Supposed::Person { skills: texts(skills) },
        Supposition::Variation(_) => Supposed::Nothing,
    })
}

fn weekly(hours: &[(DayOfWeek, DayHours)]) -> Weekly {
    hours.iter().fold(Weekly::new(), |week, (day, hours)| week.with((*day).into(), *hours))
}

fn texts(codes: &BTreeSet<Code>) -> BTreeSet<String> {
    codes.iter().map(|code| code.as_str().to_owned()).collect()
}

fn person_of(tx: &mut Tx<'_>, id: &PersonId, pointer: &str) -> Done<Person> {
    let found = people::usecase::everyone(tx)?.into_iter().find(|person| person.id == *id);
    let works = found.filter(|person| person.active && !person.details.shifts.is_empty());
    let detail = "Choose somebody who works on cars in this studio.";
    Ok(works.ok_or_else(|| Refused::field(pointer, "unknown", detail))?)
}

fn known_bay(tx: &mut Tx<'_>, id: Option<&BayId>, pointer: &str) -> Done<()> {
    let Some(id) = id else { return Ok(()) };
    if shop::usecase::bays(tx)?.iter().any(|bay| bay.id == *id) {
        return Ok(());
    }
    Err(Refused::field(pointer, "unknown", "The shop has no such bay.").into())
}
