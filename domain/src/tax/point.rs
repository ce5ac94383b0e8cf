//! Tax points: the day that determines the rate of a supply, or of a payment before it.

use chrono::NaiveDate;

/// Time when tax becomes chargeable on a document.
///
/// Source: Council Directive 2006/112/EC. Article 63: tax becomes chargeable when goods or services are supplied. Article
/// 65: on a payment before the supply, it becomes chargeable when the payment is received, on the amount received. Article
/// 93: the rate is the one in force at that time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TaxPoint {
    /// The day of the supply: the car was handed over.
    Supplied(NaiveDate),
    /// The day on which a deposit was received.
    PaidBefore(NaiveDate),
    /// Neither has happened yet. The rate of this day is used until then, and is looked up again afterwards.
    Expected(NaiveDate),
}

impl TaxPoint {
    /// Tax point of a final invoice: the day of the hand-over, or `today` if the car was not handed over yet.
    pub fn of_supply(handed_over: Option<NaiveDate>, today: NaiveDate) -> Self {
        handed_over.map_or(Self::Expected(today), Self::Supplied)
    }

    /// Tax point of a deposit invoice: the day of its payment, or `today` if nothing was received yet. If the rate of
    /// that day differs from the one on the deposit invoice, the invoice is corrected.
    pub fn of_deposit(received: Option<NaiveDate>, today: NaiveDate) -> Self {
        received.map_or(Self::Expected(today), Self::PaidBefore)
    }

    /// The day whose rate applies.
    pub const fn day(self) -> NaiveDate {
        match self {
            Self::Supplied(day) | Self::PaidBefore(day) | Self::Expected(day) => day,
        }
    }

    /// The day as a document states it (EN 16931-1, BT-7): `None` until tax is chargeable.
    pub const fn stated(self) -> Option<NaiveDate> {
        match self {
            Self::Supplied(day) | Self::PaidBefore(day) => Some(day),
            Self::Expected(_) => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tax_is_chargeable_on_the_day_of_supply_and_on_a_deposit_on_the_day_of_payment() {
        let [first, later] = ["2020-06-30", "2020-07-01"].map(|day| day.parse::<NaiveDate>().unwrap());
        assert_eq!(TaxPoint::of_supply(Some(first), later).stated(), Some(first));
        assert_eq!(TaxPoint::of_deposit(Some(first), later), TaxPoint::PaidBefore(first));
        for waiting in [TaxPoint::of_supply(None, later), TaxPoint::of_deposit(None, later)] {
            assert_eq!((waiting.day(), waiting.stated()), (later, None));
        }
    }
}
