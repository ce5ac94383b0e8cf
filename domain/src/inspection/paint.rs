//! Paint depth: readings of the gauge, compared with the shop's own limits.
//!
//! A gauge reads all layers together and not the clear coat alone, so no reading proves that sanding or polishing does no
//! harm. This module compares, warns, and asks for the owner's recorded decision; it never says that work is safe.

use alloc::string::{String, ToString};
use alloc::vec::Vec;
use core::fmt;

use chrono::{DateTime, Utc};
use rust_decimal::Decimal;

use super::Panel;
use crate::id::PersonId;
use crate::people::{Role, Task, may};
use crate::refusal::{Kind, Refusal};

/// Readings of one panel in micrometres, on clean and cool paint, several spots a panel.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PanelReadings {
    /// The panel.
    pub panel: Panel,
    /// The readings.
    pub readings: Vec<u16>,
}

/// Readings that can't be recorded.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum BadReadings {
    /// There are none, or more than anybody takes.
    #[error("take from 1 to 50 readings a panel")]
    Count,
    /// A reading is beyond the range of a gauge.
    #[error("{0} µm is out of range: a reading is from 1 to 5,000 µm")]
    Range(u16),
}

impl Refusal for BadReadings {
    fn kind(&self) -> Kind {
        Kind::Invalid
    }

    fn code(&self) -> &'static str {
        "bad-readings"
    }
}

/// Statistics of the readings of a panel, in micrometres.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Depth {
    /// Number of readings.
    pub count: usize,
    /// The thinnest.
    pub min: u16,
    /// The thickest.
    pub max: u16,
    /// Their mean, to a tenth, half up.
    pub mean: Decimal,
    /// The thickest reading minus the thinnest.
    pub spread: u16,
    /// Their sample standard deviation (divisor n − 1), to a tenth, half up; `None` for a single reading.
    pub deviation: Option<Decimal>,
}

/// Computes the statistics of readings, in whole numbers throughout.
///
/// # Errors
/// [`BadReadings`] if there are none or too many, or one is out of range.
pub fn depth(readings: &[u16]) -> Result<Depth, BadReadings> {
    if let Some(wrong) = readings.iter().find(|reading| !(1..=5_000).contains(*reading)) {
        return Err(BadReadings::Range(*wrong));
    }
    let (Some(min), Some(max), 1..=50) = (readings.iter().min(), readings.iter().max(), readings.len()) else {
        return Err(BadReadings::Count);
    };
    let count = readings.len() as u64;
    let sum: u64 = readings.iter().map(|reading| u64::from(*reading)).sum();
    let squares: u64 = readings.iter().map(|reading| u64::from(*reading).pow(2)).sum();
    // Twentieths, then half of them rounded up: a tenth, half up. The integer square root of a quotient that was cut to
    // whole numbers equals the integer square root of the exact quotient.
    let tenth = |twentieths: u64| Decimal::new(i64::try_from(twentieths.div_ceil(2)).unwrap_or(i64::MAX), 1);
    let deviation = (count > 1).then(|| tenth((400 * (count * squares - sum * sum) / (count * (count - 1))).isqrt()));
    Ok(Depth {
        count: readings.len(),
        min: *min,
        max: *max,
        mean: tenth(20 * sum / count),
        spread: max - min,
        deviation,
    })
}

/// The shop's own limits, in micrometres.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PaintPolicy {
    /// Below this, all layers together count as thin.
    pub floor: u16,
    /// Thickness that the work may remove.
    pub removal_budget: u16,
    /// Above this, the panel may have been painted again or filled.
    pub refinish_above: u16,
    /// Minimum number of readings a panel.
    pub least_spots: u8,
}

impl PaintPolicy {
    /// The defaults of a new shop (common practice, no source; factory paint is commonly 90 to 180 µm in all). The removal
    /// budget is a guess on the low side, which the owner replaces.
    pub const USUAL: Self = Self { floor: 90, removal_budget: 5, refinish_above: 180, least_spots: 3 };
}

/// Warning from the comparison.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PaintWarning {
    /// The thinnest reading is below the lower limit, or would be after the removal budget is used.
    ThinReading {
        /// The panel.
        panel: Panel,
        /// The thinnest reading.
        min: u16,
        /// The removal budget.
        removal_budget: u16,
        /// The floor.
        floor: u16,
    },
    /// The thickest reading is above what factory paint usually has.
    ThickReading {
        /// The panel.
        panel: Panel,
        /// The thickest reading.
        max: u16,
        /// The limit.
        above: u16,
    },
    /// Too few readings to judge the panel.
    FewReadings {
        /// The panel.
        panel: Panel,
        /// Number of readings.
        count: usize,
        /// Number of the shop asks for.
        least: u8,
    },
    /// A panel is to be worked on without any reading.
    NotRead(Panel),
}

impl PaintWarning {
    /// The panel that it is about.
    pub const fn panel(&self) -> Panel {
        match self {
            Self::ThinReading { panel, .. }
            | Self::ThickReading { panel, .. }
            | Self::FewReadings { panel, .. }
            | Self::NotRead(panel) => *panel,
        }
    }
}

impl fmt::Display for PaintWarning {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::ThinReading { panel, min, floor, .. } if min < floor => {
                write!(f, "Thin: {panel} reads {min} µm, below the studio's floor of {floor} µm.")
            }
            Self::ThinReading { panel, min, removal_budget, floor } => write!(
                f,
                "Thin: {panel} reads {min} µm; taking off {removal_budget} µm would go below the studio's floor of \
                 {floor} µm."
            ),
            Self::ThickReading { panel, max, above } => write!(
                f,
                "Thick: {panel} reads {max} µm, above {above} µm; it may have been painted again or filled, and its clear \
                 coat is unknown."
            ),
            Self::FewReadings { panel, count, least } => {
                write!(f, "Few readings: {panel} has {count}; the studio asks for {least}.")
            }
            Self::NotRead(panel) => write!(f, "Not read: {panel} has no reading."),
        }
    }
}

/// Result of comparing readings with the shop's limits.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PaintOutcome {
    /// The warnings, by panel.
    pub warnings: Vec<PaintWarning>,
}

impl PaintOutcome {
    /// The part of the result that concerns those panels.
    #[must_use]
    pub fn about(mut self, panels: &[Panel]) -> Self {
        self.warnings.retain(|warning| panels.contains(&warning.panel()));
        self
    }

    /// Whether the owner has to decide, and the decision has to be recorded, before any paint is removed.
    pub fn owner_decision_needed(&self) -> bool {
        !self.warnings.is_empty()
    }

    /// Sentences that screen and paper always show, whatever the readings are.
    pub fn note(&self) -> &'static str {
        if self.owner_decision_needed() {
            "Owner's decision needed before anything is sanded or polished. A gauge reads all layers together and can't \
             tell how much clear coat is left."
        } else {
            "No reading is beyond the studio's limits. A gauge reads all layers together and can't tell how much clear \
             coat is left: measure again during the work, and stop if a reading falls."
        }
    }
}

/// Compares readings with the shop's limits, for the panels that are to be worked on.
///
/// # Errors
/// [`BadReadings`] if statistics can't be computed.
pub fn compare(
    readings: &[PanelReadings],
    worked_on: &[Panel],
    policy: PaintPolicy,
) -> Result<PaintOutcome, BadReadings> {
    let mut warnings = Vec::new();
    for PanelReadings { panel, readings } in readings {
        let found = depth(readings)?;
        if found.min < policy.floor.saturating_add(policy.removal_budget) {
            let PaintPolicy { floor, removal_budget, .. } = policy;
            warnings.push(PaintWarning::ThinReading { panel: *panel, min: found.min, removal_budget, floor });
        }
        if found.max > policy.refinish_above {
            warnings.push(PaintWarning::ThickReading { panel: *panel, max: found.max, above: policy.refinish_above });
        }
        if found.count < usize::from(policy.least_spots) {
            let (count, least) = (found.count, policy.least_spots);
            warnings.push(PaintWarning::FewReadings { panel: *panel, count, least });
        }
    }
    let unread = worked_on.iter().filter(|panel| !readings.iter().any(|read| read.panel == **panel));
    warnings.extend(unread.map(|panel| PaintWarning::NotRead(*panel)));
    Ok(PaintOutcome { warnings })
}

/// Recorded decision of a person, which is never changed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OwnerDecision {
    /// Id of the person who decided.
    pub who: PersonId,
    /// Their role at the time.
    pub role: Role,
    /// Whether the owner decided that the work may go ahead.
    pub go_ahead: bool,
    /// Reason, in their words.
    pub reason: String,
    /// Time of the decision.
    pub at: DateTime<Utc>,
}

/// Reason why no paint may be removed.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PaintRefusal {
    /// There are warnings and no decision.
    #[error("the owner has to decide first, and say why: {}", .0.join(" "))]
    Undecided(Vec<String>),
    /// The person who decided may not make this decision.
    #[error("only the owner decides about thin paint: ask the owner")]
    NotTheirs,
    /// A decision without a reason.
    #[error("give the reason for the decision, in at most 1,000 characters")]
    NoReason,
    /// The owner decided against the work.
    #[error("the owner decided against it: {0}")]
    DecidedAgainst(String),
}

impl Refusal for PaintRefusal {
    fn kind(&self) -> Kind {
        match self {
            Self::NoReason => Kind::Invalid,
            _ => Kind::Conflict,
        }
    }

    fn code(&self) -> &'static str {
        match self {
            Self::Undecided(_) => "owner-decision-needed",
            Self::NotTheirs => "decision-not-theirs",
            Self::NoReason => "no-reason",
            Self::DecidedAgainst(_) => "owner-decided-against",
        }
    }
}

/// Checks whether the shop's own rules allow work that removes paint. Success means only that nothing recorded here forbids
/// it.
///
/// # Errors
/// [`PaintRefusal`] if a decision is needed and missing, not the owner's, without a reason, or against the work.
pub fn may_sand(outcome: &PaintOutcome, decision: Option<&OwnerDecision>) -> Result<(), PaintRefusal> {
    let Some(made) = decision else {
        if !outcome.owner_decision_needed() {
            return Ok(());
        }
        return Err(PaintRefusal::Undecided(outcome.warnings.iter().map(ToString::to_string).collect()));
    };
    if !may(made.role, Task::DecideRisk) {
        return Err(PaintRefusal::NotTheirs);
    }
    if made.reason.trim().is_empty() || made.reason.chars().count() > 1_000 {
        return Err(PaintRefusal::NoReason);
    }
    if made.go_ahead { Ok(()) } else { Err(PaintRefusal::DecidedAgainst(made.reason.clone())) }
}

#[cfg(test)]
mod tests;
