//! The stage of the job at which an inspection is made, and its states.

use crate::life::life;
use crate::word::words;

words! {
    /// Stage of a job at which the car is inspected.
    pub enum InspectionStage("inspection stage") {
        /// The walk-round before any work.
        BeforeWork = "BEFORE_WORK" "before work",
        /// Once the paint is clean, which shows what dirt hid.
        AfterWash = "AFTER_WASH" "after the wash",
        /// Before the car is handed over.
        Final = "FINAL" "final",
    }
}

words! {
    /// State of an inspection.
    pub enum InspectionState("inspection state") {
        /// Being written down.
        Draft = "DRAFT" "a draft",
        /// Complete; it is never changed again.
        Completed = "COMPLETED" "completed",
    }
}

words! {
    /// Moves of an inspection.
    pub enum InspectionMove("inspection move") {
        /// Add or change findings.
        Change = "CHANGE" "changed",
        /// Complete it.
        Complete = "COMPLETE" "completed",
    }
}

life!(InspectionState, InspectionMove, "inspection", [(Draft, Change, Draft), (Draft, Complete, Completed)]);

impl InspectionState {
    fn hint(self, _wanted: InspectionMove) -> &'static str {
        match self {
            Self::Completed => "; make another inspection of the vehicle",
            Self::Draft => "",
        }
    }
}

#[cfg(test)]
mod tests {
    use alloc::string::ToString;

    use super::*;

    #[test]
    fn what_was_found_is_final_once_completed() {
        let completed = InspectionState::Draft.go(InspectionMove::Complete).unwrap();
        assert!(completed.is_end());
        for wanted in InspectionMove::ALL {
            let refusal = completed.go(*wanted).unwrap_err().to_string();
            assert!(refusal.contains("make another inspection"), "{refusal}");
        }
    }
}
