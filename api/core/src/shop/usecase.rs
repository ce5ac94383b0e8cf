//! Use cases of the shop itself, and the settings that other features read.

mod bay;
mod found;
mod hours;
mod money;
mod profile;
mod rates;
mod self_booking;
mod tax;
mod timetable;

pub use bay::{Bay, BayDetails, add_bay, bays, replace_bay, show_bay};
pub use found::{Founding, Listed, any_shop, found, only_shop, shops};
pub use hours::{
    Closure, ClosureDetails, MOST_HOURS, Week, add_closure, closures, closures_within, in_order, remove_closure,
    replace_closure, replace_week, show_closure, warn_of_reversed, week,
};
pub use money::{money_terms, replace_money_terms, show_money_terms};
pub use profile::{Found, Shop, replace, settings, show};
pub use rates::{change_basis, change_labour, check_factors, check_price_step, rates, replace_rates};
pub use self_booking::{SelfBookingKept, replace_self_booking, self_booking};
pub use tax::{TaxDetails, add_tax, replace_tax, show_tax, taxes};
pub use timetable::{bays_without_closures, open_bays, opening_hours};

pub use super::settings::{Address, MoneyTerms, Profile, Rates, Settings, TaxCategory, Terms};
