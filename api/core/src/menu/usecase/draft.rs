//! The draft: the content of the next revision. A shop that never wrote one has an empty draft of version 0.

use baywright_domain::document::Prices;
use baywright_domain::id::MenuRevisionId;
use baywright_domain::menu::{self, Abilities, Menu};
use baywright_domain::refusal::Fault;
use baywright_domain::time::Minutes;
use serde_json::{Value, json};

use super::{basis, first, kept, numbers, publish};
use crate::menu::kept::{CheckpointForm, MenuForm, PackageForm, ProductForm, ServiceForm, StepForm, translate};
use crate::menu::store;
use crate::platform::canonical::canonical;
use crate::platform::clock::UtcTime;
use crate::platform::fail::{Done, Fail};
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::version::Seen;
use crate::platform::{ids, record};
use crate::{people, shop};

/// Maximum size of a draft, in bytes: that of the largest body of a request, so that it can always be sent as a whole.
pub const MOST_BYTES: usize = 256 * 1024;

/// Maximum minutes of a step, or of a wait after it: thirty days.
pub const MOST_MINUTES: u32 = 43_200;

/// The draft in its current state.
#[derive(Debug, Clone)]
pub struct Draft {
    /// Version, which every change raises by one; 0 if nothing was ever written.
    pub version: i64,
    /// Time when it last changed; none if it never did.
    pub updated_at: Option<UtcTime>,
    /// Tax basis of its prices, which is the shop's current one.
    pub prices: Prices,
    /// The menu.
    pub menu: MenuForm,
}

/// The shop's draft.
pub fn draft(tx: &mut Tx<'_>) -> Done<Draft> {
    let prices = numbers(tx)?.prices;
    Ok(match store::draft(tx)? {
        None => Draft { version: 0, updated_at: None, prices, menu: MenuForm::empty() },
        Some(row) => Draft {
            version: row.version,
            prices,
            updated_at: Some(UtcTime::from_ms(row.updated_at)),
            menu: kept(&row.content)?,
        },
    })
}

/// Replaces the whole draft.
///
/// # Errors
/// `ChangedMeanwhile` if it has another version; `Invalid` that points at an amount or mix that can't be read.
pub fn replace(tx: &mut Tx<'_>, seen: Seen, menu: &MenuForm) -> Done<Draft> {
    let numbers = numbers(tx)?;
    menu.read(&numbers)?;
    edit(tx, seen, json!({ "whole": true }), |draft| {
        *draft = menu.clone();
        Ok(())
    })
}

/// Replaces the checkpoints.
///
/// # Errors
/// `ChangedMeanwhile` if the draft has another version.
pub fn put_checkpoints(tx: &mut Tx<'_>, seen: Seen, checkpoints: &[CheckpointForm]) -> Done<Draft> {
    edit(tx, seen, json!({ "kind": "checkpoints" }), |draft| {
        draft.checkpoints = checkpoints.to_vec();
        Ok(())
    })
}

/// Writes a product, new or known by its code.
///
/// # Errors
/// `ChangedMeanwhile` if the draft has another version; `Invalid` if the path has another code, or a value can't be
/// read.
pub fn put_product(tx: &mut Tx<'_>, seen: Seen, code: &str, form: &ProductForm) -> Done<Draft> {
    same_code(code, &form.code)?;
    form.read(numbers(tx)?.currency, "")?;
    edit(tx, seen, json!({ "kind": "product", "code": code }), |draft| {
        put(&mut draft.products, 200, form, |one| &one.code)
    })
}

/// Writes a step, new or known by its code.
///
/// # Errors
/// `ChangedMeanwhile` if the draft has another version; `Invalid` if the path has another code.
pub fn put_step(tx: &mut Tx<'_>, seen: Seen, code: &str, form: &StepForm) -> Done<Draft> {
    same_code(code, &form.code)?;
    form.read()?;
    edit(tx, seen, json!({ "kind": "step", "code": code }), |draft| put(&mut draft.steps, 200, form, |one| &one.code))
}

/// The draft, with its menu for the rules with the shop's current factors and rates.
pub fn drafted(tx: &mut Tx<'_>) -> Done<(Draft, Menu)> {
    let draft = draft(tx)?;
    let menu = draft.menu.read(&numbers(tx)?)?;
    Ok((draft, menu))
}

/// Changes the minutes of a step, and those that services require instead.
///
/// # Errors
/// `NotFound` if the draft has no step of that code; `ChangedMeanwhile` if it has another version.
pub fn rescale_step(tx: &mut Tx<'_>, seen: Seen, code: &menu::Code, scale: impl Fn(Minutes) -> Minutes) -> Done<Draft> {
    // A step that takes time must still take some: without any it would have no technician, and give no more lessons.
    let scaled = |minutes: &mut u32| {
        *minutes = scale(Minutes::new(*minutes)).get().clamp((*minutes).min(1), MOST_MINUTES);
    };
    edit(tx, seen, json!({ "kind": "step", "code": code.as_str(), "rescaled": true }), |draft| {
        let step = draft.steps.iter_mut().find(|step| step.code == code.as_str());
        scaled(&mut step.ok_or_else(|| Refused::not_found("step"))?.base_minutes);
        let uses = draft.services.iter_mut().flat_map(|service| &mut service.steps);
        uses.filter(|used| used.step == code.as_str()).filter_map(|used| used.base_minutes.as_mut()).for_each(scaled);
        Ok(())
    })
}

/// Writes a service, new or known by its code.
///
/// # Errors
/// `ChangedMeanwhile` if the draft has another version; `Invalid` if the path has another code, or a value can't be
/// read.
pub fn put_service(tx: &mut Tx<'_>, seen: Seen, code: &str, form: &ServiceForm) -> Done<Draft> {
    same_code(code, &form.code)?;
    form.read(numbers(tx)?.currency, "")?;
    edit(tx, seen, json!({ "kind": "service", "code": code }), |draft| {
        put(&mut draft.services, 100, form, |one| &one.code)
    })
}

/// Writes a package, new or known by its code.
///
/// # Errors
/// `ChangedMeanwhile` if the draft has another version; `Invalid` if the path has another code, or a value can't be
/// read.
pub fn put_package(tx: &mut Tx<'_>, seen: Seen, code: &str, form: &PackageForm) -> Done<Draft> {
    same_code(code, &form.code)?;
    form.read(numbers(tx)?.currency, "")?;
    edit(tx, seen, json!({ "kind": "package", "code": code }), |draft| {
        put(&mut draft.packages, 40, form, |one| &one.code)
    })
}

macro_rules! removal {
    ($($(#[$doc:meta])* $name:ident: $list:ident, $word:literal;)+) => {$(
        $(#[$doc])*
        ///
        /// # Errors
        /// `NotFound` if the draft has none of that code; `ChangedMeanwhile` if it has another version.
        pub fn $name(tx: &mut Tx<'_>, seen: Seen, code: &str) -> Done<Draft> {
            edit(tx, seen, json!({ "kind": $word, "code": code, "removed": true }), |draft| {
                let before = draft.$list.len();
                draft.$list.retain(|one| one.code != code);
                if draft.$list.len() == before { Err(Refused::not_found($word).into()) } else { Ok(()) }
            })
        }
    )+};
}

removal! {
    /// Removes a product.
    remove_product: products, "product";
    /// Removes a step.
    remove_step: steps, "step";
    /// Removes a service.
    remove_service: services, "service";
    /// Removes a package.
    remove_package: packages, "package";
}

/// Replaces the draft with a published revision. If the shop has changed the tax basis since, the revision's prices are
/// converted.
///
/// # Errors
/// `NotFound` if the shop has no such revision; `ChangedMeanwhile` if the draft has another version.
pub fn restore(tx: &mut Tx<'_>, seen: Seen, id: &MenuRevisionId) -> Done<Draft> {
    let (revision, menu) = publish::show_revision(tx, id)?;
    let menu = basis::in_todays_basis(tx, revision.prices, menu)?;
    edit(tx, seen, json!({ "restored": revision.number.to_string() }), |draft| {
        *draft = menu.clone();
        Ok(())
    })
}

/// A menu for the rules, with its faults and warnings. Pointers lead into the form that it was read from.
#[derive(Debug, Clone)]
pub struct Judged {
    /// The menu of the rules.
    pub menu: Menu,
    /// All faults that prevent publishing; empty if it can be published.
    pub faults: Vec<Fault>,
    /// Warnings about allowed but suspicious values.
    pub warnings: Vec<Fault>,
}

/// The draft with all its faults and warnings.
pub fn validated(tx: &mut Tx<'_>) -> Done<(Draft, Judged)> {
    let draft = draft(tx)?;
    let judged = judged(tx, &draft.menu)?;
    Ok((draft, judged))
}

/// Faults and warnings of a menu.
pub(super) fn judged(tx: &mut Tx<'_>, form: &MenuForm) -> Done<Judged> {
    let settings = shop::usecase::settings(tx)?;
    let menu = form.read(&numbers(tx)?)?;
    let mut faults = menu.faults();
    for fault in &mut faults {
        fault.pointer = translate(&fault.pointer);
    }
    if menu.services.is_empty() {
        faults.push(Fault {
            pointer: "/services".into(),
            code: "missing",
            detail: "a menu needs at least one service".into(),
        });
    }
    let services = menu.services.iter().enumerate().map(|(at, one)| (format!("/services/{at}/tax"), &one.tax));
    let packages = menu.packages.iter().enumerate().map(|(at, one)| (format!("/packages/{at}/tax"), &one.tax));
    for (pointer, tax) in services.chain(packages).filter(|(_, tax)| settings.tax(tax).is_none()) {
        let known: Vec<&str> = settings.taxes.iter().map(|tax| tax.code.as_str()).collect();
        let detail = format!("the shop has no tax category {tax}: use one of {}", known.join(", "));
        faults.push(Fault { pointer, code: "unknown", detail });
    }
    let mut warnings = menu.warnings(&abilities(tx, settings.terms.moving.max_stays.get())?);
    for warning in &mut warnings {
        warning.pointer = translate(&warning.pointer);
    }
    warnings.extend(first::unchecked(form));
    Ok(Judged { menu, faults, warnings })
}

/// Skills of the shop's people and features of its bays; a car is in at most `most_stays` of them, one after another.
fn abilities(tx: &mut Tx<'_>, most_stays: u32) -> Done<Abilities> {
    let people = people::usecase::everyone(tx)?.into_iter();
    let working = people.filter(|person| person.active && !person.details.shifts.is_empty());
    let people = working.map(|person| person.details.skills).collect();
    let bays = shop::usecase::bays(tx)?.into_iter().filter(|bay| bay.details.in_use);
    let bays = bays.map(|bay| bay.details.features).collect();
    Ok(Abilities { people, bays, most_stays })
}

fn same_code(path: &str, body: &str) -> Done<()> {
    if path == body {
        return Ok(());
    }
    let detail = "The code in the body must be the one in the path. To rename, write the new one and remove the old.";
    Err(Refused::field("/code", "other_code", detail).into())
}

/// Replaces the item with the same code, or adds the item at the end.
fn put<T: Clone>(list: &mut Vec<T>, most: usize, form: &T, code: impl Fn(&T) -> &String) -> Done<()> {
    match list.iter().position(|one| code(one) == code(form)) {
        Some(at) => list[at] = form.clone(),
        None if list.len() < most => list.push(form.clone()),
        None => {
            let detail = format!("The menu holds at most {most} of these. Remove one that is no longer used.");
            return Err(Refused::invalid("menu-full", detail).into());
        }
    }
    Ok(())
}

/// Changes the draft and stores it; it must stay small enough to be sent as one body.
pub(super) fn edit(
    tx: &mut Tx<'_>,
    seen: Seen,
    what: Value,
    change: impl FnOnce(&mut MenuForm) -> Done<()>,
) -> Done<Draft> {
    let row = store::draft(tx)?;
    seen.check(row.as_ref().map_or(0, |row| row.version))?;
    let mut menu = row.as_ref().map_or_else(|| Ok(MenuForm::empty()), |row| kept(&row.content))?;
    change(&mut menu)?;
    menu.sort();
    menu.write_amounts(tx.studio.currency);
    let content = written(&menu)?;
    if content.len() > MOST_BYTES {
        let detail = format!("The menu would be larger than {} KiB. Shorten or remove something.", MOST_BYTES / 1024);
        return Err(Refused::invalid("menu-too-large", detail).into());
    }
    let id = if let Some(row) = row {
        store::update_draft(tx, row.version + 1, &content)?;
        row.id
    } else {
        let id: String = ids::new();
        match store::insert_draft(tx, &id, &content) {
            // Someone wrote the first draft at the same moment.
            Err(error) if error.is_taken() => seen.check(1)?,
            other => other?,
        }
        id
    };
    record::write(tx, "menu.draft_changed", ("menu_draft", &id), what)?;
    draft(tx)
}

/// The canonical JSON that is stored.
pub(super) fn written(menu: &MenuForm) -> Done<String> {
    let value = serde_json::to_value(menu).map_err(Fail::unexpected)?;
    canonical(&value).map_err(Fail::unexpected)
}
