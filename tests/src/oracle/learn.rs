//! `learn`: what ratios of actual minutes to budget teach of one step; `outlook`: of several steps together.

use baywright_domain::learning::{Estimate, Part, Prior, Quantile, Ratio, estimate, total};
use baywright_domain::time::Minutes;
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use super::Answer;
use super::read::{at, decimal};

/// For how many jobs the budget counts, how far jobs usually are from it, and what the clocks said.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Case {
    prior_strength: String,
    prior_spread: Option<String>,
    ratios: Vec<String>,
}

/// What is believed of the next job.
#[derive(Serialize)]
pub struct Believed {
    mean_log: String,
    median_factor: String,
    p80_factor: String,
    learned_from: usize,
}

/// Learns from the ratios that are no outliers.
pub fn answer(case: Case) -> Answer<Believed> {
    let prior = prior(&case.prior_strength, case.prior_spread.as_deref())?;
    let believed = believed(prior, &case.ratios, "ratios")?;
    Ok(Believed {
        mean_log: believed.mean_log().to_string(),
        median_factor: believed.median_factor().to_string(),
        p80_factor: believed.factor_at(Quantile::USUAL).to_string(),
        learned_from: believed.jobs(),
    })
}

/// Steps with their budgets, and how sure the promise is.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Plan {
    prior_strength: String,
    prior_spread: Option<String>,
    percent: u8,
    steps: Vec<Step>,
}

/// A step.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Step {
    minutes: u32,
    ratios: Vec<String>,
}

/// Minutes of all steps together.
#[derive(Serialize)]
pub struct Outlook {
    median: u32,
    promised: u32,
}

/// Learns each step and adds them up.
pub fn answer_outlook(plan: Plan) -> Answer<Outlook> {
    let prior = prior(&plan.prior_strength, plan.prior_spread.as_deref())?;
    let quantile = Quantile::new(plan.percent).map_err(at("percent"))?;
    let part = |(place, step): (usize, &Step)| {
        let estimate = believed(prior, &step.ratios, &format!("steps/{place}/ratios"))?;
        Ok(Part { budget: Minutes::new(step.minutes), estimate })
    };
    let parts = plan.steps.iter().enumerate().map(part).collect::<Answer<Vec<Part>>>()?;
    let all = total(parts).ok_or("steps: give one that takes time")?;
    Ok(Outlook { median: all.median().get(), promised: all.minutes_at(quantile).get() })
}

fn prior(strength: &str, spread: Option<&str>) -> Answer<Prior> {
    let strength = decimal(strength, "prior_strength")?;
    let spread = spread.map_or(Ok(Prior::USUAL.spread()), |text| decimal(text, "prior_spread"))?;
    Prior::new(strength, spread).map_err(at("prior"))
}

fn believed(prior: Prior, ratios: &[String], place: &str) -> Answer<Estimate> {
    let ratio = |text: &String| {
        let ratio: Decimal = decimal(text, place)?;
        Ratio::new(ratio).map_err(at(place))
    };
    let ratios = ratios.iter().map(ratio).collect::<Answer<Vec<Ratio>>>()?;
    Ok(estimate(prior, ratios.into_iter().filter_map(|ratio| ratio.learn().ok())))
}
