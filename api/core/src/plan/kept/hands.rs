//! The stored plan for another number of people.

use baywright_domain::plan::Hands;

use super::PlanForm;
use crate::platform::fail::DbError;

impl PlanForm {
    /// The stored plan, which is for one person, as that number of people do it. Two only if a step allows them. The
    /// steps keep their order; the front is that of two people.
    ///
    /// # Errors
    /// If it contains something that this program can't have written.
    pub fn with(self, hands: Hands) -> Result<Self, DbError> {
        if hands == Hands::One {
            return Ok(self);
        }
        let work = self.read()?.with(hands);
        let plan = Self::believed(&work, self.outlook_of_two.clone());
        let front = self.front_of_two.clone().or(plan.front);
        Ok(Self { front, front_of_two: self.front_of_two, outlook_of_two: self.outlook_of_two, ..plan })
    }
}
