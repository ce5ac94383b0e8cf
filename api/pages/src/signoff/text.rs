//! Numbers and times for customers.

use baywright_core::platform::clock::UtcTime;
use baywright_core::platform::kept::{said, said_less};
use baywright_core::quote::kept::{ExplainedRow, QuoteStudio};
use baywright_domain::calendar::{Zone, ZoneRules};
use baywright_domain::menu::Unit;
use baywright_domain::pricing::ExplainedKind;

/// Approximate duration of work: minutes under an hour, then half hours, and working days of eight hours from one day
/// on (common practice, no source). Empty for no time.
pub(crate) fn working_time(minutes: u32) -> String {
    let halves = |whole: u32, unit: &str| match (whole / 2, whole % 2) {
        (1, 0) => format!("about 1 {unit}"),
        (0, _) => format!("about half a {unit}"),
        (many, 0) => format!("about {many} {unit}s"),
        (many, _) => format!("about {many}\u{bd} {unit}s"),
    };
    match minutes {
        0 => String::new(),
        1..60 => format!("about {minutes} minutes"),
        60..480 => halves(minutes.saturating_add(15) / 30, "hour"),
        _ => halves(minutes.saturating_add(120) / 240, "working day"),
    }
}

/// A time in the shop's time zone: `Tuesday 3 March 2026 at 09:30`.
pub(super) fn moment(studio: &QuoteStudio, at: UtcTime) -> String {
    let Ok(zone) = Zone::named(&studio.zone) else { return at.to_string() };
    zone.to_local(at.minute()).format("%A %-d %B %Y at %H:%M").to_string()
}

/// A day in the shop's time zone: `Tuesday 3 March 2026`.
pub(super) fn day(studio: &QuoteStudio, at: UtcTime) -> String {
    let Ok(zone) = Zone::named(&studio.zone) else { return at.to_string() };
    zone.to_local(at.minute()).format("%A %-d %B %Y").to_string()
}

/// The last day on which something that ends at a given time is valid: a quote ends at midnight, and people read the
/// day.
pub(super) fn last_day(studio: &QuoteStudio, until: UtcTime) -> String {
    day(studio, until.plus_minutes(-1))
}

/// A row of an explanation in words: `30 min, × 1.25 for size, = 38 min, at EUR 60.00 an hour, = EUR 38.00`, or
/// `120 ml used, at EUR 16.00 for 1000 ml, = EUR 1.92`.
pub(crate) fn explained(row: &ExplainedRow, currency: &str) -> String {
    let counted = row.unit.map(|unit| unit.0);
    let many = |value: &str| match counted {
        Some(Unit::Piece) if value == "1" => "1 piece".to_owned(),
        Some(Unit::Piece) => format!("{value} pieces"),
        Some(unit) => format!("{value} {}", unit.label()),
        None => value.to_owned(),
    };
    let say = |(kind, value): (&str, &str)| match (kind, row.kind.0) {
        ("BASE_MINUTES", _) => format!("{value} min"),
        ("SIZE_FACTOR", _) => format!("× {value} for size"),
        ("CONDITION_FACTOR", _) => format!("× {value} for condition"),
        ("MINUTES", _) => format!("= {value} min"),
        ("PER_HOUR", _) => format!("at {} an hour", said(currency, value)),
        ("QUANTITY", ExplainedKind::Quantity) => format!("× {value}"),
        ("QUANTITY", _) => format!("{} used", many(value)),
        ("UNIT_PRICE", ExplainedKind::Saving) => format!("separately {}", said(currency, value)),
        ("UNIT_PRICE", _) => format!("at {}", said(currency, value)),
        ("PRICED_BY", _) if value == "1" => "each".to_owned(),
        ("PRICED_BY", _) => format!("for {}", many(value)),
        ("STEP", _) => format!("rounded up to a multiple of {}", said(currency, value)),
        ("PERCENT", _) => format!("{value} %"),
        ("AMOUNT", ExplainedKind::Discount) => said_less(currency, value),
        (_, ExplainedKind::Saving) => format!("you save {}", said(currency, value)),
        _ => format!("= {}", said(currency, value)),
    };
    let mut words = String::new();
    for figure in &row.figures {
        // A price and its unit belong together.
        let joint = match figure.kind.as_str() {
            _ if words.is_empty() => "",
            "PRICED_BY" => " ",
            _ => ", ",
        };
        words.push_str(joint);
        words.push_str(&say((&figure.kind, &figure.value)));
    }
    words
}

/// The text with its first letter in upper case.
pub(crate) fn capital(text: &str) -> String {
    let mut chars = text.chars();
    let first = chars.next().map(|c| c.to_uppercase().collect::<String>()).unwrap_or_default();
    format!("{first}{}", chars.as_str())
}

/// The text as a sentence, with a capital letter and a full stop.
pub(super) fn sentence(text: &str) -> String {
    let end = if text.ends_with(['.', '?', '!']) { "" } else { "." };
    format!("{}{end}", capital(text))
}

#[cfg(test)]
mod tests {
    use baywright_core::platform::kept::Word;
    use baywright_core::quote::kept::FigureRow;

    use super::*;

    #[test]
    fn working_time_is_said_as_people_plan_it() {
        let said = [0, 45, 60, 80, 150, 479, 600, 1370, 480].map(working_time);
        let expected = [
            "",
            "about 45 minutes",
            "about 1 hour",
            "about 1½ hours",
            "about 2½ hours",
            "about 8 hours",
            "about 1½ working days",
            "about 3 working days",
            "about 1 working day",
        ];
        assert_eq!(said, expected);
    }

    #[test]
    fn an_explanation_names_units_and_says_each_amount_in_one_way() {
        let row = |kind, unit: Option<Unit>, figures: &[(&str, &str)]| ExplainedRow {
            kind: Word(kind),
            label: String::new(),
            unit: unit.map(Word),
            figures: figures
                .iter()
                .map(|(kind, value)| FigureRow { kind: (*kind).to_owned(), value: (*value).to_owned() })
                .collect(),
        };
        let product = |unit, by, used| {
            let figures = [("QUANTITY", used), ("UNIT_PRICE", "16.00"), ("PRICED_BY", by), ("AMOUNT", "1.92")];
            explained(&row(ExplainedKind::Product, unit, &figures), "EUR")
        };
        assert_eq!(product(Some(Unit::Millilitre), "1000", "120"), "120 ml used, at EUR 16.00 for 1000 ml, = EUR 1.92");
        assert_eq!(product(Some(Unit::Gram), "1000", "7.5"), "7.5 g used, at EUR 16.00 for 1000 g, = EUR 1.92");
        assert_eq!(product(Some(Unit::Piece), "1", "3"), "3 pieces used, at EUR 16.00 each, = EUR 1.92");
        assert_eq!(product(Some(Unit::Piece), "1", "1"), "1 piece used, at EUR 16.00 each, = EUR 1.92");
        let discount = row(ExplainedKind::Discount, None, &[("PERCENT", "10"), ("AMOUNT", "9.83")]);
        assert_eq!(explained(&discount, "EUR"), "10 %, −EUR 9.83");
    }

    #[test]
    fn a_quote_that_ends_at_midnight_holds_through_the_day_before() {
        let studio = QuoteStudio {
            name: String::new(),
            legal_name: String::new(),
            address: Vec::new(),
            email: String::new(),
            phone: String::new(),
            vat_id: String::new(),
            zone: "Europe/Dublin".into(),
            currency: "EUR".into(),
        };
        // Summer time in Ireland: midnight is 23:00 UTC.
        let until = UtcTime::parse("2026-06-15T23:00:00Z").unwrap();
        assert_eq!(last_day(&studio, until), "Monday 15 June 2026");
        assert_eq!(moment(&studio, until), "Tuesday 16 June 2026 at 00:00");
    }
}
