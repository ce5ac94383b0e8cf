//! What holds for payments and their references.

use baywright_domain::id::InvoiceId;
use baywright_domain::invoice::{Account, State};
use baywright_domain::money::Money;
use baywright_domain::payment::{Iban, Reference, allocate};
use proptest::prelude::*;

proptest! {
    #![proptest_config(ProptestConfig { cases: 2_000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn the_parts_of_a_payment_and_its_surplus_sum_to_it(
        amount in 1..1_000_000_i64, open in prop::collection::vec(1..200_000_i64, 0..8),
    ) {
        let invoices: Vec<_> = open.iter().enumerate().map(|(at, &open)| {
            let account = Account { state: State::Issued, open: Money::from_minor(open), paid: Money::ZERO };
            (InvoiceId::new(at.to_string()), account)
        }).collect();
        let amount = Money::from_minor(amount);
        let allocation = allocate(amount, &invoices).unwrap();
        let used: Money = allocation.parts.iter().map(|p| p.used).sum();
        prop_assert_eq!(used + allocation.surplus, amount);
        // Nobody is owed a surplus while an invoice is open.
        let all_paid = allocation.parts.len() == open.len()
            && allocation.parts.iter().all(|p| p.account.state == State::Paid);
        prop_assert!(allocation.surplus.is_zero() || all_paid);
    }

    /// One digit for another, or one letter for another: what MOD 97-10 is made to find.
    #[test]
    fn every_reference_that_is_made_reads_back_and_none_with_a_mistyped_character(
        number in "[A-Z0-9]{1,21}", at in 4..25_usize, other in "[A-Z0-9]",
    ) {
        let made = Reference::for_number(&number).unwrap();
        prop_assert_eq!(Reference::parse(&made.to_string()), Ok(made.clone()));
        let mut mistyped = made.as_str().to_owned();
        let digit = |text: &str| text.chars().all(|c| c.is_ascii_digit());
        if mistyped.get(at..=at).is_some_and(|was| was != other && digit(was) == digit(&other)) {
            mistyped.replace_range(at..=at, &other);
            prop_assert!(Reference::parse(&mistyped).is_err(), "{} for {}", mistyped, made);
        }
    }

    #[test]
    fn any_text_is_read_without_panic(text in "\\PC{0,40}") {
        let _ = Reference::parse(&text);
        let _ = Reference::for_number(&text);
        let _ = Iban::parse(&text);
    }
}
