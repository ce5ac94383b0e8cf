//! Rates over HTTP.

use actix_web::{get, put};
use baywright_domain::inspection::ByCondition;
use baywright_domain::menu::{ChangeoverRates, Factors};
use baywright_domain::money::Currency;
use baywright_domain::tax;
use baywright_domain::time::Minutes;
use baywright_domain::vehicle::BySize;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::{BasisWord, PricesWord, RoundingWord};
use crate::menu;
use crate::platform::answer::{Answer, item};
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::clock::UtcTime;
use crate::platform::etag::{IfMatch, IfNoneMatch};
use crate::platform::identity::{Accounts, Owner};
use crate::platform::problem::Problem;
use crate::platform::wire::{Amount, Instant, Number, Whole, Word};
use crate::shop::usecase::{self, Rates};

/// What a shop charges and what budgets are made with.
#[derive(Debug, Clone, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RatesBody {
    /// Whether private customers see prices with tax (`GROSS`) or without (`NET`). The menu's prices have the same basis,
    /// so once there is a menu this changes only through `POST /v1/menu/price-basis`, which converts them.
    private_prices: PricesWord,
    /// Whether trade customers see prices with tax or without.
    trade_prices: PricesWord,
    /// What tax is computed on before it is rounded.
    tax_basis: BasisWord,
    /// What happens to a fraction of a minor unit of tax.
    tax_rounding: RoundingWord,
    /// Price of an hour of one pair of hands, with tax or without as `private_prices` says.
    labour_rate: Amount,
    /// Prices are rounded up to a whole number of these.
    price_step: Amount,
    /// How budgets and amounts grow with the vehicle's size.
    size_factors: SizeFactors,
    /// How budgets and prices grow with the vehicle's condition.
    condition_factors: ConditionFactors,
    /// Minutes lost between two steps, by what has to change.
    changeovers: ChangeoverBody,
}

/// A factor for each size class; above 0 and at most 10.
#[derive(Debug, Clone, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SizeFactors {
    /// A city car or a two-seater.
    small: Number,
    /// A compact or a saloon.
    medium: Number,
    /// An estate, a large saloon or a sport utility.
    large: Number,
    /// A van, a pick-up or a large people carrier.
    extra_large: Number,
}

/// A factor for each condition class; above 0 and at most 10.
#[derive(Debug, Clone, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ConditionFactors {
    /// Cared for.
    light: Number,
    /// In ordinary use.
    fair: Number,
    /// Neglected or worn.
    heavy: Number,
    /// The worst that is still taken on.
    severe: Number,
}

/// Minutes that changeovers cost; they add up.
#[derive(Debug, Clone, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[allow(clippy::struct_field_names, reason = "the API says the unit in each name")]
pub struct ChangeoverBody {
    /// From wet work to dry work, or back.
    wet_dry_minutes: Whole<0, 240>,
    /// From outside the car to inside, or back.
    outside_inside_minutes: Whole<0, 240>,
    /// From one zone of the car to another.
    zone_minutes: Whole<0, 240>,
    /// Taking a tool out.
    tool_out_minutes: Whole<0, 240>,
    /// Putting a tool away.
    tool_away_minutes: Whole<0, 240>,
    /// Masking.
    mask_on_minutes: Whole<0, 240>,
    /// Taking masking off.
    mask_off_minutes: Whole<0, 240>,
    /// Washing hands and tools between dirty and clean products.
    clean_up_minutes: Whole<0, 240>,
}

/// A shop's rates.
#[derive(Debug, Serialize, ToSchema)]
pub struct RatesView {
    /// Counts the changes; the same as the ETag.
    #[schema(minimum = 1)]
    version: i64,
    /// The rates.
    #[serde(flatten)]
    rates: RatesBody,
    /// When they last changed.
    updated_at: Instant,
}

crate::versioned!(RatesView);

impl RatesBody {
    fn rates(&self, currency: Currency) -> Result<Rates, Problem> {
        let (size, condition, changeovers) = (&self.size_factors, &self.condition_factors, &self.changeovers);
        let minutes = |number: Whole<0, 240>| Minutes::new(number.get());
        Ok(Rates {
            private_prices: self.private_prices.0,
            trade_prices: self.trade_prices.0,
            tax_profile: tax::Profile { basis: self.tax_basis.0, rounding: self.tax_rounding.0 },
            factors: Factors {
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
                labour_rate: self.labour_rate.positive(currency, "/labour_rate")?,
                price_step: self.price_step.positive(currency, "/price_step")?,
            },
            changeovers: ChangeoverRates {
                wet_dry: minutes(changeovers.wet_dry_minutes),
                outside_inside: minutes(changeovers.outside_inside_minutes),
                zone: minutes(changeovers.zone_minutes),
                tool_out: minutes(changeovers.tool_out_minutes),
                tool_away: minutes(changeovers.tool_away_minutes),
                mask_on: minutes(changeovers.mask_on_minutes),
                mask_off: minutes(changeovers.mask_off_minutes),
                clean_up: minutes(changeovers.clean_up_minutes),
            },
            version: 0,
        })
    }

    fn of(rates: &Rates, currency: Currency) -> Self {
        let (size, condition, changeovers) = (&rates.factors.size, &rates.factors.condition, &rates.changeovers);
        let minutes = |minutes: Minutes| Whole::of(minutes.get());
        Self {
            private_prices: Word(rates.private_prices),
            trade_prices: Word(rates.trade_prices),
            tax_basis: Word(rates.tax_profile.basis),
            tax_rounding: Word(rates.tax_profile.rounding),
            labour_rate: Amount::of(rates.factors.labour_rate, currency),
            price_step: Amount::of(rates.factors.price_step, currency),
            size_factors: SizeFactors {
                small: Number(size.small),
                medium: Number(size.medium),
                large: Number(size.large),
                extra_large: Number(size.extra_large),
            },
            condition_factors: ConditionFactors {
                light: Number(condition.light),
                fair: Number(condition.fair),
                heavy: Number(condition.heavy),
                severe: Number(condition.severe),
            },
            changeovers: ChangeoverBody {
                wet_dry_minutes: minutes(changeovers.wet_dry),
                outside_inside_minutes: minutes(changeovers.outside_inside),
                zone_minutes: minutes(changeovers.zone),
                tool_out_minutes: minutes(changeovers.tool_out),
                tool_away_minutes: minutes(changeovers.tool_away),
                mask_on_minutes: minutes(changeovers.mask_on),
                mask_off_minutes: minutes(changeovers.mask_off),
                clean_up_minutes: minutes(changeovers.clean_up),
            },
        }
    }
}

fn view((rates, updated_at): (Rates, UtcTime), currency: Currency) -> RatesView {
    RatesView { version: rates.version, rates: RatesBody::of(&rates, currency), updated_at: Instant(updated_at) }
}

/// Read the rates.
///
/// Labour rate, price step, factors, changeovers, and how prices and tax are reckoned.
#[utoipa::path(tag = "shop",
    responses((status = 200, description = "The rates.", body = RatesView), (status = 304, description = "Unchanged.")))]
#[get("/v1/rates")]
pub(super) async fn show(call: Call<Accounts>, known: IfNoneMatch) -> Answer {
    let rates = call.read(|tx| Ok(view(usecase::rates(tx)?, tx.studio.currency))).await?;
    Ok(item(&rates, &known))
}

/// Replace the rates.
///
/// Quotes and documents already made keep the rates they were made with.
#[utoipa::path(tag = "shop", request_body = RatesBody, extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The rates as they now stand.", body = RatesView),
        (status = 409, description = "`private_prices` would change, and the shop has a menu.")))]
#[put("/v1/rates")]
pub(super) async fn replace(call: Call<Owner>, seen: IfMatch, body: Body<RatesBody>) -> Answer {
    let body = body.value;
    call.change(move |tx| {
        let rates = body.rates(tx.studio.currency)?;
        Ok(view(menu::usecase::replace_rates(tx, seen, &rates)?, tx.studio.currency))
    })
    .await
}
