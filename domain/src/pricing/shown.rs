//! Detail of a price explanation for the customer.
//!
//! The shop's setting `price_detail` decides it when the quote is sent: the sealed document has exactly those rows. The
//! full explanation is stored beside the document, for the studio, and is erased with the customer's data.

use alloc::vec::Vec;

use super::{Explained, ExplainedKind, Figure};
use crate::vehicle::Car;
use crate::word::words;

words! {
    /// Detail of a price explanation for the customer. The owner always sees all of it.
    pub enum PriceDetail("price detail") {
        /// What the price depends on: size, condition, quantity and discounts.
        Summary = "SUMMARY" "summary",
        /// Every number: minutes, labour rate, products and rounding too.
        Full = "FULL" "full",
    }
}

impl PriceDetail {
    /// The rows of a line's explanation that the customer sees. A summary can't be recalculated.
    pub fn rows(self, all: &[Explained], car: Car) -> Vec<Explained> {
        if self == Self::Full {
            return all.to_vec();
        }
        let of_menu = all.first().is_some_and(|first| first.kind != ExplainedKind::Custom);
        let by_condition = all.iter().any(|row| {
            row.kind == ExplainedKind::Condition
                || row.figures.iter().any(|figure| matches!(figure, Figure::ConditionFactor(_)))
        });
        let mut rows = Vec::new();
        if of_menu {
            rows.push(Explained::said(ExplainedKind::Size, alloc::format!("Size: {}", car.size)));
        }
        if by_condition {
            rows.push(Explained::said(ExplainedKind::Condition, alloc::format!("Condition: {}", car.condition)));
        }
        let kept = [ExplainedKind::Saving, ExplainedKind::Quantity, ExplainedKind::Discount];
        rows.extend(all.iter().filter(|row| kept.contains(&row.kind)).cloned());
        rows
    }
}

#[cfg(test)]
mod tests {
    use rust_decimal::Decimal;

    use super::*;
    use crate::inspection::ConditionClass;
    use crate::money::Money;
    use crate::vehicle::{Powertrain, SizeClass};

    #[test]
    fn a_summary_names_what_the_price_depends_on_and_none_of_the_shops_own_numbers() {
        let car = Car { size: SizeClass::Large, condition: ConditionClass::Heavy, powertrain: Powertrain::Combustion };
        let figures = alloc::vec![Figure::ConditionFactor(Decimal::TWO), Figure::PerHour(Money::from_minor(6_000))];
        let labour = Explained { figures, ..Explained::said(ExplainedKind::Labour, "Machine polish".into()) };
        let all = [
            labour,
            Explained::said(ExplainedKind::Product, "Polish".into()),
            Explained::said(ExplainedKind::RoundedUp, "Rounded up".into()),
            Explained::discount("Autumn", None, Money::from_minor(500)),
        ];
        let rows = PriceDetail::Summary.rows(&all, car);
        let labels: Vec<&str> = rows.iter().map(|row| row.label.as_str()).collect();
        assert_eq!(labels, ["Size: large", "Condition: heavy", "Autumn"]);
        let told = |figure: &Figure| matches!(figure, Figure::Amount(_) | Figure::Percent(_) | Figure::Quantity(_));
        assert!(rows.iter().flat_map(|row| &row.figures).all(told), "{rows:?}");
        assert_eq!(PriceDetail::Full.rows(&all, car), all);
        let custom = [Explained::custom("Leather balm".into(), Money::from_minor(4_000))];
        assert!(PriceDetail::Summary.rows(&custom, car).is_empty());
    }
}
