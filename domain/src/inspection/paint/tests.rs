//! Results of readings, and that nothing here ever says that work is safe.

use alloc::vec;

use super::*;

fn read(panel: Panel, readings: &[u16]) -> PanelReadings {
    PanelReadings { panel, readings: readings.to_vec() }
}

fn outcome(readings: &[PanelReadings]) -> PaintOutcome {
    compare(readings, &[], PaintPolicy::USUAL).unwrap()
}

#[test]
fn readings_come_to_count_extremes_mean_spread_and_deviation() {
    let found = depth(&[120, 118, 125, 131]).unwrap();
    // Mean 494 / 4 = 123.5; squares of deviations 12.25 + 30.25 + 2.25 + 56.25 = 101; 101 / 3 = 33.67, root 5.80.
    let expected = Depth {
        count: 4,
        min: 118,
        max: 131,
        mean: Decimal::new(1235, 1),
        spread: 13,
        deviation: Some(Decimal::new(58, 1)),
    };
    assert_eq!(found, expected);
    assert_eq!(depth(&[100]).unwrap().deviation, None);
    assert_eq!(depth(&[100, 100]).unwrap().deviation, Some(Decimal::new(0, 1)));
    // 301 / 3 = 100.33, 302 / 3 = 100.67, 401 / 4 = 100.25 which is half of a tenth.
    for (readings, tenths) in [(&[100, 100, 101][..], 1003), (&[100, 101, 101], 1007), (&[100, 100, 100, 101], 1003)] {
        assert_eq!(depth(readings).unwrap().mean, Decimal::new(tenths, 1));
    }
}

#[test]
fn readings_out_of_range_are_refused() {
    assert_eq!(depth(&[]), Err(BadReadings::Count));
    assert_eq!(depth(&[100; 51]), Err(BadReadings::Count));
    assert_eq!(depth(&[100, 0]), Err(BadReadings::Range(0)));
    assert_eq!(depth(&[5_001]), Err(BadReadings::Range(5_001)));
    assert!(depth(&[5_000; 50]).is_ok());
}

#[test]
fn a_reading_below_the_floor_or_too_near_to_it_is_thin() {
    let warned = |min| !outcome(&[read(Panel::Bonnet, &[min, 120, 120])]).warnings.is_empty();
    assert_eq!([89, 90, 94, 95, 120].map(warned), [true, true, true, false, false]);
    let texts: Vec<String> = [89, 94]
        .iter()
        .flat_map(|min| outcome(&[read(Panel::Roof, &[*min, 120, 120])]).warnings)
        .map(|warning| warning.to_string())
        .collect();
    assert_eq!(texts[0], "Thin: roof reads 89 µm, below the studio's floor of 90 µm.");
    assert_eq!(texts[1], "Thin: roof reads 94 µm; taking off 5 µm would go below the studio's floor of 90 µm.");
}

#[test]
fn thick_few_and_missing_readings_ask_for_the_owner_too() {
    let found = compare(&[read(Panel::Roof, &[120, 181])], &[Panel::Roof, Panel::Bonnet], PaintPolicy::USUAL).unwrap();
    let expected = [
        PaintWarning::ThickReading { panel: Panel::Roof, max: 181, above: 180 },
        PaintWarning::FewReadings { panel: Panel::Roof, count: 2, least: 3 },
        PaintWarning::NotRead(Panel::Bonnet),
    ];
    assert_eq!(found.warnings, expected);
    assert!(found.owner_decision_needed());
}

#[test]
fn thin_paint_is_worked_on_only_with_the_owners_recorded_decision() {
    let thin = outcome(&[read(Panel::Bonnet, &[80, 120, 120])]);
    let decision = |role, go_ahead, reason: &str| OwnerDecision {
        who: PersonId::new("p"),
        role,
        go_ahead,
        reason: reason.into(),
        at: DateTime::from_timestamp(0, 0).unwrap(),
    };
    let refusal = may_sand(&thin, None).unwrap_err();
    assert_eq!(refusal.code(), "owner-decision-needed");
    assert!(refusal.to_string().contains("bonnet reads 80 µm"));
    for role in [Role::Desk, Role::Technician, Role::Accountant] {
        assert_eq!(may_sand(&thin, Some(&decision(role, true, "why"))), Err(PaintRefusal::NotTheirs));
    }
    assert_eq!(may_sand(&thin, Some(&decision(Role::Owner, true, " "))), Err(PaintRefusal::NoReason));
    let against = may_sand(&thin, Some(&decision(Role::Owner, false, "too thin to sand")));
    assert_eq!(against, Err(PaintRefusal::DecidedAgainst("too thin to sand".into())));
    assert_eq!(may_sand(&thin, Some(&decision(Role::Owner, true, "by hand, one pass"))), Ok(()));
    let plain = outcome(&[read(Panel::Bonnet, &[120, 121, 122])]);
    assert_eq!(may_sand(&plain, None), Ok(()));
    assert!(may_sand(&plain, Some(&decision(Role::Owner, false, "no"))).is_err());
}

#[test]
fn no_sentence_ever_says_safe() {
    let mut sentences: Vec<String> = Vec::new();
    for readings in [vec![120, 121, 122], vec![80], vec![94, 120, 300]] {
        let found = compare(&[read(Panel::Roof, &readings)], &[Panel::Bonnet], PaintPolicy::USUAL).unwrap();
        sentences.extend(found.warnings.iter().map(ToString::to_string));
        sentences.push(found.note().into());
        sentences.extend(may_sand(&found, None).err().map(|refusal| refusal.to_string()));
    }
    sentences.push(outcome(&[read(Panel::Roof, &[120, 121, 122])]).note().into());
    for sentence in sentences {
        let words = sentence.to_lowercase();
        assert!(!["safe", "all-clear", "no risk", "harmless"].iter().any(|word| words.contains(word)), "{sentence}");
    }
}
