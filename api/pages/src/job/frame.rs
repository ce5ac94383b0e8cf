//! The frame of the pages beside a car: large, with who is at work, and without the places of the desk.

use baywright_core::access::usecase::tablet::is_at_tablet;
use baywright_core::platform::fail::Done;
use baywright_core::platform::refusal::Refused;
use baywright_core::platform::tx::Tx;
use baywright_domain::id::PersonId;

use crate::platform::{Insider, assets};

/// The person who works, and where they have signed in.
#[derive(Debug, Clone)]
pub(super) struct Worker {
    pub(super) insider: Insider,
    pub(super) id: PersonId,
    /// Whether they have signed in on a tablet, so that the desk's pages are closed to them.
    pub(super) at_tablet: bool,
    /// The present moment, RFC 3339.
    pub(super) now: String,
}

impl Worker {
    /// The person who asks.
    pub(super) fn of(tx: &mut Tx<'_>) -> Done<Self> {
        let id = tx.actor.person().cloned().ok_or_else(|| Refused::not_found("person"))?;
        Ok(Self { insider: Insider::of(tx)?, id, at_tablet: is_at_tablet(tx)?, now: tx.now.to_string() })
    }
}

/// What stands around a page beside a car.
#[derive(Debug, Clone)]
pub(super) struct BayFrame {
    /// The browser's title.
    pub(super) title: String,
    /// What stands in the band: the studio, or the car and its bay.
    pub(super) place: String,
    pub(super) worker: Worker,
    /// Code of the page's forms.
    pub(super) code: String,
    pub(super) style: String,
    pub(super) icon: String,
    pub(super) script: String,
}

impl BayFrame {
    /// The frame of a page.
    pub(super) fn new(title: impl Into<String>, place: impl Into<String>, worker: Worker, code: &str) -> Self {
        Self {
            title: title.into(),
            place: place.into(),
            worker,
            code: code.to_owned(),
            style: assets::desk_style(),
            icon: assets::icon(),
            script: assets::bay_script(),
        }
    }

    /// The address of the form that signs out.
    pub(super) fn sign_out(&self) -> &'static str {
        if self.worker.at_tablet { "/bay/sign-out" } else { "/sign-out" }
    }
}
