//! The hours of a usual week in a form: rows of a beginning and an end, at least two for each day. A row that is left
//! blank is no hours.

use baywright_core::shop::usecase::MOST_HOURS;
use baywright_domain::calendar::{DayHours, DayOfWeek, time_of_day};

use super::{Fields, Input, Reading, closing_minute, minute_of_day};

/// Rows that a day has at least, for hours before and after a break.
const LEAST_ROWS: usize = 2;

/// Maximum number of rows that a form has: those of the longest week, and blank ones for each day.
const MOST_ROWS: usize = MOST_HOURS + 7 * LEAST_ROWS;

/// The hours of a week as the rows of a form would bring them.
pub fn week_fields(name: &str, week: &[(DayOfWeek, DayHours)]) -> Fields {
    let mut fields = Vec::new();
    for day in DayOfWeek::ALL {
        let hours: Vec<DayHours> = week.iter().filter(|(of, _)| of == day).map(|(_, hours)| *hours).collect();
        for place in 0..hours.len().max(LEAST_ROWS) {
            let times = |hours: &DayHours| (time_of_day(hours.opens()), time_of_day(hours.closes_on_the_clock()));
            let (from, until) = hours.get(place).map(times).unwrap_or_default();
            let row = fields.len() / 3;
            fields.push((format!("{name}.{row}.weekday"), day.as_str().to_owned()));
            fields.push((format!("{name}.{row}.from"), from));
            fields.push((format!("{name}.{row}.until"), until));
        }
    }
    Fields::of_record(fields)
}

/// The rows that a form has: the index of each, with its day; `None` if the day can't be read.
fn rows(fields: &Fields, name: &str) -> impl Iterator<Item = (usize, Option<DayOfWeek>)> {
    let day = move |row: usize| {
        let field = format!("{name}.{row}.weekday");
        fields.has(&field).then(|| DayOfWeek::parse(&fields.text(&field)).ok())
    };
    (0..MOST_ROWS).map_while(move |row| Some((row, day(row)?)))
}

/// The inputs for the rows that the fields have.
pub fn week_inputs(name: &str, fields: &Fields) -> Vec<Input> {
    let mut inputs = Vec::new();
    let mut before = None;
    for (row, day) in rows(fields, name) {
        let Some(day) = day else { continue };
        let field = |what: &str| format!("{name}.{row}.{what}");
        let again = if before == Some(day) { ", after a break" } else { "" };
        let weekday = Input::hidden(field("weekday"));
        inputs.push(if before == Some(day) { weekday } else { weekday.under(day.label()) });
        inputs.push(Input::short(field("from"), format!("{day}{again}, from")).optional().beside());
        inputs.push(Input::short(field("until"), format!("{day}{again}, until")).optional().beside());
        before = Some(day);
    }
    inputs
}

/// The hours of a week as they were typed; a fault of a row is reported beside it.
pub fn read_week(form: &mut Reading<'_>, fields: &Fields, name: &str) -> Vec<(DayOfWeek, DayHours)> {
    let mut week = Vec::new();
    for (row, day) in rows(fields, name) {
        let (from, until) = (format!("{name}.{row}.from"), format!("{name}.{row}.until"));
        let Some(day) = day else {
            form.fault(
                &from,
                "not_a_day",
                "Open this page again and enter the hours there: the day of this row is not known.",
            );
            continue;
        };
        if [&from, &until].iter().all(|name| fields.text(name).trim().is_empty()) {
            continue;
        }
        let (opens, closes) = (form.needed(&from, minute_of_day), form.needed(&until, closing_minute));
        match opens.zip(closes).map(|(opens, closes)| DayHours::new(opens, closes)) {
            Some(Ok(hours)) => week.push((day, hours)),
            Some(Err(error)) => form.fault(&from, "not_hours", &format!("{error}.")),
            None => {}
        }
    }
    if week.len() > MOST_HOURS {
        form.fault(name, "too_many", &format!("Enter hours in at most {MOST_HOURS} rows."));
    }
    week
}

#[cfg(test)]
mod tests {
    use super::*;

    fn hours(opens: u16, closes: u16) -> DayHours {
        DayHours::new(opens, closes).unwrap()
    }

    #[test]
    fn a_week_comes_back_from_its_form_as_it_went() {
        let week = vec![
            (DayOfWeek::Monday, hours(480, 720)),
            (DayOfWeek::Monday, hours(780, 1050)),
            (DayOfWeek::Monday, hours(1140, 1440)),
            (DayOfWeek::Saturday, hours(1320, 120)),
        ];
        let fields = week_fields("hours", &week);
        let mut form = Reading::of(&fields);
        assert_eq!(read_week(&mut form, &fields, "hours"), week);
        assert!(form.is_clean());
        // Monday has three rows, every other day two.
        let inputs = week_inputs("hours", &fields);
        assert_eq!(inputs.len(), 3 * (3 + 6 * 2));
        assert_eq!(inputs.iter().filter(|input| !input.heading.is_empty()).count(), 7);
        assert_eq!((&*inputs[4].name, &*inputs[4].label), ("hours.1.from", "Monday, after a break, from"));
    }

    #[test]
    fn a_row_without_a_day_is_refused_and_hides_no_other() {
        let fields = Fields::of_query(
            "hours.0.weekday=NONSENSE&hours.0.from=8&hours.0.until=12&hours.1.weekday=FRIDAY&hours.1.from=9&hours.1.until=17",
        );
        let mut form = Reading::of(&fields);
        assert_eq!(read_week(&mut form, &fields, "hours"), [(DayOfWeek::Friday, hours(540, 1020))]);
        let refused = form.done(Some(())).unwrap_err();
        assert_eq!(refused.errors().iter().map(|fault| fault.pointer.as_str()).collect::<Vec<_>>(), ["/hours/0/from"]);
    }

    #[test]
    fn what_is_wrong_with_hours_is_told_at_their_row() {
        let fields = Fields::of_query(
            "hours.0.weekday=MONDAY&hours.0.from=8&hours.0.until=&hours.1.weekday=TUESDAY&hours.1.from=late\
             &hours.1.until=17.30&hours.2.weekday=FRIDAY&hours.2.from=9&hours.2.until=9",
        );
        let mut form = Reading::of(&fields);
        assert!(read_week(&mut form, &fields, "hours").is_empty());
        let refused = form.done(Some(())).unwrap_err();
        let told: Vec<&str> = refused.errors().iter().map(|fault| fault.pointer.as_str()).collect();
        assert_eq!(told, ["/hours/0/until", "/hours/1/from", "/hours/2/from"]);
    }
}
