//! Why work is not done in time, in sentences with the studio's own names.

use baywright_domain::menu::Code;
use baywright_domain::plan::WorkPlan;
use baywright_domain::schedule::{Hindrance, Reason};
use baywright_domain::time::Minute;

use crate::shop::settings::Settings;
use crate::shop::usecase::Bay;

/// A reason with the names of what it speaks of.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Hindered {
    /// What kind of reason.
    pub kind: Hindrance,
    /// The reason in a sentence.
    pub text: String,
    /// The code of the step that it speaks of.
    pub step: Option<Code>,
    /// The id of the bay that it speaks of.
    pub bay: Option<String>,
    /// Until when it stands in the way; `None` also where that is beyond the time that was looked at.
    pub until: Option<Minute>,
}

/// What the names in a sentence are taken from.
pub(super) struct Names<'a> {
    pub(super) settings: &'a Settings,
    pub(super) work: &'a WorkPlan,
    pub(super) bays: Vec<Bay>,
}

impl Names<'_> {
    /// The reason in a sentence.
    pub(super) fn told(&self, reason: &Reason) -> Hindered {
        let mut told = Hindered { kind: reason.kind(), text: String::new(), step: None, bay: None, until: None };
        told.text = match reason {
            Reason::NoBay => {
                format!("No bay in use has all that the work needs: {}.", list(&self.work.features))
            }
            Reason::NobodyAble { step } => {
                let (name, skills) = self.step(&mut told, *step);
                format!("Nobody has all skills for {name}: {skills}.")
            }
            Reason::Away { step, from } => {
                told.until = *from;
                let (name, skills) = self.step(&mut told, *step);
                format!("Nobody who can do {name} ({skills}) is at work {}.", self.before(*from))
            }
            Reason::TooLong { soonest } => {
                told.until = *soonest;
                match soonest {
                    Some(at) => format!(
                        "Even with nothing else booked the work would be done {} at the earliest.",
                        self.settings.wall(*at)
                    ),
                    None => "Even with nothing else booked the opening hours leave no room for the work.".to_owned(),
                }
            }
            Reason::BayHeld { bay, until } => {
                told.until = *until;
                told.bay = Some(bay.clone());
                let name = self
                    .bays
                    .iter()
                    .find(|one| one.id.as_str() == bay)
                    .map_or(bay.as_str(), |one| one.details.name.as_str());
                format!("{name} is not free for long enough {}.", self.before(*until))
            }
            Reason::Busy { step, until } => {
                told.until = *until;
                let (name, skills) = self.step(&mut told, *step);
                format!("Everyone who can do {name} ({skills}) has other work {}.", self.until(*until))
            }
            Reason::Crowded => "Bays and people are free at times, and never long enough at the same time.".to_owned(),
        };
        told
    }

    /// The step's name and the skills it asks for, in words; notes the step.
    fn step(&self, told: &mut Hindered, place: usize) -> (String, String) {
        let Some(step) = self.work.steps.get(place) else { return (String::new(), String::new()) };
        told.step = Some(step.code.clone());
        let skills = if step.skills.is_empty() { "no special skill".to_owned() } else { list(&step.skills) };
        (step.name.clone(), skills)
    }

    fn before(&self, at: Option<Minute>) -> String {
        at.map_or_else(
            || "in the time that was looked at".to_owned(),
            |at| format!("before {}", self.settings.wall(at)),
        )
    }

    fn until(&self, at: Option<Minute>) -> String {
        at.map_or_else(
            || "all the time that was looked at".to_owned(),
            |at| format!("until {}", self.settings.wall(at)),
        )
    }
}

fn list(codes: &[Code]) -> String {
    codes.iter().map(Code::as_str).collect::<Vec<_>>().join(", ")
}
