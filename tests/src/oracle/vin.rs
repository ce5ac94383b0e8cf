//! `vin`: form and check digit of a vehicle identification number.

use baywright_domain::vehicle::{Market, Vin, check_digit};
use serde::{Deserialize, Serialize};

use super::Answer;

/// A number as it was typed, and for which market; North America, where the check digit is compulsory, if not said.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Case {
    vin: String,
    market: Option<String>,
}

/// Whether the number is right, the check digit that its characters ask for, and what is wrong or odd with it.
#[derive(Serialize)]
pub struct Verdict {
    ok: bool,
    check_digit: Option<char>,
    reason: Option<String>,
}

/// Judges the number.
pub fn answer(case: Case) -> Answer<Verdict> {
    let market = case.market.map_or(Ok(Market::NorthAmerica), |word| Market::parse(&word));
    let market = market.map_err(|unknown| unknown.to_string())?;
    let check_digit = Vin::form(&case.vin).and_then(|vin| check_digit(vin.as_str())).ok();
    Ok(match Vin::parse(&case.vin, market) {
        Ok((_, warning)) => Verdict { ok: true, check_digit, reason: warning.map(|warning| warning.to_string()) },
        Err(refusal) => Verdict { ok: false, check_digit, reason: Some(refusal.to_string()) },
    })
}
