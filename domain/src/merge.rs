//! Merging two records of one customer, or of one vehicle: the state of a merged record, and the consents that are
//! valid then.

use alloc::vec::Vec;

use chrono::{DateTime, Utc};

use crate::customer::{Consent, ConsentKind};
use crate::life::life;
use crate::word::words;

words! {
    /// State of the record of a customer or a vehicle.
    pub enum RecordState("state of a record") {
        /// In use.
        Active = "ACTIVE" "in use",
        /// Another record replaces it.
        Merged = "MERGED" "merged into another",
        /// Its details were erased at the customer's wish.
        Erased = "ERASED" "erased",
    }
}

words! {
    /// Moves of the record of a customer or a vehicle.
    pub enum RecordMove("move of a record") {
        /// Merge it into another.
        Merge = "MERGE" "merged into another",
        /// Undo a merge.
        Separate = "SEPARATE" "separated",
        /// Erase its details.
        Erase = "ERASE" "erased",
    }
}

life!(
    RecordState,
    RecordMove,
    "record",
    [(Active, Merge, Merged), (Active, Erase, Erased), (Merged, Separate, Active), (Merged, Erase, Erased)]
);

impl RecordState {
    fn hint(self, wanted: RecordMove) -> &'static str {
        match (self, wanted) {
            (Self::Merged, RecordMove::Merge) => "; merge the record that replaced it",
            (Self::Active, RecordMove::Separate) => "; it isn't merged into another record",
            _ => "",
        }
    }
}

/// What happens to the consents when one record of a customer is merged into another.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct MergedConsents {
    /// Valid consents of the merged record that move to the other, by index.
    pub moved: Vec<usize>,
    /// Consents of the remaining record that end now, by index.
    pub ended: Vec<usize>,
}

/// Settles the consents of the remaining record (`kept`) with those of the merged one (`gone`). For each kind the
/// customer's latest statement counts, on whichever record it was made: a consent that was withdrawn on one record
/// after it was given on the other is valid on neither. A consent that is no longer valid stays with its own record.
pub fn merge_consents(kept: &[Consent], gone: &[Consent]) -> MergedConsents {
    let mut merged = MergedConsents::default();
    for kind in ConsentKind::ALL {
        let standing = |all: &[Consent]| all.iter().position(|one| one.kind == *kind && one.withdrawn_at.is_none());
        let (here, there) = (standing(kept), standing(gone));
        let taken_back = last(kept, gone, *kind, |one| one.withdrawn_at);
        let given = last(kept, gone, *kind, |one| Some(one.given_at).filter(|_| one.withdrawn_at.is_none()));
        if taken_back >= given {
            merged.ended.extend(here);
        } else if here.is_none() {
            merged.moved.extend(there);
        }
    }
    merged
}

fn last(
    kept: &[Consent],
    gone: &[Consent],
    kind: ConsentKind,
    moment: impl Fn(&Consent) -> Option<DateTime<Utc>>,
) -> Option<DateTime<Utc>> {
    kept.iter().chain(gone).filter(|one| one.kind == kind).filter_map(moment).max()
}

#[cfg(test)]
mod tests {
    use alloc::vec;

    use super::*;

    fn consent(kind: ConsentKind, given: i64, withdrawn: Option<i64>) -> Consent {
        let at = |seconds| DateTime::from_timestamp(seconds, 0).unwrap();
        Consent { kind, given_at: at(given), withdrawn_at: withdrawn.map(at) }
    }

    #[test]
    fn the_last_word_counts_on_whichever_record_it_was_said() {
        use ConsentKind::{Mail, Marketing, Phone, Photos};
        let kept = [consent(Mail, 10, None), consent(Marketing, 10, None), consent(Photos, 5, Some(20))];
        let gone = [
            consent(Mail, 12, None),
            consent(Marketing, 5, Some(15)),
            consent(Photos, 15, None),
            consent(Phone, 11, None),
        ];
        // Mail is valid on both and stays; marketing was withdrawn later; photographs were withdrawn later on the
        // remaining record; only calls move.
        assert_eq!(merge_consents(&kept, &gone), MergedConsents { moved: vec![3], ended: vec![1] });
    }

    #[test]
    fn a_consent_that_was_given_again_after_it_was_taken_back_stands() {
        let kind = ConsentKind::Marketing;
        let taken_back = [consent(kind, 5, Some(15))];
        assert_eq!(merge_consents(&taken_back, &[consent(kind, 20, None)]).moved, [0]);
        assert!(merge_consents(&[consent(kind, 20, None)], &taken_back).ended.is_empty());
        assert_eq!(merge_consents(&[consent(kind, 15, None)], &taken_back).ended, [0], "at one moment, no wins");
        assert_eq!(merge_consents(&[], &[]), MergedConsents::default());
    }
}
