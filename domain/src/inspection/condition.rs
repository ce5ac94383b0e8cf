//! The condition class: how much extra work the state of the car needs. A simple rule gives the class, and sentences name the
//! findings that led to it.

use alloc::collections::BTreeSet;
use alloc::format;
use alloc::string::String;
use alloc::vec::Vec;

use super::{Finding, Grade, Panel, Severity};
use crate::word::words;

words! {
    /// How much extra work a car needs, from what was found on it.
    pub enum ConditionClass("condition class") {
        /// Cared for; less work than usual.
        Light = "LIGHT" "light",
        /// In ordinary use: the condition that base minutes are given for.
        Fair = "FAIR" "fair",
        /// Neglected or worn; clearly more work.
        Heavy = "HEAVY" "heavy",
        /// The worst condition that the shop accepts.
        Severe = "SEVERE" "severe",
    }
}

/// One value for each condition class.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub struct ByCondition<T> {
    /// For [`ConditionClass::Light`].
    pub light: T,
    /// For [`ConditionClass::Fair`].
    pub fair: T,
    /// For [`ConditionClass::Heavy`].
    pub heavy: T,
    /// For [`ConditionClass::Severe`].
    pub severe: T,
}

impl<T> ByCondition<T> {
    /// The value for one class.
    pub const fn get(&self, class: ConditionClass) -> &T {
        match class {
            ConditionClass::Light => &self.light,
            ConditionClass::Fair => &self.fair,
            ConditionClass::Heavy => &self.heavy,
            ConditionClass::Severe => &self.severe,
        }
    }

    /// Makes one from a function of the class.
    pub fn from_fn(mut value: impl FnMut(ConditionClass) -> T) -> Self {
        Self {
            light: value(ConditionClass::Light),
            fair: value(ConditionClass::Fair),
            heavy: value(ConditionClass::Heavy),
            severe: value(ConditionClass::Severe),
        }
    }

    /// Class and value, lightest first.
    pub fn iter(&self) -> impl Iterator<Item = (ConditionClass, &T)> {
        ConditionClass::ALL.iter().map(|class| (*class, self.get(*class)))
    }
}

/// Threshold of the rule; a shop's setting.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ConditionPolicy {
    /// Number of panels from which findings count as widespread.
    pub widespread: u8,
}

impl ConditionPolicy {
    /// The default of a new shop (common practice, no source): three panels.
    pub const USUAL: Self = Self { widespread: 3 };
}

/// A condition class and its reasons.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Assessment {
    /// The class.
    pub class: ConditionClass,
    /// A sentence for each thing that points to the class.
    pub reasons: Vec<String>,
}

/// The condition class of a car: the worst that any of these indicates.
///
/// - soil, and contamination: grades 0 and 1 light, 2 fair, 3 heavy, 4 severe;
/// - findings that need work, by severity: minor ones light, moderate ones fair, serious ones heavy; one class worse if
///   findings of at least that severity are widespread.
///
/// Damage that is only recorded, such as a dent, doesn't count.
pub fn assess(soil: Grade, contamination: Grade, findings: &[Finding], policy: ConditionPolicy) -> Assessment {
    let mut pointers = Vec::new();
    for (what, grade) in [("Soil", soil), ("Contamination", contamination)] {
        let class = of_grade(grade);
        let text = format!("{what} is grade {} ({}), which makes the condition {class}.", grade.get(), grade.label());
        pointers.push((class, text));
    }
    for severity in Severity::ALL {
        pointers.extend(of_findings(*severity, findings, policy));
    }
    let class = pointers.iter().map(|(class, _)| *class).max().unwrap_or(ConditionClass::Light);
    let mut reasons: Vec<String> =
        pointers.into_iter().filter(|(points_to, _)| *points_to == class).map(|(_, text)| text).collect();
    if class == ConditionClass::Light {
        reasons.insert(0, "Nothing was found that asks for more work than usual.".into());
    }
    Assessment { class, reasons }
}

const fn of_grade(grade: Grade) -> ConditionClass {
    match grade.get() {
        0 | 1 => ConditionClass::Light,
        2 => ConditionClass::Fair,
        3 => ConditionClass::Heavy,
        _ => ConditionClass::Severe,
    }
}

/// The class that the findings of one severity indicate, with its sentence.
fn of_findings(severity: Severity, findings: &[Finding], policy: ConditionPolicy) -> Option<(ConditionClass, String)> {
    let works = || findings.iter().filter(|finding| finding.kind.adds_work());
    let exactly: Vec<&Finding> = works().filter(|finding| finding.severity == severity).collect();
    if exactly.is_empty() {
        return None;
    }
    let panels: BTreeSet<Panel> =
        works().filter(|finding| finding.severity >= severity).map(|finding| finding.panel).collect();
    let widespread = panels.len() >= usize::from(policy.widespread.max(1));
    let class = match (severity, widespread) {
        (Severity::Minor, false) => ConditionClass::Light,
        (Severity::Minor, true) | (Severity::Moderate, false) => ConditionClass::Fair,
        (Severity::Moderate, true) | (Severity::Serious, false) => ConditionClass::Heavy,
        (Severity::Serious, true) => ConditionClass::Severe,
    };
    let named: Vec<String> = exactly.iter().map(|finding| format!("{} on {}", finding.kind, finding.panel)).collect();
    let spread = match (widespread, panels.len()) {
        (true, count) => format!(", with {count} panels that are as bad or worse,"),
        (false, _) => String::new(),
    };
    let text = format!("Findings that are {severity}{spread} make the condition {class}: {}.", named.join("; "));
    Some((class, text))
}

#[cfg(test)]
mod tests {
    use super::super::{BadGrade, FindingKind};
    use super::*;

    fn grade(number: u8) -> Grade {
        Grade::new(number).unwrap()
    }

    fn finding(panel: Panel, kind: FindingKind, severity: Severity) -> Finding {
        Finding { panel, kind, severity, note: String::new() }
    }

    fn class(findings: &[Finding]) -> ConditionClass {
        assess(grade(0), grade(0), findings, ConditionPolicy::USUAL).class
    }

    #[test]
    fn the_worst_grade_decides_and_says_so() {
        let found = assess(grade(2), grade(3), &[], ConditionPolicy::USUAL);
        assert_eq!(found.class, ConditionClass::Heavy);
        assert_eq!(found.reasons, ["Contamination is grade 3 (strong), which makes the condition heavy."]);
        for (soil, expected) in (0..=4).zip(["light", "light", "fair", "heavy", "severe"]) {
            assert_eq!(assess(grade(soil), grade(0), &[], ConditionPolicy::USUAL).class.label(), expected);
        }
        assert_eq!(Grade::new(5), Err(BadGrade));
    }

    #[test]
    fn widespread_findings_weigh_one_class_more() {
        let panels = [Panel::Bonnet, Panel::Roof, Panel::BootLid];
        for (severity, few, many) in [
            (Severity::Minor, ConditionClass::Light, ConditionClass::Fair),
            (Severity::Moderate, ConditionClass::Fair, ConditionClass::Heavy),
            (Severity::Serious, ConditionClass::Heavy, ConditionClass::Severe),
        ] {
            let found: Vec<Finding> =
                panels.iter().map(|panel| finding(*panel, FindingKind::Swirls, severity)).collect();
            assert_eq!((class(&found[..2]), class(&found)), (few, many), "{severity}");
            // Three findings on one panel are not widespread.
            let one = [found[0].clone(), found[0].clone(), found[0].clone()];
            assert_eq!(class(&one), few, "{severity}");
        }
    }

    #[test]
    fn the_sentences_name_the_findings_that_led_to_the_class() {
        let found = [
            finding(Panel::Bonnet, FindingKind::Oxidation, Severity::Serious),
            finding(Panel::Roof, FindingKind::Swirls, Severity::Minor),
        ];
        let assessment = assess(grade(1), grade(0), &found, ConditionPolicy::USUAL);
        assert_eq!(assessment.reasons, ["Findings that are serious make the condition heavy: oxidation on bonnet."]);
    }

    #[test]
    fn damage_that_is_only_recorded_does_not_count() {
        let found = [
            finding(Panel::Bonnet, FindingKind::Dent, Severity::Serious),
            finding(Panel::Roof, FindingKind::Rust, Severity::Serious),
            finding(Panel::Glass, FindingKind::Crack, Severity::Serious),
        ];
        let assessment = assess(grade(0), grade(0), &found, ConditionPolicy::USUAL);
        assert_eq!(assessment.class, ConditionClass::Light);
        assert_eq!(assessment.reasons[0], "Nothing was found that asks for more work than usual.");
    }
}
