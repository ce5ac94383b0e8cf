//! The ids, words and written forms of the domain that are stored as text.

use baywright_domain::booking::BookingState;
use baywright_domain::country::Country;
use baywright_domain::customer::{ConsentKind, CustomerKind};
use baywright_domain::document::Prices;
use baywright_domain::enquiry::{Channel, CloseReason, EnquiryState};
use baywright_domain::id::{
    AbsenceId, BayId, BookingId, ClosureId, CreditNoteId, CustomerId, EnquiryId, FeedId, HandoverId, InspectionId,
    InvoiceId, JobId, JobStepId, LinkId, MenuRevisionId, MessageId, PaymentId, PersonId, PhotoId, PlanId, QuoteId,
    RefundId, ReminderId, ReschedulingId, RevisionId, SessionId, ShopId, SignoffId, TabletId, TaxCategoryId,
    VariationId, VehicleId, WriteOffId,
};
use baywright_domain::inspection::{ConditionClass, FindingKind, InspectionStage, InspectionState, Panel, Severity};
use baywright_domain::job::{StepMove, StepState};
use baywright_domain::ledger::{PaymentUndoReason, WriteOffCause};
use baywright_domain::menu::{Code, Holds, WaitWhen};
use baywright_domain::message::MessageState;
use baywright_domain::money::Rounding;
use baywright_domain::people::Role;
use baywright_domain::plan::Hands;
use baywright_domain::pricing::PriceDetail;
use baywright_domain::quote::RevisionState;
use baywright_domain::reminder::{ReminderKind, ReminderWay};
use baywright_domain::rescheduling::ReschedulingState;
use baywright_domain::series::{Prefix, SeriesKind};
use baywright_domain::tax::Basis;
use baywright_domain::undo::AmendmentKind;
use baywright_domain::variation::VariationState;
use baywright_domain::vat_id::VatId;
use baywright_domain::vehicle::{Market, OdometerUnit, PaintType, Powertrain, SizeClass, Vin};
use baywright_domain::{invoice, payment, signoff};

use super::Column;
use crate::platform::kept::Named;

/// Declares ids; their form is not checked.
macro_rules! ids {
    ($($id:ty),+ $(,)?) => {$(
        impl Column for $id {
            type Cell = String;

            fn to_cell(&self) -> Result<String, String> {
                Ok(self.as_str().to_owned())
            }

            fn from_cell(cell: String) -> Result<Self, String> {
                Ok(Self::new(cell))
            }
        }
    )+};
}

/// Declares types that are written with `as_str` and read by the named function.
macro_rules! texts {
    ($($read:path => $type:ty),+ $(,)?) => {$(
        impl Column for $type {
            type Cell = String;

            fn to_cell(&self) -> Result<String, String> {
                Ok(self.as_str().to_owned())
            }

            fn from_cell(cell: String) -> Result<Self, String> {
                $read(&cell).map_err(|why| why.to_string())
            }
        }
    )+};
}

/// Declares kinds and states, which are stored as their words ([`Named::stored`]).
macro_rules! words {
    ($($word:ty),+ $(,)?) => {$(
        impl Column for $word {
            type Cell = String;

            fn to_cell(&self) -> Result<String, String> {
                Ok(self.stored().to_owned())
            }

            fn from_cell(cell: String) -> Result<Self, String> {
                Self::of_stored(&cell).ok_or_else(|| format!("{cell:?} is no {}", Self::NAME))
            }
        }
    )+};
}

ids! {
    AbsenceId, BayId, BookingId, ClosureId, CreditNoteId, CustomerId, EnquiryId, FeedId, HandoverId, InspectionId, InvoiceId, JobId,
    JobStepId, LinkId, MenuRevisionId, MessageId, PaymentId, PersonId, PhotoId, PlanId, QuoteId, RefundId, ReminderId,
    ReschedulingId, RevisionId, SessionId, ShopId, SignoffId, TabletId, TaxCategoryId, VariationId, VehicleId, WriteOffId,
}

words! {
    AmendmentKind, Basis, BookingState, Channel, CloseReason, ConditionClass, ConsentKind, CustomerKind,
    EnquiryState, FindingKind, Hands, Holds, InspectionStage, InspectionState, Market, MessageState,
    OdometerUnit, PaintType, Panel, Powertrain, PriceDetail, Prices, ReminderKind, ReminderWay, ReschedulingState,
    RevisionState, Role, Rounding, Severity, SizeClass, StepMove, StepState, VariationState, WaitWhen, invoice::State,
    invoice::DepositAfterCancellation, invoice::DepositAsked, invoice::InvoiceKind, payment::Method, signoff::Method,
    PaymentUndoReason, SeriesKind, WriteOffCause,
}

texts! {
    Code::parse => Code,
    Prefix::parse => Prefix,
    VatId::parse => VatId,
    Vin::form => Vin,
}

impl Column for Country {
    type Cell = String;

    fn to_cell(&self) -> Result<String, String> {
        Ok(self.code().to_owned())
    }

    fn from_cell(cell: String) -> Result<Self, String> {
        Self::parse(&cell).map_err(|why| why.to_string())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::platform::clock::UtcTime;
    use crate::platform::db::RowId;

    #[test]
    fn an_older_word_is_stored_and_read_as_the_value_that_it_means() {
        let row = RowId::of("job_step", "s-1");
        for state in StepState::ALL {
            assert_eq!(row.write("state", state).unwrap(), state.stored());
            assert_eq!(row.read::<StepState>("state", state.stored().to_owned()).unwrap(), *state);
        }
        assert_eq!((StepState::Removed.stored(), StepState::Open.stored()), ("STRUCK", "OPEN"));
        assert_eq!((BookingState::NoShow.stored(), StepMove::Remove.stored()), ("MISSED", "STRIKE"));
    }

    #[test]
    fn a_cell_that_no_value_has_is_an_error_that_names_table_column_and_row() {
        let row = RowId::of("vehicle", "v-1");
        let read: Market = row.read("market", "NORTH_AMERICA".to_owned()).unwrap();
        assert_eq!((read, row.write("market", &read).unwrap().as_str()), (Market::NorthAmerica, "NORTH_AMERICA"));
        let error = row.read::<Option<Market>>("market", Some("MOON".to_owned())).unwrap_err().to_string();
        assert!(error.contains("vehicle.market of v-1") && error.contains("MOON"), "{error}");
        let error = row.read::<UtcTime>("created_at", i64::MAX).unwrap_err().to_string();
        assert!(error.contains("vehicle.created_at of v-1"), "{error}");
        let error = row.read::<u32>("year", -1).unwrap_err().to_string();
        assert!(error.contains("vehicle.year of v-1: -1"), "{error}");
        assert!(row.write("number", &u32::MAX).is_err());
    }
}
