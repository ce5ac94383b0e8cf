//! A menu with its factors as canonical JSON: a quote's revision stores it, so that it can be priced and planned again
//! exactly as it was.

use baywright_domain::document::Prices;
use baywright_domain::inspection::ByCondition;
use baywright_domain::menu::{ChangeoverRates, Factors, Menu};
use baywright_domain::money::Currency;
use baywright_domain::time::Minutes;
use baywright_domain::vehicle::BySize;
use serde::{Deserialize, Serialize};

use super::{MenuForm, Numbers};
use crate::platform::canonical::canonical;
use crate::platform::fail::{DbError, Fail};
use crate::platform::kept::{Amount, Number, Word};

#[derive(Serialize, Deserialize)]
struct FrozenForm {
    currency: String,
    // Frozen menus that do not state their tax basis have the basis of the revision that was in force then.
    #[serde(default)]
    prices: Option<Word<Prices>>,
    factors: FactorsForm,
    changeovers: ChangeoversForm,
    menu: MenuForm,
}

#[derive(Serialize, Deserialize)]
struct FactorsForm {
    size: BySizeForm,
    condition: ByConditionForm,
    labour_rate: Amount,
    price_step: Amount,
}

#[derive(Serialize, Deserialize)]
struct BySizeForm {
    small: Number,
    medium: Number,
    large: Number,
    extra_large: Number,
}

#[derive(Serialize, Deserialize)]
struct ByConditionForm {
    light: Number,
    fair: Number,
    heavy: Number,
    severe: Number,
}

#[derive(Serialize, Deserialize)]
#[allow(clippy::struct_field_names, reason = "times say their unit wherever they are written down")]
struct ChangeoversForm {
    wet_dry_minutes: u32,
    outside_inside_minutes: u32,
    zone_minutes: u32,
    tool_out_minutes: u32,
    tool_away_minutes: u32,
    mask_on_minutes: u32,
    mask_off_minutes: u32,
    clean_up_minutes: u32,
}

impl ChangeoversForm {
    fn read(&self) -> ChangeoverRates {
        ChangeoverRates {
            wet_dry: Minutes::new(self.wet_dry_minutes),
            outside_inside: Minutes::new(self.outside_inside_minutes),
            zone: Minutes::new(self.zone_minutes),
            tool_out: Minutes::new(self.tool_out_minutes),
            tool_away: Minutes::new(self.tool_away_minutes),
            mask_on: Minutes::new(self.mask_on_minutes),
            mask_off: Minutes::new(self.mask_off_minutes),
            clean_up: Minutes::new(self.clean_up_minutes),
        }
    }

    fn of(rates: &ChangeoverRates) -> Self {
        Self {
            wet_dry_minutes: rates.wet_dry.get(),
            outside_inside_minutes: rates.outside_inside.get(),
            zone_minutes: rates.zone.get(),
            tool_out_minutes: rates.tool_out.get(),
            tool_away_minutes: rates.tool_away.get(),
            mask_on_minutes: rates.mask_on.get(),
            mask_off_minutes: rates.mask_off.get(),
            clean_up_minutes: rates.clean_up.get(),
        }
    }
}

/// The menu with its factors as canonical JSON (RFC 8785); [`from_json`] reads it back.
///
/// # Errors
/// If it has no canonical form, which every menu of the program has.
pub fn to_json(menu: &Menu, currency: Currency) -> Result<String, Fail> {
    let size = &menu.factors.size;
    let condition = &menu.factors.condition;
    let form = FrozenForm {
        currency: currency.code().to_owned(),
        prices: Some(Word(menu.prices)),
        factors: FactorsForm {
            size: BySizeForm {
                small: Number(size.small),
                medium: Number(size.medium),
                large: Number(size.large),
                extra_large: Number(size.extra_large),
            },
            condition: ByConditionForm {
                light: Number(condition.light),
                fair: Number(condition.fair),
                heavy: Number(condition.heavy),
                severe: Number(condition.severe),
            },
            labour_rate: Amount::of(menu.factors.labour_rate, currency),
            price_step: Amount::of(menu.factors.price_step, currency),
        },
        changeovers: ChangeoversForm::of(&menu.changeovers),
        menu: MenuForm::of(menu, currency),
    };
    let value = serde_json::to_value(form).map_err(Fail::unexpected)?;
    canonical(&value).map_err(Fail::unexpected)
}

/// The menu that [`to_json`] froze; `basis` is the tax basis of its prices if the text does not state it.
///
/// # Errors
/// If the text was not written by this program.
pub fn from_json(text: &str, basis: Prices) -> Result<Menu, Fail> {
    let corrupt = |what: &dyn std::fmt::Display| Fail::Db(DbError::Corrupt(format!("a frozen menu: {what}")));
    let form: FrozenForm = serde_json::from_str(text).map_err(|error| corrupt(&error))?;
    let currency = Currency::of(&form.currency).ok_or_else(|| corrupt(&form.currency))?;
    let FactorsForm { size, condition, labour_rate, price_step } = form.factors;
    let factors = Factors {
        size: BySize {
            small: size.small.0,
            medium: size.medium.0,
            large: size.large.0,
            extra_large: size.extra_large.0,
        },
        condition: ByCondition {
            light: condition.light.0,
            fair: condition.fair.0,
            heavy: condition.heavy.0,
            severe: condition.severe.0,
        },
        labour_rate: labour_rate.money(currency).map_err(|error| corrupt(&error))?,
        price_step: price_step.money(currency).map_err(|error| corrupt(&error))?,
    };
    let prices = form.prices.map_or(basis, |word| word.0);
    let numbers = Numbers { factors, changeovers: form.changeovers.read(), currency, prices };
    form.menu.read(&numbers).map_err(|error| corrupt(&error))
}
