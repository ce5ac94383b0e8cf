//! Lessons from a job once its car is ready: the actual time of each of its steps.

use baywright_domain::job::StepState;
use baywright_domain::learning::Lesson;
use baywright_domain::menu::Menu;
use baywright_domain::plan::Hands;
use baywright_domain::time::Minutes;
use baywright_domain::vehicle::Car;
use rust_decimal::Decimal;

use super::Job;
use crate::platform::fail::Done;
use crate::platform::tx::Tx;
use crate::{learning, plan};

/// Stores the actual time of each finished step of a job that is ready. Steps without a budget give no lesson.
pub(super) fn learn(tx: &mut Tx<'_>, job: &Job, menu: &Menu, car: Car) -> Done<()> {
    let plan = plan::usecase::show(tx, &job.plan)?.work()?.with(job.booking.hands);
    for step in job.steps.iter().filter(|step| step.step.state == StepState::Finished && step.budget > Minutes::ZERO) {
        // A step that was done but is missing from a later plan no longer belongs to a service.
        let planned = plan.steps.iter().find(|planned| planned.code == step.step.code);
        let now = tx.now.datetime();
        let (attended, all) = (step.step.attended(now), step.step.of_all_hands(now));
        // A step counts as done by two people if two worked on it for most of the time and the menu allows two for it;
        // otherwise their minutes are added up. Two people who were booked count as present, though only one of them
        // may have run the clock.
        let allowed = menu.step(&step.step.code).is_some_and(|known| known.two_hands.is_some());
        let booked = planned.is_some_and(|planned| planned.hands == Hands::Two);
        let two = allowed && (booked || all.get() > attended.get().saturating_mul(3) / 2);
        let lesson = Lesson {
            step: step.step.code.clone(),
            services: planned.map(|planned| planned.services.clone()).unwrap_or_default(),
            size: car.size,
            condition: car.condition,
            hands: if two { Hands::Two } else { Hands::One },
            quantity: planned.map_or(Decimal::ONE, |planned| planned.budget.quantity),
            actual: if allowed { attended } else { all },
        };
        learning::usecase::keep(tx, &job.id, &lesson)?;
    }
    Ok(())
}
