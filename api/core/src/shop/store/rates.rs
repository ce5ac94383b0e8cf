//! The shop's rates as a row.

use baywright_domain::document::Prices;
use baywright_domain::inspection::ByCondition;
use baywright_domain::menu::{ChangeoverRates, Factors};
use baywright_domain::money::{Money, Rounding};
use baywright_domain::tax::{Basis, Profile};
use baywright_domain::time::Minutes;
use baywright_domain::vehicle::BySize;
use diesel::prelude::*;
use rust_decimal::Decimal;

use crate::platform::clock::UtcTime;
use crate::platform::db::{Conn, RowId, columns, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::tx::Tx;
use crate::schema::shop_rates;
use crate::shop::settings::Rates;

type SizeFactors = BySize<Decimal>;
type ConditionFactors = ByCondition<Decimal>;

columns! {
    /// The rates that are columns themselves.
    struct RateColumns in shop_rates as Rates {
        private_prices: Prices,
        trade_prices: Prices,
        version: i64,
    }
    with { tax_profile: Profile, factors: Factors, changeovers: ChangeoverRates }
}

columns! {
    /// Rounding of tax.
    struct TaxColumns in shop_rates as Profile {
        basis = tax_basis: Basis,
        rounding = tax_rounding: Rounding,
    }
}

columns! {
    /// Values from which prices are computed.
    struct FactorColumns in shop_rates as Factors {
        labour_rate: Money,
        price_step: Money,
    }
    with { size: SizeFactors, condition: ConditionFactors }
}

columns! {
    /// The factors of the size classes.
    struct SizeColumns in shop_rates as SizeFactors {
        small = size_small: Decimal,
        medium = size_medium: Decimal,
        large = size_large: Decimal,
        extra_large = size_extra_large: Decimal,
    }
}

columns! {
    /// The factors of the condition classes.
    struct ConditionColumns in shop_rates as ConditionFactors {
        light = condition_light: Decimal,
        fair = condition_fair: Decimal,
        heavy = condition_heavy: Decimal,
        severe = condition_severe: Decimal,
    }
}

columns! {
    /// Changeover minutes.
    struct ChangeoverColumns in shop_rates as ChangeoverRates {
        wet_dry = wet_dry_minutes: Minutes,
        outside_inside = outside_inside_minutes: Minutes,
        zone = zone_minutes: Minutes,
        tool_out = tool_out_minutes: Minutes,
        tool_away = tool_away_minutes: Minutes,
        mask_on = mask_on_minutes: Minutes,
        mask_off = mask_off_minutes: Minutes,
        clean_up = clean_up_minutes: Minutes,
    }
}

#[derive(Queryable, Selectable, Insertable, AsChangeset)]
#[diesel(table_name = shop_rates)]
struct Row {
    #[diesel(embed)]
    rates: RateColumns,
    #[diesel(embed)]
    tax: TaxColumns,
    #[diesel(embed)]
    factors: FactorColumns,
    #[diesel(embed)]
    size: SizeColumns,
    #[diesel(embed)]
    condition: ConditionColumns,
    #[diesel(embed)]
    changeovers: ChangeoverColumns,
}

impl Row {
    fn of(shop: &str, rates: &Rates) -> Stored<Self> {
        Ok(Self {
            rates: RateColumns::of(shop, rates)?,
            tax: TaxColumns::of(shop, &rates.tax_profile)?,
            factors: FactorColumns::of(shop, &rates.factors)?,
            size: SizeColumns::of(shop, &rates.factors.size)?,
            condition: ConditionColumns::of(shop, &rates.factors.condition)?,
            changeovers: ChangeoverColumns::of(shop, &rates.changeovers)?,
        })
    }

    fn read(self, shop: &str) -> Stored<Rates> {
        let factors = self.factors.read(shop, self.size.read(shop)?, self.condition.read(shop)?)?;
        self.rates.read(shop, self.tax.read(shop)?, factors, self.changeovers.read(shop)?)
    }
}

pub(in crate::shop) fn insert(conn: &mut Conn, shop: &str, rates: &Rates, now: UtcTime) -> Stored<()> {
    diesel::insert_into(shop_rates::table)
        .values((shop_rates::shop_id.eq(shop), shop_rates::updated_at.eq(now.ms()), Row::of(shop, rates)?))
        .execute(conn)?;
    Ok(())
}

pub(in crate::shop) fn find(tx: &mut Tx<'_>) -> Stored<(Rates, UtcTime)> {
    let mine = rows_of_shop!(shop_rates, tx);
    let (row, updated_at): (Row, i64) = mine.select((Row::as_select(), shop_rates::updated_at)).first(tx.conn)?;
    let shop = tx.studio.id.as_str();
    Ok((row.read(shop)?, RowId::of("shop_rates", shop).read("updated_at", updated_at)?))
}

pub(in crate::shop) fn update(tx: &mut Tx<'_>, rates: &Rates) -> Stored<()> {
    diesel::update(rows_of_shop!(shop_rates, tx))
        .set((Row::of(tx.studio.id.as_str(), rates)?, shop_rates::updated_at.eq(tx.now.ms())))
        .execute(tx.conn)?;
    Ok(())
}
