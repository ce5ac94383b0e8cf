//! Laws of the next act of a stay: a table written from the rules, and for any facts one act or an outcome.
use std::collections::BTreeSet;

use baywright_domain::booking::BookingState;
use baywright_domain::enquiry::EnquiryState;
use baywright_domain::inspection::InspectionState;
use baywright_domain::invoice::State as InvoiceState;
use baywright_domain::job::{Job, JobStep};
use baywright_domain::menu::{Code, Holds};
use baywright_domain::quote::RevisionState;
use baywright_domain::variation::VariationState;
use baywright_domain::visit::{Act, Bill, Booked, Facts, Next, Outcome, TodayList, Turn, Work};
use chrono::{DateTime, TimeDelta, Utc};
use proptest::prelude::*;

fn offered(quote: RevisionState) -> Facts {
    Facts { quote: Some(quote), signed: quote == RevisionState::Signed, ..Facts::default() }
}

fn booked(state: BookingState) -> Facts {
    let booking = Some(Booked { state, fits: true, deposit_due: false });
    Facts { booking, ..offered(RevisionState::Signed) }
}

fn billed(state: InvoiceState, overdue: bool) -> Facts {
    Facts { invoice: Some(Bill { state, overdue }), ..booked(BookingState::HandedOver) }
}

fn next(facts: Facts) -> (&'static str, &'static str) {
    match facts.next_act() {
        Next::Act(act) => (act.as_str(), act.by().as_str()),
        Next::Done(outcome) => (outcome.as_str(), ""),
    }
}

#[test]
fn the_way_from_the_first_call_to_the_payment() {
    let called = Facts { enquiry: Some(EnquiryState::Open), ..Facts::default() };
    let looked_at = Facts { inspection: Some(InspectionState::Draft), ..Facts::default() };
    let working = |work| Facts { work: Some(work), ..booked(BookingState::InBay) };
    let table = [
        (called, "ANSWER", "DESK"),
        (looked_at, "INSPECT", "DESK"),
        (Facts { inspection: Some(InspectionState::Completed), ..looked_at }, "WRITE_QUOTE", "DESK"),
        (offered(RevisionState::Draft), "SEND_QUOTE", "DESK"),
        (offered(RevisionState::Sent), "SIGN", "CUSTOMER"),
        (offered(RevisionState::Signed), "BOOK", "DESK"),
        (booked(BookingState::Held), "CONFIRM", "DESK"),
        (booked(BookingState::Booked), "ARRIVE", "DESK"),
        (booked(BookingState::InBay), "START_STEP", "TECHNICIAN"),
        (working(Work::CanStart), "START_STEP", "TECHNICIAN"),
        (working(Work::Running), "FINISH_STEP", "TECHNICIAN"),
        (working(Work::Drying), "LET_DRY", "TECHNICIAN"),
        (working(Work::Settled), "MAKE_READY", "TECHNICIAN"),
        (booked(BookingState::Ready), "HAND_OVER", "DESK"),
        (booked(BookingState::HandedOver), "INVOICE", "DESK"),
        (billed(InvoiceState::Draft, false), "INVOICE", "DESK"),
        (billed(InvoiceState::Issued, false), "PAY", "CUSTOMER"),
        (billed(InvoiceState::PartPaid, true), "CHASE", "DESK"),
        (billed(InvoiceState::Paid, true), "PAID", ""),
    ];
    for (at, (facts, what, by)) in table.into_iter().enumerate() {
        assert_eq!(next(facts), (what, by), "line {at}");
    }
}

#[test]
fn the_ways_that_end_or_turn_aside() {
    let closed = Facts { enquiry: Some(EnquiryState::Closed), ..Facts::default() };
    let misfit = Facts {
        booking: Some(Booked { state: BookingState::Booked, fits: false, deposit_due: true }),
        ..booked(BookingState::Booked)
    };
    let unpaid = Facts {
        booking: Some(Booked { state: BookingState::Held, fits: true, deposit_due: true }),
        ..booked(BookingState::Held)
    };
    let not_kept = Facts {
        booking: Some(Booked { state: BookingState::InBay, fits: false, deposit_due: false }),
        work: Some(Work::Running),
        ..booked(BookingState::InBay)
    };
    let found = |variation, state| Facts { variation: Some(variation), ..booked(state) };
    let changed = |latest| Facts { quote: Some(latest), ..booked(BookingState::Booked) };
    let fee = Facts { booking: booked(BookingState::Cancelled).booking, ..billed(InvoiceState::Issued, false) };
    let early = Facts { booking: booked(BookingState::InBay).booking, ..billed(InvoiceState::Paid, false) };
    let table = [
        (closed, "CLOSED", ""),
        (offered(RevisionState::Declined), "DECLINED", ""),
        (offered(RevisionState::Lapsed), "LAPSED", ""),
        (offered(RevisionState::Withdrawn), "WITHDRAWN", ""),
        (offered(RevisionState::Replaced), "WITHDRAWN", ""),
        (booked(BookingState::Cancelled), "CALLED_OFF", ""),
        (booked(BookingState::NoShow), "BOOK_AGAIN", "DESK"),
        (misfit, "MOVE_BOOKING", "DESK"),
        (unpaid, "PAY_DEPOSIT", "CUSTOMER"),
        // A car in its bay whose signed work needs the bay for longer than it is booked.
        (not_kept, "MOVE_BOOKING", "DESK"),
        (Facts { work: None, ..not_kept }, "MOVE_BOOKING", "DESK"),
        (Facts { work: Some(Work::Settled), ..not_kept }, "MAKE_READY", "TECHNICIAN"),
        (Facts { variation: Some(VariationState::Sent), ..not_kept }, "SIGN_VARIATION", "CUSTOMER"),
        (found(VariationState::Draft, BookingState::InBay), "SEND_VARIATION", "DESK"),
        (found(VariationState::Sent, BookingState::InBay), "SIGN_VARIATION", "CUSTOMER"),
        (found(VariationState::Sent, BookingState::Ready), "SIGN_VARIATION", "CUSTOMER"),
        (found(VariationState::Draft, BookingState::Ready), "HAND_OVER", "DESK"),
        (found(VariationState::Sent, BookingState::HandedOver), "INVOICE", "DESK"),
        // A later revision is written, offered or declined, and what was signed before still counts.
        (changed(RevisionState::Draft), "SEND_QUOTE", "DESK"),
        (changed(RevisionState::Sent), "SIGN", "CUSTOMER"),
        (changed(RevisionState::Declined), "ARRIVE", "DESK"),
        (billed(InvoiceState::Credited, false), "DECIDE_CREDITED", "OWNER"),
        (billed(InvoiceState::WrittenOff, true), "WRITTEN_OFF", ""),
        (fee, "PAY", "CUSTOMER"),
        // Paid before the car was given back.
        (early, "START_STEP", "TECHNICIAN"),
    ];
    for (at, (facts, what, by)) in table.into_iter().enumerate() {
        assert_eq!(next(facts), (what, by), "line {at}");
    }
}

#[test]
fn a_job_can_go_on_runs_dries_or_is_settled() {
    let now = DateTime::<Utc>::UNIX_EPOCH;
    let code = |text: &str| Code::parse(text).unwrap();
    let step =
        |name: &str, after: &[&str]| JobStep::new(code(name), name.into(), after.iter().copied().map(code).collect());
    let mut job = Job { steps: vec![step("coat", &[]), step("check", &["coat"])] };
    let who = baywright_domain::id::PersonId::new("sean");
    assert_eq!(Work::of(&job, now), Work::CanStart);
    job.start(&code("coat"), &who, now).unwrap();
    assert_eq!(Work::of(&job, now), Work::Running);
    assert_eq!(job.steps[0].holds, Holds::Car);
    let dry = now + TimeDelta::hours(12);
    job.finish(&code("coat"), now, Some(dry)).unwrap();
    assert_eq!((Work::of(&job, now), Work::of(&job, dry)), (Work::Drying, Work::CanStart));
    job.remove(&code("check"), "Looked at together.").unwrap();
    assert_eq!(Work::of(&job, dry), Work::Settled);
}

fn any_of<T: Copy + std::fmt::Debug + 'static>(all: &'static [T]) -> impl Strategy<Value = Option<T>> {
    proptest::option::of(proptest::sample::select(all))
}

prop_compose! {
    fn any_booking()(state in any_of(BookingState::ALL), fits in any::<bool>(), deposit_due in any::<bool>()) -> Option<Booked> {
        state.map(|state| Booked { state, fits, deposit_due })
    }
}

prop_compose! {
    fn any_bill()(state in any_of(InvoiceState::ALL), overdue in any::<bool>()) -> Option<Bill> {
        state.map(|state| Bill { state, overdue })
    }
}

prop_compose! {
    fn any_facts()(
        enquiry in any_of(EnquiryState::ALL),
        inspection in any_of(InspectionState::ALL),
        quote in any_of(RevisionState::ALL),
        signed in any::<bool>(),
        booking in any_booking(),
        work in any_of(&[Work::CanStart, Work::Running, Work::Drying, Work::Settled]),
        variation in any_of(VariationState::ALL),
        invoice in any_bill(),
    ) -> Facts {
        Facts { enquiry, inspection, quote, signed, booking, work, variation, invoice }
    }
}

proptest! {
    #[test]
    fn every_stay_has_one_next_act_or_has_ended(facts in any_facts()) {
        let next = facts.next_act();
        prop_assert!(next.act().is_some() != next.outcome().is_some());
        prop_assert!(!next.words().is_empty());
        // A stay whose car is here has not ended.
        let here = facts.booking.is_some_and(|booked| booked.state.has_come());
        prop_assert!(!here || next.act().is_some());
        // The crew works on cars that are here.
        let crew = next.act().is_some_and(|act| act.by() == Turn::Technician);
        prop_assert!(!crew || here);
        // Payment is requested only for issued invoices, and never for paid ones.
        let asks = matches!(next.act(), Some(Act::Pay | Act::Chase));
        let open = facts.invoice.is_some_and(|bill| matches!(bill.state, InvoiceState::Issued | InvoiceState::PartPaid));
        prop_assert!(!asks || open);
    }
}

#[test]
fn each_act_and_each_list_is_somebodys() {
    let lists: BTreeSet<TodayList> = Act::ALL.iter().filter_map(|act| act.list()).collect();
    assert_eq!(lists.len(), TodayList::ALL.len());
    let turns: BTreeSet<Turn> = Act::ALL.iter().map(|act| act.by()).collect();
    assert_eq!(turns.len(), Turn::ALL.len());
    assert!(Outcome::ALL.iter().all(|outcome| Next::Done(*outcome).act().is_none()));
}
