//! A booking as it is stored, with its place and names.

use baywright_domain::money::Money;
use baywright_domain::time::Minute;
use diesel::prelude::*;

use crate::booking::usecase::{Booking, Names, Place, Stay};
use crate::platform::db::RowId;
use crate::platform::fail::Stored;
use crate::schema::{booking, customer, placement, vehicle};

#[derive(Queryable, Selectable)]
#[diesel(table_name = booking)]
pub(in crate::booking) struct Base {
    id: String,
    quote_id: String,
    plan_id: String,
    customer_id: String,
    vehicle_id: String,
    state: String,
    hands: String,
    fits: bool,
    hold_until: Option<i64>,
    booked_at: Option<i64>,
    arrived_at: Option<i64>,
    ready_at: Option<i64>,
    handed_over_at: Option<i64>,
    ended_at: Option<i64>,
    reason: Option<String>,
    note: String,
    deposit: Option<i64>,
    deposit_received_at: Option<i64>,
    version: i64,
    created_at: i64,
    updated_at: i64,
}

/// A booking with all its columns.
#[derive(Queryable, Selectable)]
#[diesel(table_name = booking)]
pub(in crate::booking) struct Row {
    #[diesel(embed)]
    base: Base,
    #[diesel(select_expression = (placement::bay_id, placement::starts, placement::finishes, placement::promise_margin))]
    place: (String, i64, i64, i32),
    #[diesel(select_expression = (placement::plan_order, placement::move_minutes))]
    order: (i32, i32),
    #[diesel(select_expression = (placement::standing, placement::live))]
    stands: (bool, bool),
    #[diesel(select_expression = customer::name)]
    customer: String,
    #[diesel(select_expression = (vehicle::make, vehicle::model, vehicle::colour, vehicle::registration))]
    vehicle: (String, String, Option<String>, Option<String>),
}

impl Row {
    pub(super) fn id(&self) -> &str {
        &self.base.id
    }

    pub(super) fn read(self, stays: Vec<Stay>) -> Stored<Booking> {
        let Self { base, place: (bay, starts, finishes, margin), order, stands: (came_in, live), customer, vehicle } =
            self;
        if stays.is_empty() {
            return Err(RowId::of("booking_stay", &base.id).corrupt("booking_id", "no stay of this booking"));
        }
        let place_row = RowId::of("placement", &base.id);
        let row = RowId::of("booking", &base.id);
        let (make, model, colour, registration) = vehicle;
        let joined =
            |parts: &[&str]| parts.iter().copied().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(" ");
        let model = joined(&[make.as_str(), model.as_str()]);
        let vehicle = joined(&[model.as_str(), colour.as_deref().unwrap_or_default()]);
        Ok(Booking {
            state: row.read("state", base.state)?,
            hands: row.read("hands", base.hands)?,
            fits: base.fits,
            version: base.version,
            quote: base.quote_id.into(),
            plan: base.plan_id.into(),
            customer: base.customer_id.into(),
            vehicle: base.vehicle_id.into(),
            hold_until: row.read("hold_until", base.hold_until)?,
            place: Place {
                bay: bay.into(),
                starts: Minute::new(starts),
                finishes: Minute::new(finishes),
                promised: Minute::new(finishes.saturating_add(margin.into())),
                standing: came_in && live,
                order: place_row.read("plan_order", order.0)?,
                move_minutes: place_row.read("move_minutes", order.1)?,
                stays,
            },
            booked_at: row.read("booked_at", base.booked_at)?,
            arrived_at: row.read("arrived_at", base.arrived_at)?,
            ready_at: row.read("ready_at", base.ready_at)?,
            handed_over_at: row.read("handed_over_at", base.handed_over_at)?,
            ended_at: row.read("ended_at", base.ended_at)?,
            reason: base.reason,
            note: base.note,
            deposit: base.deposit.map(Money::from_minor),
            deposit_received_at: row.read("deposit_received_at", base.deposit_received_at)?,
            names: Names { customer, vehicle, model, registration },
            created_at: row.read("created_at", base.created_at)?,
            updated_at: row.read("updated_at", base.updated_at)?,
            id: base.id.into(),
        })
    }
}
