//! Words of the rules' own enums, as documents, the database and the API write them. A feature's own enums are beside it.

use baywright_domain::pricing::ConflictKind;
use baywright_domain::tax::Category;
use baywright_domain::variation::Agreement;
use baywright_domain::{
    booking, calendar, caution, customer, document, enquiry, inspection, invoice, job, learning, ledger, menu, merge,
    message, money, payment, people, plan, pricing, quote, reminder, rescheduling, schedule, series, signoff, tax,
    undo, variation, vehicle, visit,
};

use crate::platform::kept::Named;

crate::words! {
    customer::CustomerKind => "CustomerKind",
    customer::ConsentKind => "ConsentKind",
    customer::Kept => "KeptRecord",
    document::Prices => "Prices",
    merge::RecordState => "RecordState",
    vehicle::SizeClass => "SizeClass",
    vehicle::Powertrain => "Powertrain",
    vehicle::PaintType => "PaintType",
    vehicle::Market => "Market",
    vehicle::OdometerUnit => "OdometerUnit",
    enquiry::EnquiryState => "EnquiryState",
    enquiry::Channel => "EnquiryChannel",
    enquiry::CloseReason => "EnquiryCloseReason",
    inspection::InspectionState => "InspectionState",
    inspection::InspectionStage => "InspectionStage",
    inspection::ConditionClass => "ConditionClass",
    inspection::FindingKind => "FindingKind",
    inspection::Panel => "Panel",
    inspection::Severity => "Severity",
    menu::Area => "WorkArea",
    menu::Side => "WorkSide",
    menu::Cleanliness => "WorkCleanliness",
    menu::WaitWhen => "WaitWhen",
    menu::Holds => "WaitHolds",
    menu::Unit => "ProductUnit",
    menu::Chemistry => "Chemistry",
    caution::Hazard => "Hazard",
    pricing::ExplainedKind => "ExplainedKind",
    pricing::PriceDetail => "PriceDetail",
    quote::RevisionState => "QuoteState",
    signoff::Method => "SignoffMethod",
    variation::VariationState => "VariationState",
    plan::Hands => "Hands",
    learning::LearnedFrom => "LearnedFrom",
    learning::Outlier => "LearningOutlier",
    booking::BookingState => "BookingState" { NoShow = "MISSED" },
    booking::BookingMove => "BookingMove",
    schedule::Hindrance => "Hindrance",
    schedule::Relief => "Relief",
    schedule::SuggestionKind => "SuggestionKind",
    rescheduling::ReschedulingState => "ReschedulingState",
    job::JobState => "JobState",
    job::StepState => "StepState" { Removed = "STRUCK" },
    job::StepMove => "StepMove" { Remove = "STRIKE" },
    job::ToldMove => "JobAction",
    invoice::State => "InvoiceState",
    invoice::InvoiceKind => "InvoiceKind",
    invoice::DepositAsked => "DepositAsked",
    invoice::DepositAfterCancellation => "DepositAfterCancellation",
    ledger::PaymentUndoReason => "PaymentUndoReason",
    ledger::WriteOffCause => "WriteOffCause",
    series::SeriesKind => "SeriesKind",
    payment::Method => "PaymentMethod",
    tax::Basis => "TaxBasis",
    money::Rounding => "TaxRounding",
    reminder::ReminderKind => "ReminderKind",
    reminder::ReminderWay => "ReminderWay",
    message::MessageState => "MessageState",
    undo::AmendmentKind => "AmendmentKind",
    people::Role => "Role",
    visit::Act => "NextAct",
    visit::Turn => "Turn",
    visit::VisitGroup => "VisitGroup",
    visit::Outcome => "VisitOutcome",
    visit::StretchKind => "StretchKind",
    visit::Stage => "VisitStage",
    visit::TodayList => "TodayList",
    calendar::DayOfWeek => "DayOfWeek",
}

impl Named for Category {
    const NAME: &'static str = "TaxCode";

    fn all() -> &'static [Self] {
        &Self::ALL
    }

    fn word(self) -> &'static str {
        self.code()
    }
}

impl Named for ConflictKind {
    const NAME: &'static str = "QuoteConflictKind";

    fn all() -> &'static [Self] {
        &[Self::Excluded, Self::Overlap]
    }

    fn word(self) -> &'static str {
        match self {
            Self::Excluded => "EXCLUDED",
            Self::Overlap => "OVERLAP",
        }
    }
}

impl Named for Agreement {
    const NAME: &'static str = "VariationAgreement";

    fn all() -> &'static [Self] {
        &[Self::Signature, Self::NotedCall]
    }

    fn word(self) -> &'static str {
        match self {
            Self::Signature => "SIGNATURE",
            Self::NotedCall => "NOTED_CALL",
        }
    }
}
