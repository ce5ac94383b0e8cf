//! Work that removes paint, such as sanding or compounding, on a car whose readings need the owner's decision.

use alloc::borrow::ToOwned;
use alloc::format;
use alloc::string::String;
use alloc::vec::Vec;

use super::{OwnerDecision, PaintOutcome, PaintRefusal, PaintWarning, may_sand};
use crate::refusal::{Kind, Refusal};

/// Stage at which the work is checked; it decides the alternatives.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WorkStage {
    /// Before it is offered to the customer.
    Offered,
    /// Before it begins on the car.
    Begun,
}

impl WorkStage {
    /// Way to leave the work out at that stage.
    const fn instead(self) -> &'static str {
        match self {
            Self::Offered => "leave the work out",
            Self::Begun => "remove the step",
        }
    }
}

/// Refusal of work that removes paint.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{work} takes paint away, and {why} {todo}")]
pub struct PaintInTheWay {
    /// The name of the work: a line of the quote, or a step.
    work: String,
    /// Sentences on the readings and the owner's decision.
    why: PaintRefusal,
    /// Next step.
    todo: String,
}

impl Refusal for PaintInTheWay {
    fn kind(&self) -> Kind {
        Kind::Conflict
    }

    fn code(&self) -> &'static str {
        self.why.code()
    }
}

/// Refuses work that removes paint if readings are thin, thick or too few and the owner has not decided that it may go
/// ahead.
///
/// # Errors
/// [`PaintInTheWay`] with the panels, their readings, the lower limit, and what to do.
pub fn may_take_paint(
    work: &str,
    stage: WorkStage,
    outcome: &PaintOutcome,
    decision: Option<&OwnerDecision>,
) -> Result<(), PaintInTheWay> {
    let refused = |why: PaintRefusal| {
        let instead = stage.instead();
        let todo = match why {
            PaintRefusal::DecidedAgainst(_) => format!("({instead}, or ask the owner to decide again)"),
            _ => format!("Have the owner's decision recorded on the inspection, or {instead}."),
        };
        PaintInTheWay { work: work.to_owned(), why, todo }
    };
    may_sand(outcome, decision).map_err(refused)
}

/// Text for the customer about readings beyond the limits on which the owner decided that work goes ahead: one sentence
/// for each warning, with panel and reading; empty if nothing had to be decided, or if there were only too few
/// readings.
pub fn decided_cautions(outcome: &PaintOutcome, decision: Option<&OwnerDecision>) -> Vec<String> {
    match decision {
        Some(made) if made.go_ahead => {
            let told =
                |warning| format!("{warning} The owner of the studio has decided that we can still work on the paint.");
            let minded = outcome.warnings.iter().filter(|warning| !matches!(warning, PaintWarning::FewReadings { .. }));
            minded.map(told).collect()
        }
        _ => Vec::new(),
    }
}

#[cfg(test)]
mod tests {
    use alloc::string::ToString;
    use alloc::vec;

    use chrono::DateTime;

    use super::super::{PaintPolicy, Panel, PanelReadings, compare};
    use super::*;
    use crate::id::PersonId;
    use crate::people::Role;

    fn bonnet(readings: &[u16]) -> PaintOutcome {
        let read = PanelReadings { panel: Panel::Bonnet, readings: readings.to_vec() };
        compare(&[read], &[], PaintPolicy { floor: 100, ..PaintPolicy::USUAL }).unwrap()
    }

    fn owner(go_ahead: bool) -> OwnerDecision {
        let at = DateTime::from_timestamp(0, 0).unwrap();
        OwnerDecision { who: PersonId::new("p"), role: Role::Owner, go_ahead, reason: "by hand.".into(), at }
    }

    #[test]
    fn work_on_thin_paint_needs_the_owner_and_the_no_says_panel_reading_floor_and_what_to_do() {
        let thin = bonnet(&[60, 120, 125]);
        let refusal = may_take_paint("Two-step correction", WorkStage::Offered, &thin, None).unwrap_err();
        assert_eq!((refusal.kind(), refusal.code()), (Kind::Conflict, "owner-decision-needed"));
        assert_eq!(
            refusal.to_string(),
            "Two-step correction takes paint away, and the owner has to decide first, and say why: Thin: bonnet reads \
             60 µm, below the studio's floor of 100 µm. Have the owner's decision recorded on the inspection, or leave \
             the work out."
        );
        let refusal = may_take_paint("Compound", WorkStage::Begun, &thin, None).unwrap_err().to_string();
        assert!(refusal.ends_with("or remove the step."), "{refusal}");
        let against = may_take_paint("Compound", WorkStage::Begun, &thin, Some(&owner(false))).unwrap_err();
        assert_eq!(against.code(), "owner-decided-against");
        assert!(against.to_string().contains("decided against it: by hand."), "{against}");
        assert_eq!(may_take_paint("Compound", WorkStage::Begun, &thin, Some(&owner(true))), Ok(()));
        assert_eq!(may_take_paint("Compound", WorkStage::Begun, &bonnet(&[120, 121, 122]), None), Ok(()));
    }

    #[test]
    fn the_customer_reads_panel_and_reading_where_the_owner_decided_to_go_on() {
        let thin = bonnet(&[60, 120, 125]);
        let told = vec![
            "Thin: bonnet reads 60 µm, below the studio's floor of 100 µm. The owner of the studio has decided that we \
             can still work on the paint."
                .to_string(),
        ];
        assert_eq!(decided_cautions(&thin, Some(&owner(true))), told);
        assert!(decided_cautions(&thin, Some(&owner(false))).is_empty());
        assert!(decided_cautions(&thin, None).is_empty());
        assert!(decided_cautions(&bonnet(&[120, 121, 122]), Some(&owner(true))).is_empty());
    }
}
