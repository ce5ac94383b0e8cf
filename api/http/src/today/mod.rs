//! The day at the shop over HTTP.

mod lists;
mod view;

use actix_web::get;
use baywright_core::platform::identity::Crew;
use baywright_core::today::usecase;
use serde::Deserialize;
use utoipa_actix_web::service_config::ServiceConfig;

use crate::platform::answer::{Answer, plain};
use crate::platform::body::Query;
use crate::platform::call::Call;
use crate::platform::wire::Day;
use view::TodayView;

/// Adds the feature's routes.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(show);
}

/// Date of the day.
#[derive(Debug, Deserialize, utoipa::IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
struct TodayParams {
    /// Date in the shop's time zone; the current one if left out.
    #[param(nullable = false)]
    date: Option<Day>,
}

/// Read the day at the shop.
///
/// Returns bays with their stretches of work, wait, hold and closed time, people with their pieces of work, jobs that are
/// under way with the step at hand and a forecast, and seven short lists of what waits for somebody now, each entry with
/// its next act. Technicians see first names, their own jobs, and no lists.
#[utoipa::path(tag = "today", params(TodayParams),
    responses((status = 200, description = "The day at the shop.", body = TodayView)))]
#[get("/v1/today")]
async fn show(call: Call<Crew>, asked: Query<TodayParams>) -> Answer {
    let date = asked.0.date.map(|day| day.0);
    let view = call.read(move |tx| Ok(TodayView::of(usecase::today(tx, date)?, tx.studio.currency))).await?;
    Ok(plain(&view))
}
