//! The sums of a document.

use alloc::vec::Vec;

use super::{Adjustment, BadDocument, Broken, Document, MOST, MOST_DISCOUNTS, Place, Prices, discount, line};
use crate::money::{LIMIT, Money};
use crate::tax::{Basis, Profile, Treatment, net_shares, tax_on, within};

/// A document's sums.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Totals {
    /// Each line, in the document's order.
    pub lines: Vec<LineTotal>,
    /// The document's allowances and then the shares of its discounts, as used in the computation.
    pub allowance_items: Vec<Adjustment>,
    /// Their nets, in the same order.
    pub allowance_nets: Vec<Money>,
    /// The nets of the document's charges, in its order.
    pub charge_nets: Vec<Money>,
    /// Sum of line nets (BT-106).
    pub sum_of_lines: Money,
    /// Sum of allowance nets (BT-107).
    pub allowances: Money,
    /// Sum of charge nets (BT-108).
    pub charges: Money,
    /// Without tax (BT-109): sum of lines − allowances + charges.
    pub net: Money,
    /// The breakdown by category and rate (BG-23), in order of first mention.
    pub taxes: Vec<CategoryTotal>,
    /// Sum of the taxes (BT-110).
    pub tax: Money,
    /// With tax (BT-112): net + tax.
    pub gross: Money,
    /// Amount by which the payable amount is rounded (BT-114): the document's own, and the part that gross prices need.
    pub rounding: Money,
    /// Amount that was paid before (BT-113).
    pub prepaid: Money,
    /// Amount to be paid (BT-115): gross − prepaid + rounding.
    pub payable: Money,
}

impl Totals {
    /// Total with tax before any payment: gross + rounding. With gross prices it is exactly the sum of the prices.
    pub fn promised(&self) -> Money {
        self.gross + self.rounding
    }
}

/// A line's amounts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LineTotal {
    /// `quantity × price ÷ base quantity`, in the document's prices.
    pub listed: Money,
    /// Amount of the line's discount, in the document's prices.
    pub discount: Money,
    /// After discount, allowance and charge, in the document's prices.
    pub entered: Money,
    /// Without tax (BT-131); the same as `entered` if prices are net.
    pub net: Money,
}

/// One row of the tax breakdown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CategoryTotal {
    /// Category and rate (BT-118, BT-119).
    pub treatment: Treatment,
    /// Taxable amount (BT-116).
    pub taxable: Money,
    /// Tax (BT-117).
    pub tax: Money,
}

/// A line, allowance or charge to be added to the sums; an allowance counts as negative.
struct Item {
    treatment: Treatment,
    entered: Money,
    net: Money,
}

/// Sums a document up; see [`Document::totals`].
pub(super) fn totals(document: &Document) -> Result<Totals, BadDocument> {
    check(document)?;
    let mut lines = Vec::with_capacity(document.lines.len());
    let mut items: Vec<Item> = Vec::new();
    for (at, line) in document.lines.iter().enumerate() {
        let line::Entered { listed, discount, amount } = line::entered(line, at, document.currency)?;
        lines.push(LineTotal { listed, discount, entered: amount, net: amount });
        items.push(Item { treatment: line.treatment, entered: amount, net: amount });
    }
    let mut allowance_items = document.allowances.clone();
    allowance_items.extend(discount::shared(&document.discounts, &by_treatment(&items))?);
    let taken = allowance_items.iter().map(|a| (a.treatment, -a.amount));
    let put = document.charges.iter().map(|c| (c.treatment, c.amount));
    items.extend(taken.chain(put).map(|(treatment, entered)| Item { treatment, entered, net: entered }));

    let mut taxes = Vec::new();
    let mut rounding = document.rounding;
    for (treatment, entered) in by_treatment(&items) {
        let mut own: Vec<&mut Item> = items.iter_mut().filter(|i| i.treatment == treatment).collect();
        let (row, rest) = match document.prices {
            Prices::Net => (on_top(treatment, entered, &own, document.profile)?, Money::ZERO),
            Prices::Gross => out_of(treatment, entered, &mut own, document.profile)?,
        };
        taxes.push(row);
        rounding += rest;
    }

    let mut nets = items.iter().map(|i| i.net);
    for line in &mut lines {
        line.net = nets.next().unwrap_or(line.net);
    }
    let allowance_nets: Vec<Money> = nets.by_ref().take(allowance_items.len()).map(|net| -net).collect();
    let charge_nets: Vec<Money> = nets.collect();
    let sum_of_lines: Money = lines.iter().map(|l| l.net).sum();
    let allowances: Money = allowance_nets.iter().copied().sum();
    let charges: Money = charge_nets.iter().copied().sum();
    let net = sum_of_lines - allowances + charges;
    let tax: Money = taxes.iter().map(|t| t.tax).sum();
    let gross = net + tax;
    let prepaid = document.prepaid;
    let payable = gross - prepaid + rounding;
    let sums = [sum_of_lines, allowances, charges, net, tax, gross, rounding, payable];
    if sums.iter().any(|&sum| !fits(sum)) {
        return Err(TOO_LARGE);
    }
    Ok(Totals {
        lines,
        allowance_items,
        allowance_nets,
        charge_nets,
        sum_of_lines,
        allowances,
        charges,
        net,
        taxes,
        tax,
        gross,
        rounding,
        prepaid,
        payable,
    })
}

const TOO_LARGE: BadDocument = BadDocument { place: Place::Whole, broken: Broken::TooLarge };

/// Whether an amount may stand in a document.
fn fits(amount: Money) -> bool {
    amount.minor().unsigned_abs() <= LIMIT.unsigned_abs()
}

/// Checks that need no sums. After them, every sum of the document fits an `i64`: each list has at most [`MOST`] items of at
/// most [`LIMIT`], and a discount on the document never exceeds the sum of its lines.
fn check(document: &Document) -> Result<(), BadDocument> {
    if document.lines.is_empty() {
        return Err(BadDocument { place: Place::Field("lines"), broken: Broken::Empty });
    }
    let sizes = [
        ("lines", document.lines.len(), MOST),
        ("allowances", document.allowances.len(), MOST),
        ("charges", document.charges.len(), MOST),
        ("discounts", document.discounts.len(), MOST_DISCOUNTS),
    ];
    if let Some((list, ..)) = sizes.into_iter().find(|&(_, size, most)| size > most) {
        return Err(BadDocument { place: Place::Field(list), broken: Broken::TooMany });
    }
    for (list, items) in [("allowances", &document.allowances), ("charges", &document.charges)] {
        if let Some(at) = items.iter().position(|a| !fits(a.amount)) {
            return Err(BadDocument { place: Place::Item { list, at, field: "amount" }, broken: Broken::TooLarge });
        }
    }
    for (field, amount) in [("prepaid", document.prepaid), ("rounding", document.rounding)] {
        if !fits(amount) {
            return Err(BadDocument { place: Place::Field(field), broken: Broken::TooLarge });
        }
    }
    Ok(())
}

/// The entered amounts summed per treatment, in order of first mention.
fn by_treatment(items: &[Item]) -> Vec<(Treatment, Money)> {
    let mut groups: Vec<(Treatment, Money)> = Vec::new();
    for item in items {
        match groups.iter_mut().find(|(treatment, _)| *treatment == item.treatment) {
            Some((_, sum)) => *sum += item.entered,
            None => groups.push((item.treatment, item.entered)),
        }
    }
    groups
}

/// Tax on top of the net prices of one treatment.
fn on_top(
    treatment: Treatment,
    taxable: Money,
    own: &[&mut Item],
    profile: Profile,
) -> Result<CategoryTotal, BadDocument> {
    let tax_of = |net| tax_on(net, treatment.rate(), profile.rounding).map_err(|_| TOO_LARGE);
    let tax = match profile.basis {
        Basis::Category => tax_of(taxable)?,
        Basis::Line => own.iter().map(|item| tax_of(item.entered)).sum::<Result<Money, _>>()?,
    };
    Ok(CategoryTotal { treatment, taxable, tax })
}

/// Takes tax out of the gross prices of one treatment and sets the nets of its items; returns the rest for the rounding.
fn out_of(
    treatment: Treatment,
    gross: Money,
    own: &mut [&mut Item],
    profile: Profile,
) -> Result<(CategoryTotal, Money), BadDocument> {
    let included = |gross| within(gross, treatment.rate(), profile.rounding).map_err(|_| TOO_LARGE);
    match profile.basis {
        Basis::Category => {
            let whole = included(gross)?;
            let grosses: Vec<Money> = own.iter().map(|item| item.entered).collect();
            let nets = net_shares(whole.net, treatment.rate(), &grosses).map_err(|_| TOO_LARGE)?;
            for (item, net) in own.iter_mut().zip(nets) {
                item.net = net;
            }
            Ok((CategoryTotal { treatment, taxable: whole.net, tax: whole.tax }, whole.rounding))
        }
        Basis::Line => {
            let mut row = CategoryTotal { treatment, taxable: Money::ZERO, tax: Money::ZERO };
            let mut rest = Money::ZERO;
            for item in own {
                let part = included(item.entered)?;
                item.net = part.net;
                row.taxable += part.net;
                row.tax += part.tax;
                rest += part.rounding;
            }
            Ok((row, rest))
        }
    }
}
