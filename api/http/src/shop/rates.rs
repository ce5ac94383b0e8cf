//! Rates over HTTP.

use actix_web::{get, put};
use baywright_core::menu;
use baywright_core::platform::clock::UtcTime;
use baywright_core::platform::faults::Faults;
use baywright_core::platform::identity::{Accounts, Owner};
use baywright_core::platform::refusal::Refused;
use baywright_core::shop::usecase::{self, Rates};
use baywright_domain::inspection::ByCondition;
use baywright_domain::menu::{ChangeoverRates, Factors};
use baywright_domain::money::Currency;
use baywright_domain::tax;
use baywright_domain::time::Minutes;
use baywright_domain::vehicle::BySize;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::{BasisWord, PricesWord, RoundingWord};
use crate::platform::answer::{Answer, item};
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::etag::{IfMatch, IfNoneMatch};
use crate::platform::wire::{Amount, Instant, Number, Whole, Word};

/// Rates: prices of work, and factors for budgets.
#[derive(Debug, Clone, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RatesBody {
    /// Whether private customers see prices with tax (`GROSS`) or before tax (`NET`). The menu's prices have the same
    /// basis, so once there is a menu this changes only through `POST /v1/menu/price-basis`, which converts them.
    private_prices: PricesWord,
    /// Whether trade customers see prices with tax (`GROSS`) or before tax (`NET`).
    trade_prices: PricesWord,
    /// Basis for computing tax before rounding: each category as a whole or each line.
    tax_basis: BasisWord,
    /// Rounding of fractions of a minor currency unit of tax.
    tax_rounding: RoundingWord,
    /// Price of one hour of work by one person, with or before tax as `private_prices` says.
    labour_rate: Amount,
    /// Step to which prices are rounded up, with or before tax as `private_prices` says: each price becomes a multiple
    /// of this amount.
    price_step: Amount,
    /// Factors by which budgets and amounts grow with the vehicle's size.
    size_factors: SizeFactors,
    /// Factors by which budgets and prices grow with the vehicle's condition.
    condition_factors: ConditionFactors,
    /// Changeover time between two steps, by kind of change, in minutes.
    changeovers: ChangeoverBody,
}

/// Factor for each size class; above 0 and at most 10.
#[derive(Debug, Clone, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SizeFactors {
    /// Factor for a city car or a two-seater.
    small: Number,
    /// Factor for a compact or a saloon.
    medium: Number,
    /// Factor for an estate, a large saloon or a sport utility.
    large: Number,
    /// Factor for a van, a pick-up or a large people carrier.
    extra_large: Number,
}

/// Factor for each condition class; above 0 and at most 10.
#[derive(Debug, Clone, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ConditionFactors {
    /// Factor for a well-kept car.
    light: Number,
    /// Factor for a car in ordinary use.
    fair: Number,
    /// Factor for a neglected or worn car.
    heavy: Number,
    /// Factor for a car in the worst condition that the shop accepts.
    severe: Number,
}

/// Changeover times between two steps, in minutes; they add up.
#[derive(Debug, Clone, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[allow(clippy::struct_field_names, reason = "the API says the unit in each name")]
pub struct ChangeoverBody {
    /// Time to change between wet and dry work, in minutes.
    wet_dry_minutes: Whole<0, 240>,
    /// Time to change between outside and inside the car, in minutes.
    outside_inside_minutes: Whole<0, 240>,
    /// Time to change from one zone of the car to another, in minutes.
    zone_minutes: Whole<0, 240>,
    /// Time to fetch a tool, in minutes.
    tool_out_minutes: Whole<0, 240>,
    /// Time to put a tool away, in minutes.
    tool_away_minutes: Whole<0, 240>,
    /// Time to mask the car, in minutes.
    mask_on_minutes: Whole<0, 240>,
    /// Time to remove the masking, in minutes.
    mask_off_minutes: Whole<0, 240>,
    /// Time to wash hands and tools between dirty and clean products, in minutes.
    clean_up_minutes: Whole<0, 240>,
}

/// Rates of a shop.
#[derive(Debug, Serialize, ToSchema)]
pub struct RatesView {
    /// Version of the record, which every change raises by one; the same number as in the ETag.
    #[schema(minimum = 1)]
    version: i64,
    /// Rates: prices of work, and factors for budgets.
    #[serde(flatten)]
    rates: RatesBody,
    /// Time of the last change, RFC 3339 in UTC.
    updated_at: Instant,
}

crate::versioned!(RatesView);

impl RatesBody {
    /// The rates for the rules.
    ///
    /// # Errors
    /// 422 with every fault.
    fn rates(&self, currency: Currency) -> Result<Rates, Refused> {
        let mut faults = Faults::default();
        let rates = self.read(currency, &mut faults);
        faults.all_or(rates)
    }

    fn read(&self, currency: Currency, faults: &mut Faults) -> Option<Rates> {
        let (size, condition, changeovers) = (&self.size_factors, &self.condition_factors, &self.changeovers);
        let minutes = |number: Whole<0, 240>| Minutes::new(number.get());
        let size =
            BySize { small: size.small.0, medium: size.medium.0, large: size.large.0, extra_large: size.extra_large.0 };
        let condition = ByCondition {
            light: condition.light.0,
            fair: condition.fair.0,
            heavy: condition.heavy.0,
            severe: condition.severe.0,
        };
        faults.note(usecase::check_factors(&size, &condition));
        let labour_rate = faults.note(self.labour_rate.positive(currency, "/labour_rate"));
        let price_step = faults.note(self.price_step.positive(currency, "/price_step"));
        let price_step = price_step.and_then(|step| faults.note(usecase::check_price_step(step)));
        Some(Rates {
            private_prices: self.private_prices.0,
            trade_prices: self.trade_prices.0,
            tax_profile: tax::Profile { basis: self.tax_basis.0, rounding: self.tax_rounding.0 },
            factors: Factors { size, condition, labour_rate: labour_rate?, price_step: price_step? },
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
/// Returns labour rate, price step, factors, changeover times, and how prices and tax are computed.
#[utoipa::path(tag = "shop",
    responses((status = 200, description = "Rates of the shop.", body = RatesView),
        (status = 304, description = "The record is unchanged since the version in If-None-Match.")))]
#[get("/v1/rates")]
pub(super) async fn show(call: Call<Accounts>, known: IfNoneMatch) -> Answer {
    let rates = call.read(|tx| Ok(view(usecase::rates(tx)?, tx.studio.currency))).await?;
    Ok(item(&rates, &known))
}

/// Replace the rates.
///
/// Quotes and documents made before keep the rates with which they were made.
#[utoipa::path(tag = "shop", request_body = RatesBody, extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The rates after the change.", body = RatesView),
        (status = 409, description = "`private_prices` would change although the shop has a menu.")))]
#[put("/v1/rates")]
pub(super) async fn replace(call: Call<Owner>, IfMatch(seen): IfMatch, body: Body<RatesBody>) -> Answer {
    let body = body.value;
    call.change(move |tx| {
        let rates = body.rates(tx.studio.currency)?;
        Ok(view(menu::usecase::replace_rates(tx, seen, &rates)?, tx.studio.currency))
    })
    .await
}
