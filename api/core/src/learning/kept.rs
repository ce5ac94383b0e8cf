//! Estimates of one moment as JSON, as a quote stores them.

use baywright_domain::learning::{Beliefs, Estimate};
use baywright_domain::menu::Code;
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use crate::platform::fail::{DbError, Fail};

/// Estimate of a step's duration.
#[derive(Serialize, Deserialize)]
struct BeliefForm {
    step: String,
    mean_log: String,
    spread_log: String,
    jobs: usize,
}

/// The text, which [`from_json`] reads.
pub fn to_json(beliefs: &Beliefs) -> Result<String, Fail> {
    let form = |(step, estimate): (&Code, &Estimate)| BeliefForm {
        step: step.to_string(),
        mean_log: estimate.mean_log().to_string(),
        spread_log: estimate.spread_log().to_string(),
        jobs: estimate.jobs(),
    };
    serde_json::to_string(&beliefs.steps().map(form).collect::<Vec<_>>()).map_err(Fail::unexpected)
}

/// The estimates that [`to_json`] wrote.
pub fn from_json(text: &str) -> Result<Beliefs, DbError> {
    let corrupt = |what: &dyn std::fmt::Display| DbError::Corrupt(format!("what was believed: {what}"));
    let forms: Vec<BeliefForm> = serde_json::from_str(text).map_err(|error| corrupt(&error))?;
    let read = |form: BeliefForm| {
        let code = Code::parse(&form.step).map_err(|error| corrupt(&error))?;
        let number = |text: &str| text.parse::<Decimal>().map_err(|error| corrupt(&error));
        Ok((code, Estimate::kept(number(&form.mean_log)?, number(&form.spread_log)?, form.jobs)))
    };
    forms.into_iter().map(read).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const BELIEFS: &str = include_str!("../../../../tests/data/kept/beliefs-1.json");

    #[test]
    fn what_was_believed_is_read_and_written_as_it_was() {
        let beliefs = from_json(BELIEFS).unwrap();
        let jobs: Vec<usize> = beliefs.steps().map(|(_, estimate)| estimate.jobs()).collect();
        assert_eq!(jobs, [3, 12, 0]);
        let kept: serde_json::Value = serde_json::from_str(BELIEFS).unwrap();
        assert_eq!(serde_json::from_str::<serde_json::Value>(&to_json(&beliefs).unwrap()).unwrap(), kept);
    }
}
