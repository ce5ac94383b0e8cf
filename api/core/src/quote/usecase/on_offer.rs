//! The lines of a quote that the customer can choose from, before anything is signed.

use baywright_domain::id::{QuoteId, VehicleId};
use baywright_domain::menu::Menu;
use baywright_domain::vehicle::Car;

use super::compose::compose;
use crate::platform::fail::Done;
use crate::platform::tx::Tx;
use crate::quote::kept::{Offered, QuoteDocument, QuoteDraft};
use crate::quote::store;
use crate::{menu, vehicle};

/// The lines of a quote's latest revision, with the data that its work is planned from.
#[derive(Debug, Clone)]
pub struct OnOffer {
    /// The lines.
    pub offered: Offered,
    /// The menu: as it was when the quote was sent, or the one in force for a draft.
    pub menu: Menu,
    /// Size, condition and powertrain that budgets are for.
    pub car: Car,
    /// The vehicle.
    pub vehicle: VehicleId,
}

/// The lines of a quote's latest revision: as they were sent, or as a draft would be sent now.
///
/// # Errors
/// `NotFound` if the shop has no such quote; `Conflict` or `Invalid` if its draft can't be priced.
pub fn on_offer(tx: &mut Tx<'_>, id: &QuoteId) -> Done<OnOffer> {
    let (quote, row) = super::write::latest(tx, id)?;
    let Some(frozen) = &row.frozen else {
        let of = vehicle::usecase::show(tx, &quote.vehicle)?;
        let draft = QuoteDraft::parse(&row.draft)?;
        let composed = compose(tx, &of, &draft, &quote.number, row.number)?;
        let car = composed.document.car();
        return Ok(OnOffer { offered: composed.offered, menu: composed.menu, car, vehicle: quote.vehicle });
    };
    let shown = QuoteDocument::parse(&frozen.document)?;
    let sent_at = shown.sent_at.map_or(tx.now, |at| at.0);
    let basis = menu::usecase::basis_at(tx, sent_at)?;
    let menu = menu::from_json(&store::frozen_basis(tx, &row.id)?.menu, basis)?;
    Ok(OnOffer { offered: shown.offered()?, menu, car: shown.car(), vehicle: quote.vehicle })
}
