//! Importing and exporting lists.

use std::collections::BTreeMap;

use baywright_domain::customer::Traits;
use baywright_domain::id::{CustomerId, VehicleId};
use baywright_domain::vehicle::Traits as VehicleTraits;

use super::directory::Directory;
pub use super::report::{Here, Known, Report, Told, told};
use super::sheet::{CellFault, Row, write};
use super::{customers, vehicles};
use crate::platform::fail::{Done, Fail};
use crate::platform::phone;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::warning::Warning;
use crate::{customer, vehicle};

/// Result of one row.
enum Became {
    Added,
    AlreadyHere(String),
}

/// Adds the customers of a list that are not there yet.
pub fn import_customers(tx: &mut Tx<'_>, rows: &[Row<customers::Listed>]) -> Done<Report> {
    let mut directory = Directory::of(customer::usecase::known(tx)?);
    each(tx, rows, customers::Listed::column, |tx, listed| {
        let traits = listed.details.traits(tx.studio.country);
        if let Some(id) = directory.same(&traits) {
            return Ok(Became::AlreadyHere(id.to_string()));
        }
        if customer::usecase::was_erased(tx, &traits)? {
            let detail = "The row was left out, because a customer with this telephone number or email address asked \
                          to be erased.";
            tx.must_confirm("erased-customer", detail)?;
        }
        let added = customer::usecase::add(tx, &listed.details, &listed.consents)?;
        directory.add(added.id, traits);
        Ok(Became::Added)
    })
}

/// Adds the vehicles of a list that do not exist yet to the customers that the list names.
pub fn import_vehicles(tx: &mut Tx<'_>, rows: &[Row<vehicles::Listed>]) -> Done<Report> {
    let directory = Directory::of(customer::usecase::known(tx)?);
    let mut here: BTreeMap<CustomerId, Vec<(VehicleId, VehicleTraits)>> = BTreeMap::new();
    for vehicle in vehicle::usecase::all(tx)? {
        let traits = vehicle.details.traits();
        here.entry(vehicle.details.customer_id).or_default().push((vehicle.id, traits));
    }
    each(
        tx,
        rows,
        |_, pointer| vehicles::column(pointer),
        |tx, listed| {
            let phones = listed.owner.phones.iter().map(|typed| phone::key(typed, tx.studio.country)).collect();
            let owner = match directory.named(&Traits { phones, ..listed.owner.clone() })[..] {
                [owner] => owner.clone(),
                [] => {
                    let detail = "There is no such customer. Import the list of customers first, or correct the \
                                  customer in this row.";
                    return Err(Refused::field("/customer_reference", "not_found", detail).into());
                }
                _ => {
                    let detail = "Several customers match this row. Give the customer's reference.";
                    return Err(Refused::field("/customer_reference", "ambiguous", detail).into());
                }
            };
            let details = vehicle::usecase::Details { customer_id: owner.clone(), ..listed.details.clone() };
            let traits = details.traits();
            let theirs = here.entry(owner).or_default();
            if let Some((id, _)) = theirs.iter().find(|(_, known)| known.same(&traits)) {
                return Ok(Became::AlreadyHere(id.to_string()));
            }
            let added = vehicle::usecase::add(tx, &details)?;
            theirs.push((added.id, traits));
            Ok(Became::Added)
        },
    )
}

/// Imports row after row; a refused one stores nothing. `column` names the column for a pointer into the body of a
/// single creation.
fn each<T>(
    tx: &mut Tx<'_>,
    rows: &[Row<T>],
    column: impl Fn(&T, &str) -> String,
    mut take_in: impl FnMut(&mut Tx<'_>, &T) -> Done<Became>,
) -> Done<Report> {
    let mut report = Report { rows: rows.len(), ..Report::default() };
    for row in rows {
        let line = row.line;
        let faults = match &row.said {
            Err(faults) => faults.clone(),
            Ok(said) => match warned(tx, said, &mut take_in) {
                Ok((Became::AlreadyHere(id), _)) => {
                    report.already_here.push(Here { line, id });
                    continue;
                }
                Ok((Became::Added, warnings)) => {
                    report.added += 1;
                    let cell = |warning: &Warning| {
                        CellFault::new(&column(said, &warning.pointer), &warning.code, warning.detail.clone())
                    };
                    if !warnings.is_empty() {
                        report.warnings.push(Told { line, faults: warnings.iter().map(cell).collect() });
                    }
                    continue;
                }
                Err(Fail::Refused(problem)) if !problem.known().is_empty() => {
                    report.known.push(Known { line, records: problem.known().to_vec() });
                    continue;
                }
                Err(Fail::Refused(problem)) => told(&problem, &|pointer: &str| column(said, pointer)),
                Err(trouble) => return Err(trouble),
            },
        };
        report.refused.push(Told { line, faults });
    }
    Ok(report)
}

/// Imports one row; returns its warnings, which concern the row and not the whole list.
fn warned<T>(
    tx: &mut Tx<'_>,
    said: &T,
    take_in: &mut impl FnMut(&mut Tx<'_>, &T) -> Done<Became>,
) -> Done<(Became, Vec<Warning>)> {
    let before = std::mem::take(&mut tx.warnings);
    let became = tx.part(|tx| take_in(tx, said));
    let warnings = std::mem::replace(&mut tx.warnings, before);
    Ok((became?, warnings))
}

/// Every customer as a list.
pub fn export_customers(tx: &mut Tx<'_>) -> Done<String> {
    let all = customer::usecase::all(tx)?;
    write(customers::COLUMNS, all.iter().map(customers::cells))
}

/// Every vehicle as a list, with its customer; those of erased customers are left out.
pub fn export_vehicles(tx: &mut Tx<'_>) -> Done<String> {
    let owners: BTreeMap<CustomerId, Traits> = customer::usecase::known(tx)?.into_iter().collect();
    let all = vehicle::usecase::all(tx)?;
    let rows = all
        .iter()
        .filter_map(|vehicle| owners.get(&vehicle.details.customer_id).map(|owner| vehicles::cells(vehicle, owner)));
    write(vehicles::COLUMNS, rows)
}
