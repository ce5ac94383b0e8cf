//! `mix`: product and water of a mix.

use baywright_domain::mixing::Ratio;
use serde::{Deserialize, Serialize};
use serde_json::Value;

use super::Answer;
use super::read::{at, decimal};

/// A ratio as its label states it, and how many millilitres are wanted, as a number or as text.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Case {
    ratio: String,
    total_ml: Value,
}

/// Millilitres of each.
#[derive(Serialize)]
pub struct Mixed {
    product_ml: String,
    water_ml: String,
}

/// Makes the mix.
pub fn answer(case: Case) -> Answer<Mixed> {
    let ratio = Ratio::parse(&case.ratio).map_err(at("ratio"))?;
    let total = match &case.total_ml {
        Value::String(text) => decimal(text, "total_ml")?,
        Value::Number(number) => decimal(&number.to_string(), "total_ml")?,
        _ => return Err("total_ml: give the millilitres as a number".into()),
    };
    let mixed = ratio.make(total).map_err(at("total_ml"))?;
    Ok(Mixed { product_ml: mixed.product_ml.to_string(), water_ml: mixed.water_ml.to_string() })
}
