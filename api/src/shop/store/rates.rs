//! What the shop charges, as a row.

use baywright_domain::document::Prices;
use baywright_domain::inspection::ByCondition;
use baywright_domain::menu::{ChangeoverRates, Factors};
use baywright_domain::money::{Money, Rounding};
use baywright_domain::tax::{Basis, Profile};
use baywright_domain::time::Minutes;
use baywright_domain::vehicle::BySize;
use diesel::prelude::*;

use super::{decimal, small, word};
use crate::platform::clock::UtcTime;
use crate::platform::db::{Conn, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::tx::Tx;
use crate::schema::shop_rates;
use crate::shop::settings::Rates;

#[derive(Queryable, Selectable, Insertable, AsChangeset)]
#[diesel(table_name = shop_rates)]
struct Row {
    private_prices: String,
    trade_prices: String,
    tax_basis: String,
    tax_rounding: String,
    labour_rate: i64,
    price_step: i64,
    size_small: String,
    size_medium: String,
    size_large: String,
    size_extra_large: String,
    condition_light: String,
    condition_fair: String,
    condition_heavy: String,
    condition_severe: String,
    wet_dry_minutes: i32,
    outside_inside_minutes: i32,
    zone_minutes: i32,
    tool_out_minutes: i32,
    tool_away_minutes: i32,
    mask_on_minutes: i32,
    mask_off_minutes: i32,
    clean_up_minutes: i32,
    version: i64,
}

impl From<&Rates> for Row {
    fn from(rates: &Rates) -> Self {
        let minutes = |minutes: Minutes| i32::try_from(minutes.get()).unwrap_or(i32::MAX);
        let (size, condition, changeovers) = (&rates.factors.size, &rates.factors.condition, &rates.changeovers);
        Self {
            private_prices: rates.private_prices.as_str().to_owned(),
            trade_prices: rates.trade_prices.as_str().to_owned(),
            tax_basis: rates.tax_profile.basis.as_str().to_owned(),
            tax_rounding: rates.tax_profile.rounding.as_str().to_owned(),
            labour_rate: rates.factors.labour_rate.minor(),
            price_step: rates.factors.price_step.minor(),
            size_small: size.small.to_string(),
            size_medium: size.medium.to_string(),
            size_large: size.large.to_string(),
            size_extra_large: size.extra_large.to_string(),
            condition_light: condition.light.to_string(),
            condition_fair: condition.fair.to_string(),
            condition_heavy: condition.heavy.to_string(),
            condition_severe: condition.severe.to_string(),
            wet_dry_minutes: minutes(changeovers.wet_dry),
            outside_inside_minutes: minutes(changeovers.outside_inside),
            zone_minutes: minutes(changeovers.zone),
            tool_out_minutes: minutes(changeovers.tool_out),
            tool_away_minutes: minutes(changeovers.tool_away),
            mask_on_minutes: minutes(changeovers.mask_on),
            mask_off_minutes: minutes(changeovers.mask_off),
            clean_up_minutes: minutes(changeovers.clean_up),
            version: rates.version,
        }
    }
}

impl Row {
    fn read(self) -> Stored<Rates> {
        let minutes = |number: i32| small(number).map(Minutes::new);
        Ok(Rates {
            private_prices: word(Prices::parse(&self.private_prices))?,
            trade_prices: word(Prices::parse(&self.trade_prices))?,
            tax_profile: Profile {
                basis: word(Basis::parse(&self.tax_basis))?,
                rounding: word(Rounding::parse(&self.tax_rounding))?,
            },
            factors: Factors {
                size: BySize {
                    small: decimal(&self.size_small)?,
                    medium: decimal(&self.size_medium)?,
                    large: decimal(&self.size_large)?,
                    extra_large: decimal(&self.size_extra_large)?,
                },
                condition: ByCondition {
                    light: decimal(&self.condition_light)?,
                    fair: decimal(&self.condition_fair)?,
                    heavy: decimal(&self.condition_heavy)?,
                    severe: decimal(&self.condition_severe)?,
                },
                labour_rate: Money::from_minor(self.labour_rate),
                price_step: Money::from_minor(self.price_step),
            },
            changeovers: ChangeoverRates {
                wet_dry: minutes(self.wet_dry_minutes)?,
                outside_inside: minutes(self.outside_inside_minutes)?,
                zone: minutes(self.zone_minutes)?,
                tool_out: minutes(self.tool_out_minutes)?,
                tool_away: minutes(self.tool_away_minutes)?,
                mask_on: minutes(self.mask_on_minutes)?,
                mask_off: minutes(self.mask_off_minutes)?,
                clean_up: minutes(self.clean_up_minutes)?,
            },
            version: self.version,
        })
    }
}

pub(in crate::shop) fn insert(conn: &mut Conn, shop: &str, rates: &Rates, now: UtcTime) -> Stored<()> {
    diesel::insert_into(shop_rates::table)
        .values((shop_rates::shop_id.eq(shop), shop_rates::updated_at.eq(now.ms()), Row::from(rates)))
        .execute(conn)?;
    Ok(())
}

pub(in crate::shop) fn find(tx: &mut Tx<'_>) -> Stored<(Rates, UtcTime)> {
    let mine = rows_of_shop!(shop_rates, tx);
    let (row, updated_at): (Row, i64) = mine.select((Row::as_select(), shop_rates::updated_at)).first(tx.conn)?;
    Ok((row.read()?, UtcTime::from_ms(updated_at)))
}

pub(in crate::shop) fn update(tx: &mut Tx<'_>, rates: &Rates) -> Stored<()> {
    diesel::update(rows_of_shop!(shop_rates, tx))
        .set((Row::from(rates), shop_rates::updated_at.eq(tx.now.ms())))
        .execute(tx.conn)?;
    Ok(())
}
