//! The kept plan as another number of hands does it.

use baywright_domain::plan::Hands;

use super::PlanForm;
use crate::platform::fail::DbError;

impl PlanForm {
    /// The plan, kept for one pair of hands, as so many do it. Two only where a step allows them. The steps keep their order;
    /// the front is that of two.
    ///
    /// # Errors
    /// Where it holds what this program can't have written.
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
