//! Filters of the list of visits by what their records say.

/// Limits a boxed query of heads to the visits of a group. The records are chosen by queries within the query, so a page of
/// the list costs one statement whatever the group.
macro_rules! of_group {
    ($heads:expr, $group:expr, $tx:expr) => {{
        use baywright_domain::booking::BookingState;
        use baywright_domain::invoice::State;
        use baywright_domain::quote::RevisionState;
        use baywright_domain::visit::VisitGroup;
        use diesel::dsl::{exists, not};

        use crate::platform::kept::Named;
        use crate::schema::booking;

        let shop = $tx.studio.id.as_str();
        let now = $tx.now.ms();
        match $group {
            VisitGroup::Offered => {
                let valid = quote_revision::state.eq(RevisionState::Sent.as_str());
                let valid = valid.and(quote_revision::holds_until.gt(now));
                let open = quote_revision::state.eq(RevisionState::Draft.as_str()).or(valid);
                let offered = rows_of_shop!(quote_revision, id = shop).filter(open).select(quote_revision::quote_id);
                $heads.filter(quote::id.eq_any(offered))
            }
            VisitGroup::Booked => {
                let held = booking::state.eq(BookingState::Held.stored()).and(booking::hold_until.gt(now));
                let agreed = booking::state.eq(BookingState::Booked.stored()).or(held);
                let booked = rows_of_shop!(booking, id = shop).filter(agreed).select(booking::quote_id);
                $heads.filter(quote::id.eq_any(booked))
            }
            VisitGroup::Here => {
                let come = [BookingState::InBay, BookingState::Ready].map(BookingState::stored);
                let here =
                    rows_of_shop!(booking, id = shop).filter(booking::state.eq_any(come)).select(booking::quote_id);
                $heads.filter(quote::id.eq_any(here))
            }
            VisitGroup::Unpaid => {
                let owed = [State::Issued, State::PartPaid].map(State::as_str);
                let open = rows_of_shop!(invoice, id = shop)
                    .filter(invoice::state.eq_any(owed))
                    .filter(invoice::quote_id.is_not_null())
                    .select(invoice::quote_id.assume_not_null());
                let unissued = [State::Draft, State::Credited].map(State::as_str);
                let billed = rows_of_shop!(invoice, id = shop)
                    .filter(invoice::quote_id.eq(booking::quote_id.nullable()))
                    .filter(invoice::state.ne_all(unissued))
                    .select(invoice::id);
                let gone = rows_of_shop!(booking, id = shop)
                    .filter(booking::state.eq(BookingState::HandedOver.stored()))
                    .filter(not(exists(billed)))
                    .select(booking::quote_id);
                $heads.filter(quote::id.eq_any(open).or(quote::id.eq_any(gone)))
            }
        }
    }};
}
pub(super) use of_group;
