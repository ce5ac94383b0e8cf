//! The parts of each feature below HTTP: its jobs, the data it holds about a customer, and the photographs it shows.
//! Routes and pages are in the lists of their own crates (`api/http/src/routes.rs`, `api/pages/src/routes.rs`).

use crate::clockwork::Job;
use crate::platform::personal::{Holder, Shows};
use crate::platform::{record, replay};

/// All scheduled jobs: each feature's, and the platform's own.
pub fn jobs() -> Vec<Job> {
    vec![
        Job { name: "access.forget", every_minutes: 60, run: crate::access::usecase::forget_old },
        crate::booking::jobs::LAPSE,
        crate::customer::jobs::FORGET_ERASED,
        crate::customer::jobs::INDEX_ANEW,
        crate::enquiry::jobs::INDEX_ANEW,
        Job { name: "platform.forget-keys", every_minutes: 60, run: replay::forget_old },
        crate::quote::jobs::LAPSE,
        crate::reminder::jobs::BOOKINGS,
        crate::reminder::jobs::INVOICES,
        crate::reminder::jobs::QUOTES,
        crate::vehicle::jobs::INDEX_ANEW,
    ]
}

/// The data that each feature holds about a customer, and how it is erased. The order ensures that every row is found:
/// rows that others refer to come later. Mails and the log's entries refer to any record, so they come last.
pub fn holders() -> [Holder; 20] {
    [
        crate::customer::usecase::HOLDER,
        crate::vehicle::usecase::HOLDER,
        crate::enquiry::usecase::HOLDER,
        crate::inspection::usecase::HOLDER,
        crate::quote::usecase::HOLDER,
        crate::agreement::usecase::HOLDER,
        crate::signoff::usecase::HOLDER,
        crate::plan::usecase::HOLDER,
        crate::booking::usecase::HOLDER,
        crate::amendment::usecase::HOLDER,
        crate::job::usecase::HOLDER,
        crate::learning::usecase::HOLDER,
        crate::media::usecase::HOLDER,
        crate::register::usecase::HOLDER,
        crate::invoice::usecase::HOLDER,
        crate::payment::usecase::HOLDER,
        crate::reminder::usecase::HOLDER,
        crate::stay::usecase::HOLDER,
        crate::message::usecase::HOLDER,
        record::HOLDER,
    ]
}

/// The features that show photographs, so that none is deleted while a record of another customer shows it.
pub fn photos_shown_by() -> [Shows; 2] {
    [crate::inspection::usecase::shown, crate::job::usecase::shown]
}
