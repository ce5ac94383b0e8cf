//! The kept plan as another number of hands does it.

use baywright_domain::plan::Hands;

use super::PlanForm;
use crate::http::wire::Word;
use crate::platform::fail::DbError;

/// A number of pairs of hands, as it travels.
pub type HandsWord = Word<Hands>;

impl PlanForm {
    /// The plan, kept for one pair of hands, as so many do it. Two only where a step allows them.
    ///
    /// # Errors
    /// Where it holds what this program can't have written.
    pub fn with(self, hands: Hands) -> Result<Self, DbError> {
        if hands == Hands::One {
            return Ok(self);
        }
        let work = self.read()?.with(hands);
        Ok(Self::believed(&work, self.outlook_of_two.clone(), self.outlook_of_two))
    }
}
