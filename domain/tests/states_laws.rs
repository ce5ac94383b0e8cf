//! The life of each record: every move of the table is made, and every other pair of state and move is refused with
//! both named. The tables here are written a second time, as words, from the rules and not from the code.
use baywright_domain::booking::{BookingMove, BookingRefusal, BookingState};
use baywright_domain::enquiry::{EnquiryMove, EnquiryState};
use baywright_domain::job::{StepMove, StepState};
use baywright_domain::merge::{RecordMove, RecordState};
use baywright_domain::message::{MessageMove, MessageState};
use baywright_domain::quote::{
    QuoteRefusal, RevisionMove, RevisionState, agreed_revision, current_revision, next_revision,
};
use baywright_domain::refusal::Refusal;
use baywright_domain::variation::{VariationMove, VariationState};
use chrono::{DateTime, Utc};
use proptest::prelude::*;

/// Tries every pair of state and move against a table of lines `STATE MOVE STATE`.
macro_rules! check_life {
    ($state:ident, $move:ident, $table:expr) => {{
        let table: Vec<[&str; 3]> =
            $table.trim().lines().map(|line| line.split_whitespace().collect::<Vec<_>>().try_into().unwrap()).collect();
        let mut made = 0;
        for state in $state::ALL {
            for wanted in $move::ALL {
                let allowed = table.iter().find(|row| row[0] == state.as_str() && row[1] == wanted.as_str());
                match (state.go(*wanted), allowed) {
                    (Ok(next), Some(row)) => {
                        assert_eq!(next.as_str(), row[2]);
                        made += 1;
                    }
                    (Err(refusal), None) => {
                        let text = refusal.to_string();
                        assert!(text.contains(state.label()) && text.contains(wanted.label()), "{text}");
                        assert_eq!(refusal.code(), "wrong-state");
                    }
                    (got, _) => panic!("{state} {wanted}: {got:?}"),
                }
            }
            assert_eq!($state::parse(state.as_str()), Ok(*state));
            assert_eq!(state.is_end(), !table.iter().any(|row| row[0] == state.as_str()));
        }
        assert_eq!(made, table.len());
    }};
}

#[test]
fn a_record_is_merged_separated_and_erased_as_its_table_says() {
    check_life!(
        RecordState,
        RecordMove,
        "
        ACTIVE MERGE MERGED
        ACTIVE ERASE ERASED
        MERGED SEPARATE ACTIVE
        MERGED ERASE ERASED"
    );
}

#[test]
fn a_quote_revision_moves_as_its_table_says() {
    check_life!(
        RevisionState,
        RevisionMove,
        "
        DRAFT SEND SENT
        SENT SIGN SIGNED
        SENT DECLINE DECLINED
        SENT LAPSE LAPSED
        SENT WITHDRAW WITHDRAWN
        SENT REPLACE REPLACED"
    );
}

#[test]
fn a_booking_moves_as_its_table_says() {
    check_life!(
        BookingState,
        BookingMove,
        "
        HELD BOOK BOOKED
        HELD CANCEL CANCELLED
        HELD LAPSE CANCELLED
        HELD MOVE HELD
        HELD HOLD_LONGER HELD
        BOOKED MOVE BOOKED
        BOOKED ARRIVE IN_BAY
        BOOKED CANCEL CANCELLED
        BOOKED NO_SHOW NO_SHOW
        IN_BAY MAKE_READY READY
        READY HAND_OVER HANDED_OVER"
    );
}

#[test]
fn a_variation_moves_as_its_table_says() {
    check_life!(
        VariationState,
        VariationMove,
        "
        DRAFT SEND SENT
        SENT SIGN SIGNED
        SENT DECLINE DECLINED"
    );
}

#[test]
fn a_message_moves_as_its_table_says() {
    check_life!(
        MessageState,
        MessageMove,
        "
        QUEUED TAKE_UP SENDING
        SENDING DELIVER SENT
        SENDING PUT_BACK QUEUED
        SENDING GIVE_UP FAILED
        FAILED SEND_AGAIN QUEUED"
    );
}

#[test]
fn an_enquiry_moves_as_its_table_says() {
    check_life!(
        EnquiryState,
        EnquiryMove,
        "
        OPEN CHANGE OPEN
        OPEN QUOTE QUOTED
        OPEN CLOSE CLOSED
        QUOTED CHANGE QUOTED
        QUOTED CLOSE CLOSED"
    );
}

#[test]
fn a_step_of_a_job_moves_as_its_table_says() {
    check_life!(
        StepState,
        StepMove,
        "
        OPEN START RUNNING
        OPEN REMOVE REMOVED
        RUNNING JOIN RUNNING
        RUNNING LEAVE RUNNING
        RUNNING STOP PAUSED
        RUNNING FINISH FINISHED
        RUNNING CORRECT RUNNING
        PAUSED START RUNNING
        PAUSED FINISH FINISHED
        PAUSED REMOVE REMOVED
        PAUSED CORRECT PAUSED
        FINISHED CORRECT FINISHED
        FINISHED END_WAIT FINISHED
        REMOVED CORRECT REMOVED"
    );
}

/// Tries to undo every pair of move and earlier state against lines `STATE MOVE STATE`: now, what is undone, before.
macro_rules! check_ways_back {
    ($state:ident, $move:ident, $table:expr) => {{
        let table: Vec<Vec<&str>> = $table.trim().lines().map(|line| line.split_whitespace().collect()).collect();
        for now in $state::ALL {
            for done in $move::ALL {
                for before in $state::ALL {
                    let listed = table.contains(&vec![now.as_str(), done.as_str(), before.as_str()]);
                    let got = now.undo(*done, *before);
                    assert_eq!(got.is_ok(), listed, "{now} {done} {before}");
                    // Forth and back again is where it was.
                    assert!(!listed || (got == Ok(*before) && before.go(*done) == Ok(*now)), "{now} {done} {before}");
                }
            }
        }
        assert_eq!($state::ways_back().count(), table.len());
    }};
}

#[test]
fn what_was_done_to_a_booking_by_mistake_is_undone() {
    use BookingMove::{Arrive, Cancel, HandOver, MakeReady};
    use BookingState::{Booked, Cancelled, HandedOver, Held, InBay, Ready};

    check_ways_back!(
        BookingState,
        BookingMove,
        "
        CANCELLED CANCEL HELD
        CANCELLED CANCEL BOOKED
        NO_SHOW NO_SHOW BOOKED
        IN_BAY ARRIVE BOOKED
        READY MAKE_READY IN_BAY
        HANDED_OVER HAND_OVER READY"
    );
    for agreed in [false, true] {
        assert_eq!(InBay.last_move(agreed), Some((Arrive, Booked)));
        assert_eq!(Ready.last_move(agreed), Some((MakeReady, InBay)));
        assert_eq!(HandedOver.last_move(agreed), Some((HandOver, Ready)));
        assert_eq!(BookingState::NoShow.last_move(agreed), Some((BookingMove::NoShow, Booked)));
        assert_eq!((Held.last_move(agreed), Booked.last_move(agreed)), (None, None));
    }
    // A hold that was given up is not taken again; another one does the same.
    assert_eq!((Cancelled.last_move(true), Cancelled.last_move(false)), (Some((Cancel, Booked)), None));
}

#[test]
fn what_was_done_to_a_step_by_mistake_is_undone() {
    check_ways_back!(
        StepState,
        StepMove,
        "
        RUNNING START OPEN
        RUNNING START PAUSED
        RUNNING JOIN RUNNING
        RUNNING LEAVE RUNNING
        RUNNING CORRECT RUNNING
        PAUSED STOP RUNNING
        PAUSED CORRECT PAUSED
        FINISHED FINISH RUNNING
        FINISHED FINISH PAUSED
        FINISHED CORRECT FINISHED
        FINISHED END_WAIT FINISHED
        REMOVED REMOVE OPEN
        REMOVED REMOVE PAUSED
        REMOVED CORRECT REMOVED"
    );
}

fn at(seconds: i64) -> DateTime<Utc> {
    DateTime::from_timestamp(1_800_000_000 + seconds, 0).unwrap()
}

#[test]
fn only_a_draft_may_be_edited_since_totals_freeze_when_it_is_sent() {
    for state in RevisionState::ALL {
        assert_eq!(state.edit().is_ok(), *state == RevisionState::Draft, "{state}");
    }
    for state in VariationState::ALL {
        assert_eq!(state.edit().is_ok(), *state == VariationState::Draft, "{state}");
    }
}

#[test]
fn a_quote_is_sent_with_lines_and_a_moment_ahead() {
    let send = |lines, until| RevisionState::Draft.send(lines, at(10), at(until));
    assert_eq!(send(1, 11), Ok(RevisionState::Sent));
    assert_eq!(send(1, 10), Err(QuoteRefusal::ExpiresInThePast));
    assert_eq!(send(0, 11), Err(QuoteRefusal::Empty));
}

#[test]
fn a_new_revision_waits_for_an_open_draft() {
    use RevisionState::{Draft, Replaced, Sent, Signed};
    assert_eq!(next_revision(&[]), Ok(1));
    assert_eq!(next_revision(&[(1, Replaced), (2, Signed)]), Ok(3));
    assert_eq!(next_revision(&[(1, Signed), (2, Draft)]), Err(QuoteRefusal::DraftOpen(2)));
    assert_eq!(current_revision(&[(1, Signed), (2, Sent), (3, Draft)]), Some((2, Sent)));
    assert_eq!(current_revision(&[(1, Draft)]), None);
    assert_eq!(agreed_revision(&[(1, Signed), (2, Signed), (3, Sent)]), Some(2));
}

#[test]
fn a_car_is_a_no_show_only_after_its_start() {
    assert_eq!(BookingState::Booked.no_show(at(0), at(1)), Err(BookingRefusal::NotLateYet { start: at(1) }));
    assert_eq!(BookingState::Booked.no_show(at(1), at(1)), Ok(BookingState::NoShow));
}

proptest! {
    #[test]
    fn a_quote_holds_until_its_moment_and_lapses_by_itself(now in -100_i64..100, until in -100_i64..100) {
        let (now, until) = (at(now), at(until));
        let sent = RevisionState::Sent;
        let holds = now < until;
        prop_assert_eq!(sent.sign(now, until).is_ok(), holds);
        prop_assert_eq!(sent.decline(now, until).is_ok(), holds);
        prop_assert_eq!(sent.lapse(now, until).is_ok(), !holds);
        prop_assert_eq!(sent.at(now, until), if holds { sent } else { RevisionState::Lapsed });
        for state in RevisionState::ALL.iter().filter(|state| **state != sent) {
            prop_assert_eq!(state.at(now, until), *state);
            prop_assert!(state.sign(now, until).is_err() && state.lapse(now, until).is_err());
        }
    }

    #[test]
    fn a_booking_moves_before_its_car_has_come_or_while_it_waits_beside_its_bay(now in -100_i64..100) {
        for state in BookingState::ALL {
            for waits in [false, true] {
                let moves = matches!(state, BookingState::Held | BookingState::Booked)
                    || (waits && *state == BookingState::InBay);
                let moved = state.relocate(at(now), None, waits);
                prop_assert_eq!(moved.is_ok(), moves);
                prop_assert!(moved.map_or(true, |after| after == *state));
            }
        }
    }

    #[test]
    fn a_hold_frees_its_bay_by_itself(now in -100_i64..100, until in -100_i64..100) {
        let (now, until) = (at(now), at(until));
        let held = BookingState::Held;
        let live = now < until;
        prop_assert_eq!(held.keeps_bay(now, Some(until)), live);
        prop_assert_eq!(held.book(now, Some(until)).is_ok(), live);
        prop_assert_eq!(held.relocate(now, Some(until), false).is_ok(), live);
        prop_assert_eq!(held.lapse(now, until).is_ok(), !live);
        for state in [BookingState::Booked, BookingState::InBay, BookingState::Ready] {
            prop_assert!(state.keeps_bay(now, Some(until)));
        }
        for state in [BookingState::HandedOver, BookingState::Cancelled, BookingState::NoShow] {
            prop_assert!(!state.keeps_bay(now, Some(until)));
        }
    }
}
