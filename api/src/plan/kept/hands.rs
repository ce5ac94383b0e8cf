//! The stored plan for another number of people.

use baywright_domain::plan::Hands;

use super::PlanForm;
use crate::platform::fail::DbError;

impl PlanForm {
    /// The stored plan, which is for one person, as that number of people do it. Two only if a step allows them.
    ///
    /// # Errors
    /// If it contains something that this program can't have written.
    pub fn with(self, hands: Hands) -> Result<Self, DbError> {
        if hands == Hands::One {
            return Ok(self);
        }
        let work = self.read()?.with(hands);
        Ok(Self::believed(&work, self.outlook_of_two.clone(), self.outlook_of_two))
    }
}
