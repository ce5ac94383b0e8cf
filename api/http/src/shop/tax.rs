//! Taxes over HTTP.

use actix_web::web::Path;
use actix_web::{get, post, put};
use baywright_core::platform::faults::Faults;
use baywright_core::platform::identity::{Accounts, Owner};
use baywright_core::platform::paging::Mark;
use baywright_core::platform::refusal::Refused;
use baywright_core::shop::usecase::{self, TaxCategory, TaxDetails};
use baywright_domain::id::TaxCategoryId;
use baywright_domain::money::Percent;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::CategoryWord;
use crate::platform::answer::{Answer, Created, Page, item, page};
use crate::platform::body::{Body, at_most};
use crate::platform::call::Call;
use crate::platform::cursor::{Kept, List, NoFilter};
use crate::platform::etag::{IfMatch, IfNoneMatch};
use crate::platform::idempotency::IdempotencyKey;
use crate::platform::wire::{Code, Day, Line, Number, Reference, Word};

/// Maximum number of rates of one tax.
const MOST_RATES: usize = 50;

/// Tax of a shop, with its rates.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct TaxBody {
    /// Code of the tax, by which services refer to it.
    #[schema(example = "standard")]
    code: Code,
    /// Name of the tax as people read it.
    #[schema(example = "Standard rate")]
    name: Line<100>,
    /// Tax category of EN 16931-1 (codes of UNTDID 5305). The shop and its adviser decide by local law which category
    /// applies to a supply.
    category: CategoryWord,
    /// Reason for charging no tax; needed for `E`, `AE`, `O`, `K` and `G`, else null or left out.
    #[serde(default)]
    reason: Option<Line<300>>,
    /// Whether new services get this tax; the previous usual tax then no longer is.
    #[serde(default)]
    usual: bool,
    /// Rates, each with the day from which it applies.
    #[schema(min_items = 1, max_items = 50)]
    rates: Vec<DatedRate>,
}

/// Tax rate and the day from which it applies.
#[derive(Debug, Clone, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct DatedRate {
    /// First day on which the rate applies, in the shop's time zone.
    from: Day,
    /// Rate in percent of the amount before tax, 0 to 100 with at most four decimals.
    #[schema(example = "23")]
    percent: Number,
}

/// Tax of a shop, with its rates.
#[derive(Debug, Serialize, ToSchema)]
pub struct TaxView {
    /// Id of the tax.
    id: Reference,
    /// Version of the record, which every change raises by one; the same number as in the ETag.
    #[schema(minimum = 1)]
    version: i64,
    /// Code of the tax, by which services refer to it.
    #[schema(max_length = 40, example = "standard")]
    code: String,
    /// Name of the tax as people read it.
    #[schema(max_length = 100)]
    name: String,
    /// Tax category of EN 16931-1 (codes of UNTDID 5305).
    category: CategoryWord,
    /// Reason for charging no tax; null if none is needed.
    #[schema(max_length = 300)]
    reason: Option<String>,
    /// Whether new services get this tax.
    usual: bool,
    /// Rates, each with the day from which it applies, earliest first.
    #[schema(max_items = 50)]
    rates: Vec<DatedRate>,
}

crate::versioned!(TaxView);

impl TaxBody {
    fn details(self) -> Result<TaxDetails, Refused> {
        at_most("/rates", self.rates.len(), MOST_RATES)?;
        let mut faults = Faults::default();
        let code = baywright_domain::menu::Code::parse(self.code.as_str())
            .map_err(|e| Refused::field("/code", "bad_code", format!("{e}.")));
        let code = faults.note(code);
        let mut rates = Vec::with_capacity(self.rates.len());
        for (at, rate) in self.rates.iter().enumerate() {
            let percent = Percent::new(rate.percent.0)
                .map_err(|e| Refused::field(format!("/rates/{at}/percent"), "not_a_percentage", format!("{e}.")));
            rates.extend(faults.note(percent).map(|percent| (rate.from.0, percent)));
        }
        let code = faults.all_or(code)?;
        Ok(TaxDetails {
            code,
            name: self.name.into_string(),
            category: self.category.0,
            reason: self.reason.map(Line::into_string),
            usual: self.usual,
            rates,
        })
    }
}

impl From<TaxCategory> for TaxView {
    fn from(tax: TaxCategory) -> Self {
        let rate = |(from, percent): (chrono::NaiveDate, Percent)| DatedRate {
            from: Day(from),
            percent: Number(percent.decimal()),
        };
        Self {
            id: Reference::from(&tax.id),
            version: tax.version,
            code: tax.code.as_str().to_owned(),
            name: tax.name,
            category: Word(tax.table.category()),
            reason: tax.reason,
            usual: tax.usual,
            rates: tax.table.rates().map(rate).collect(),
        }
    }
}

/// List the taxes.
///
/// Returns one page of taxes, by code.
#[utoipa::path(tag = "shop", params(crate::platform::cursor::PageParams),
    responses((status = 200, description = "One page of taxes.", body = Page<TaxView>)))]
#[get("/v1/tax-categories")]
pub(super) async fn list(call: Call<Accounts>, list: List<NoFilter, Kept>) -> Answer {
    let all = call.read(usecase::taxes).await?;
    let mark = |tax: &TaxCategory| Mark { key: tax.code.as_str().to_owned(), id: tax.id.to_string() };
    Ok(page(&list.links, list.paging.cut(all, mark).map(TaxView::from)))
}

/// Add a tax.
#[utoipa::path(tag = "shop", request_body = TaxBody, extensions(("x-idempotency-key" = json!(true))),
    responses((status = 201, description = "The new tax.", body = TaxView)))]
#[post("/v1/tax-categories")]
pub(super) async fn create(call: Call<Owner>, _: IdempotencyKey, body: Body<TaxBody>) -> Answer {
    let details = body.value.details()?;
    call.create(move |tx| {
        let view = TaxView::from(usecase::add_tax(tx, &details)?);
        Ok(Created { location: format!("/v1/tax-categories/{}", view.id), view })
    })
    .await
}

/// Read a tax.
#[utoipa::path(tag = "shop", params(("id" = Reference, Path, description = "Id of the tax.")),
    responses((status = 200, description = "The requested tax.", body = TaxView),
        (status = 304, description = "The record is unchanged since the version in If-None-Match.")))]
#[get("/v1/tax-categories/{id}")]
pub(super) async fn show(call: Call<Accounts>, id: Path<String>, known: IfNoneMatch) -> Answer {
    let id = TaxCategoryId::new(id.into_inner());
    let tax = call.read(move |tx| usecase::show_tax(tx, &id)).await?;
    Ok(item(&TaxView::from(tax), &known))
}

/// Replace a tax.
///
/// A new rate is added with the day from which it applies. Documents made before keep their rate.
#[utoipa::path(tag = "shop", request_body = TaxBody, params(("id" = Reference, Path, description = "Id of the tax.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The tax after the change.", body = TaxView)))]
#[put("/v1/tax-categories/{id}")]
pub(super) async fn replace(
    call: Call<Owner>,
    id: Path<String>,
    IfMatch(seen): IfMatch,
    body: Body<TaxBody>,
) -> Answer {
    let (id, details) = (TaxCategoryId::new(id.into_inner()), body.value.details()?);
    call.change(move |tx| Ok(TaxView::from(usecase::replace_tax(tx, &id, seen, &details)?))).await
}
