//! The drawing of a car, seen from above with its sides folded out: where each panel is, and how many findings it has.

use baywright_core::inspection::usecase::Found;
use baywright_domain::inspection::Panel;

use crate::signoff::text::capital;

/// A panel to tap.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Spot {
    /// Value of its choice.
    pub(super) value: &'static str,
    /// Its name, and how many findings it has.
    pub(super) name: String,
    /// Classes of its area on the drawing's grid; empty for a part that is not drawn.
    pub(super) area: &'static str,
    /// Whether it is chosen.
    pub(super) chosen: bool,
}

/// A number on the drawing: how many findings a panel has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Mark {
    /// Distance of its middle from the left, in units of the drawing.
    pub(super) x: u16,
    /// Distance of its middle from the top.
    pub(super) y: u16,
    /// Number of findings.
    pub(super) count: usize,
}

/// Area and middle of a panel that is drawn.
const fn place(panel: Panel) -> Option<(&'static str, u16, u16)> {
    Some(match panel {
        Panel::FrontBumper => ("r1-4 c3", 164, 34),
        Panel::Bonnet => ("r4-9 c3", 164, 100),
        Panel::Roof => ("r12-18 c3", 164, 278),
        Panel::BootLid => ("r21-25 c3", 164, 438),
        Panel::RearBumper => ("r25-28 c3", 164, 502),
        Panel::FrontWingLeft => ("r4-9 c2", 54, 92),
        Panel::FrontWingRight => ("r4-9 c4", 274, 92),
        Panel::FrontDoorLeft => ("r9-14 c2", 60, 214),
        Panel::FrontDoorRight => ("r9-14 c4", 268, 214),
        Panel::RearDoorLeft => ("r14-19 c2", 60, 306),
        Panel::RearDoorRight => ("r14-19 c4", 268, 306),
        Panel::RearQuarterLeft => ("r19-25 c2", 62, 398),
        Panel::RearQuarterRight => ("r19-25 c4", 266, 398),
        Panel::SillLeft => ("r9-19 c1", 25, 256),
        Panel::SillRight => ("r9-19 c5", 303, 256),
        _ => return None,
    })
}

fn count(findings: &[Found], panel: Panel) -> usize {
    findings.iter().filter(|found| found.finding.panel == panel).count()
}

/// All panels to tap, those that are drawn first.
pub(super) fn spots(findings: &[Found], chosen: &str) -> Vec<Spot> {
    let spot = |panel: &Panel| {
        let label = capital(panel.label());
        let name = match count(findings, *panel) {
            0 => label,
            1 => format!("{label}, 1 finding"),
            many => format!("{label}, {many} findings"),
        };
        let value = panel.as_str();
        Spot { value, name, area: place(*panel).map_or("", |(area, _, _)| area), chosen: value == chosen }
    };
    let (drawn, others): (Vec<Spot>, Vec<Spot>) =
        Panel::ALL.iter().map(spot).partition(|spot: &Spot| !spot.area.is_empty());
    drawn.into_iter().chain(others).collect()
}

/// The numbers on the drawing.
pub(super) fn marks(findings: &[Found]) -> Vec<Mark> {
    let mark = |panel: &Panel| {
        let (_, x, y) = place(*panel)?;
        let count = count(findings, *panel);
        (count > 0).then_some(Mark { x, y, count })
    };
    Panel::ALL.iter().filter_map(mark).collect()
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;

    #[test]
    fn every_panel_is_there_once_and_no_two_share_an_area() {
        let spots = spots(&[], "ROOF");
        assert_eq!(spots.len(), Panel::ALL.len());
        let drawn: Vec<&str> = spots.iter().map(|spot| spot.area).filter(|area| !area.is_empty()).collect();
        assert_eq!(drawn.iter().collect::<BTreeSet<_>>().len(), drawn.len());
        assert_eq!(spots.iter().filter(|spot| spot.chosen).count(), 1);
        assert!(spots.iter().take_while(|spot| !spot.area.is_empty()).count() == drawn.len());
    }
}
