//! What is noted on a walk-round, in a form: the state of the whole car, and one finding at a time.

use baywright_core::inspection::usecase::{Details, Found};
use baywright_core::new_car::usecase::{Finding, NewCar, Noted};
use baywright_core::platform::refusal::Refused;
use baywright_core::platform::version::Seen;
use baywright_domain::id::PhotoId;
use baywright_domain::inspection::{self as rules, FindingKind, Grade, Panel, PanelReadings, Severity};
use baywright_http::platform::wire::Text;
use rust_decimal::prelude::ToPrimitive;

use crate::platform::form::{Fields, Input, Reading, number};
use crate::signoff::text::capital;

/// Most that an odometer shows.
const MOST_ODOMETER: i32 = 9_999_999;

/// A finding in words: `Bonnet: swirl marks, moderate`.
pub(super) fn in_words(found: &Found) -> String {
    let finding = &found.finding;
    format!("{}: {}, {}", capital(finding.panel.label()), finding.kind, finding.severity)
}

/// The inputs about the whole car.
pub(super) fn of_car(unit: &str) -> Vec<Input> {
    let grades = || {
        let all = (0..=4).filter_map(|number| Grade::new(number).ok());
        all.map(|grade| (grade.get().to_string(), capital(grade.label()))).collect()
    };
    vec![
        Input::radios("soil_grade", "How dirty is it?", grades()),
        Input::radios("contamination_grade", "How rough does the paint feel?", grades())
            .hint("Tar, resin and metal particles that stay after a wash."),
        Input::short("odometer", format!("Odometer, in {unit}")).optional().autocomplete("off"),
        Input::long("beyond_repair", "What can't be put right")
            .hint("As you tell the customer, who reads it on the quote.")
            .optional(),
    ]
}

/// The inputs of a finding, behind the choice of its panel.
pub(super) fn of_finding() -> Vec<Input> {
    let kinds = FindingKind::ALL.iter().map(|kind| (kind.as_str().to_owned(), capital(kind.label())));
    let severities = Severity::ALL.iter().map(|one| (one.as_str().to_owned(), seen_how(*one).to_owned()));
    vec![
        Input::radios("kind", "What do you see?", kinds.collect()),
        Input::radios("severity", "How bad is it?", severities.collect()),
        Input::long("note", "Note").hint("Where it is, how long, whether a nail feels it.").optional(),
        Input::short("readings", "Paint depth on this panel, in micrometres")
            .hint(
                "On clean and cool paint, with a space between spots: 118 121 125. A gauge reads all layers together.",
            )
            .optional()
            .autocomplete("off"),
        Input::hidden("finding"),
    ]
}

const fn seen_how(severity: Severity) -> &'static str {
    match severity {
        Severity::Minor => "Minor: only under a lamp",
        Severity::Moderate => "Moderate: at a second look",
        Severity::Serious => "Serious: seen at once",
    }
}

/// The walk-round as its form would bring it, with the finding that is to be corrected.
pub(super) fn fields_of(new: &NewCar, corrected: Option<usize>) -> Fields {
    let details = new.walk_round.as_ref().map(|inspection| &inspection.details);
    let version = [("version", new.walk_round_version().to_string())];
    // Nobody can feel the paint of a dirty car, so the usual answer is none.
    let Some(details) = details else {
        return Fields::of_record(version).and(Fields::of_record([("contamination_grade", "0".to_owned())]));
    };
    let of_car = [
        ("soil_grade", details.soil.get().to_string()),
        ("contamination_grade", details.contamination.get().to_string()),
        ("odometer", details.odometer.map(|shown| shown.to_string()).unwrap_or_default()),
        ("beyond_repair", details.beyond_repair.clone()),
    ];
    let fields = Fields::of_record(version).and(Fields::of_record(of_car));
    match corrected.and_then(|at| Some((at, details.findings.get(at)?))) {
        Some((at, found)) => fields.and(fields_of_finding(at, found, details)),
        None => fields,
    }
}

fn fields_of_finding(at: usize, found: &Found, details: &Details) -> Fields {
    let Found { finding, photo_ids } = found;
    let read = details.readings.iter().find(|read| read.panel == finding.panel);
    let read = read.map(|read| read.readings.iter().map(ToString::to_string).collect::<Vec<_>>().join(" "));
    let photos = photo_ids.iter().map(|id| ("photo_ids", id.to_string()));
    let one = [
        ("finding", at.to_string()),
        ("panel", finding.panel.as_str().to_owned()),
        ("kind", finding.kind.as_str().to_owned()),
        ("severity", finding.severity.as_str().to_owned()),
        ("note", finding.note.clone()),
        ("readings", read.unwrap_or_default()),
    ];
    Fields::of_record(one).and(Fields::of_record(photos))
}

/// What the form brings, or everything that is wrong with it. `photo` says why a photograph was not taken, if so.
pub(super) fn read(fields: &Fields, photo: Option<&str>) -> Result<(Seen, Noted), Refused> {
    let mut form = Reading::of(fields);
    let seen = form.version()?;
    let grade = |text: &str| {
        let number = text.trim().parse().map_err(|_| "choose one of these".to_owned())?;
        Grade::new(number).map_err(|error| error.to_string())
    };
    let soil = form.needed("soil_grade", grade);
    let contamination = form.needed("contamination_grade", grade);
    let odometer = form.optional("odometer", |text| {
        let shown = number(text, 0)?.to_i32().filter(|shown| (0..=MOST_ODOMETER).contains(shown));
        shown.ok_or_else(|| "write the odometer as 0 to 9,999,999".to_owned())
    });
    let corrected: Option<usize> = fields.text("finding").parse().ok();
    let removed = corrected.filter(|_| fields.text("go") == "remove");
    let (finding, readings) = match removed {
        Some(at) => (Some(Finding::Removed(at)), None),
        None => read_finding(&mut form, fields, corrected),
    };
    let beyond_repair = form.optional("beyond_repair", |text| Text::<4000>::parse(text).map(Text::into_string));
    if let Some(why) = photo {
        form.fault("photo", "bad_photo", why);
    }
    let noted = soil.zip(contamination).map(|(soil, contamination)| Noted {
        odometer,
        soil,
        contamination,
        beyond_repair: beyond_repair.unwrap_or_default(),
        finding,
        readings,
    });
    Ok((seen, form.done(noted)?))
}

/// The finding and the readings of its panel. A panel alone is no finding: with the button that goes on, nothing else need
/// be filled in.
fn read_finding(
    form: &mut Reading<'_>,
    fields: &Fields,
    corrected: Option<usize>,
) -> (Option<Finding>, Option<PanelReadings>) {
    let photos: Vec<PhotoId> = fields.all("photo_ids").map(PhotoId::new).collect();
    let filled = ["kind", "severity", "note"].iter().any(|name| !fields.text(name).trim().is_empty());
    let has_finding = filled || !photos.is_empty() || corrected.is_some();
    let has_readings = !fields.text("readings").trim().is_empty();
    if !has_finding && !has_readings && fields.text("go") != "add" {
        return (None, None);
    }
    let choose = || "choose one of these".to_owned();
    let panel = form.needed("panel", |text| Panel::parse(text).map_err(|_| choose()));
    let readings = form.optional("readings", spots).zip(panel);
    let readings = readings.map(|(readings, panel)| PanelReadings { panel, readings });
    if !has_finding && has_readings {
        return (None, readings);
    }
    let kind = form.needed("kind", |text| FindingKind::parse(text).map_err(|_| choose()));
    let severity = form.needed("severity", |text| Severity::parse(text).map_err(|_| choose()));
    let note = form.optional("note", |text| Text::<1000>::parse(text).map(Text::into_string)).unwrap_or_default();
    let found = panel.zip(kind).zip(severity).map(|((panel, kind), severity)| {
        let finding = rules::Finding { panel, kind, severity, note };
        Found { finding, photo_ids: photos }
    });
    let finding = found.map(|found| match corrected {
        Some(at) => Finding::Corrected(at, found),
        None => Finding::Added(found),
    });
    (finding, readings)
}

/// Readings of one panel.
fn spots(text: &str) -> Result<Vec<u16>, String> {
    let spots = text.split([' ', ',', ';']).filter(|spot| !spot.is_empty());
    let spots: Option<Vec<u16>> =
        spots.map(|spot| spot.parse().ok().filter(|depth| (1..=5000).contains(depth))).collect();
    spots.filter(|all| all.len() <= 50).ok_or_else(|| {
        "write whole micrometres from 1 to 5,000 with a space between them, such as 118 121 125".to_owned()
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    const CAR: &str = "version=0&soil_grade=2&contamination_grade=0";

    fn noted(more: &str) -> Result<Noted, Refused> {
        read(&Fields::of_query(&format!("{CAR}&{more}")), None).map(|(_, noted)| noted)
    }

    #[test]
    fn a_panel_alone_is_no_finding_and_half_a_finding_is_asked_about() {
        assert_eq!(noted("go=next&panel=ROOF").unwrap().finding, None);
        let told = |more: &str| -> Vec<String> {
            let refused = noted(more).unwrap_err();
            refused.errors().iter().map(|fault| fault.pointer.clone()).collect()
        };
        assert_eq!(told("go=add"), ["/panel", "/kind", "/severity"]);
        assert_eq!(told("go=next&kind=DENT"), ["/panel", "/severity"]);
    }

    #[test]
    fn a_finding_is_added_corrected_or_removed_and_its_panel_is_measured() {
        let found = "panel=ROOF&kind=SWIRLS&severity=MINOR&note=left&photo_ids=p1&photo_ids=p2&readings=118, 121";
        let added = noted(&format!("go=next&{found}")).unwrap();
        let Some(Finding::Added(one)) = &added.finding else { panic!("{added:?}") };
        assert_eq!((one.photo_ids.len(), one.finding.note.as_str()), (2, "left"));
        assert_eq!(added.readings.map(|read| read.readings), Some(vec![118, 121]));
        assert!(matches!(noted(&format!("finding=1&{found}")).unwrap().finding, Some(Finding::Corrected(1, _))));
        let removed = noted(&format!("finding=1&go=remove&{found}")).unwrap();
        assert_eq!((removed.finding, removed.readings), (Some(Finding::Removed(1)), None));
    }

    #[test]
    fn readings_alone_are_noted_and_what_is_no_depth_is_refused() {
        let only = noted("go=add&panel=ROOF&readings=118+121").unwrap();
        assert!(only.finding.is_none() && only.readings.is_some());
        assert!(spots("118 x").is_err() && spots("0").is_err() && spots("6000").is_err());
    }
}
