//! The usual week over HTTP.

use actix_web::{get, put};
use baywright_core::booking::usecase::warn_of_broken;
use baywright_core::platform::faults::Faults;
use baywright_core::platform::identity::{Crew, Desk};
use baywright_core::platform::refusal::Refused;
use baywright_core::shop::usecase::{self, MOST_HOURS, Week};
use baywright_domain::calendar::{DayHours, DayOfWeek};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::DayWord;
use crate::platform::answer::{Answer, item};
use crate::platform::body::{Body, at_most};
use crate::platform::call::Call;
use crate::platform::etag::{IfMatch, IfNoneMatch};
use crate::platform::wire::{WallTime, Word};

/// Period of hours that begins on one day of the week, in the shop's time zone.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct StretchBody {
    /// Weekday on which the period begins.
    weekday: DayWord,
    /// Start of the period, time of day in the shop's time zone.
    #[schema(example = "08:00")]
    from: WallTime,
    /// End of the period, time of day in the shop's time zone, up to 24:00; an end before the start is on the next day.
    #[schema(example = "17:30")]
    until: WallTime,
}

/// Period of hours that begins on one day of the week, in the shop's time zone.
#[derive(Debug, Serialize, ToSchema)]
pub struct StretchView {
    /// Weekday on which the period begins.
    weekday: DayWord,
    /// Start of the period, time of day in the shop's time zone.
    from: WallTime,
    /// End of the period, time of day in the shop's time zone; an end before the start is on the next day.
    until: WallTime,
}

impl From<&(DayOfWeek, DayHours)> for StretchView {
    fn from((day, hours): &(DayOfWeek, DayHours)) -> Self {
        Self { weekday: Word(*day), from: WallTime(hours.opens()), until: WallTime(hours.closes_on_the_clock()) }
    }
}

/// Periods of hours from the body; `pointer` is the position of the list.
pub(crate) fn stretches(bodies: &[StretchBody], pointer: &str) -> Result<Vec<(DayOfWeek, DayHours)>, Refused> {
    at_most(pointer, bodies.len(), MOST_HOURS)?;
    let mut faults = Faults::default();
    let mut week = Vec::with_capacity(bodies.len());
    for (at, body) in bodies.iter().enumerate() {
        let hours = DayHours::new(body.from.0, body.until.0)
            .map_err(|e| Refused::field(format!("{pointer}/{at}"), "not_hours", format!("{e}.")));
        week.extend(faults.note(hours).map(|hours| (body.weekday.0, hours)));
    }
    faults.all_or(Some(week))
}

/// Opening hours of the usual week.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct WeekBody {
    /// Periods in which the shop is open; a day without a period is closed.
    #[schema(max_items = 42)]
    hours: Vec<StretchBody>,
}

/// Opening hours of the usual week.
#[derive(Debug, Serialize, ToSchema)]
pub struct WeekView {
    /// Version of the record, which every change raises by one; the same number as in the ETag.
    #[schema(minimum = 1)]
    version: i64,
    /// Periods in which the shop is open, by day and start.
    #[schema(max_items = 42)]
    hours: Vec<StretchView>,
}

crate::versioned!(WeekView);

impl From<Week> for WeekView {
    fn from(week: Week) -> Self {
        Self { version: week.version, hours: week.hours.iter().map(StretchView::from).collect() }
    }
}

/// Read the opening hours.
///
/// Returns the usual week in the shop's time zone; closures are exceptions to it.
#[utoipa::path(tag = "shop",
    responses((status = 200, description = "Opening hours of the usual week.", body = WeekView),
        (status = 304, description = "The record is unchanged since the version in If-None-Match.")))]
#[get("/v1/opening-hours")]
pub(super) async fn show(call: Call<Crew>, known: IfNoneMatch) -> Answer {
    let week = call.read(usecase::week).await?;
    Ok(item(&WeekView::from(week), &known))
}

/// Replace the opening hours.
///
/// Bookings outside the new hours stay unchanged: `warnings` names each, with the path at which to ask for new times.
/// Hours that go on through most of a night cause a warning, since beginning and end may be the wrong way round; hours that
/// overlap are refused, also those that reach into the next day.
#[utoipa::path(tag = "shop", request_body = WeekBody, extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The opening hours after the change.", body = WeekView)))]
#[put("/v1/opening-hours")]
pub(super) async fn replace(call: Call<Desk>, IfMatch(seen): IfMatch, body: Body<WeekBody>) -> Answer {
    let hours = stretches(&body.value.hours, "/hours")?;
    call.change(move |tx| {
        let week = warn_of_broken(tx, "/hours", |tx| usecase::replace_week(tx, seen, &hours))?;
        Ok(WeekView::from(week))
    })
    .await
}
