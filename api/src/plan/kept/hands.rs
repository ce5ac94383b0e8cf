//! The kept plan as another number of hands does it.

use baywright_domain::plan::Hands;

use super::PlanForm;
use crate::platform::fail::DbError;

impl PlanForm {
    /// The plan, kept for one person, as so many do it. Two only if a step allows them.
    ///
    /// # Errors
    /// If it holds what this program can't have written.
    pub fn with(self, hands: Hands) -> Result<Self, DbError> {
        if hands == Hands::One {
            return Ok(self);
        }
        let work = self.read()?.with(hands);
        Ok(Self::believed(&work, self.outlook_of_two.clone(), self.outlook_of_two))
    }
}
