//! The domain's rules as answers to JSON cases, with no rule of its own: each kind reads a case into the domain's
//! types, calls one function and writes down what comes back.
//!
//! A new kind is a module with `pub fn answer(case: …) -> Answer<…>` and two lines here: one in [`Kind`], one in
//! [`dispatch`].

mod appointment;
mod availability;
mod canonical;
mod cells;
mod diary;
mod hours;
mod learn;
mod mix;
mod orders;
mod read;
mod sequence;
mod totals;
mod vat;
mod vin;
mod week;

use std::io::{self, BufRead, Write};
use std::time::{Duration, Instant};

use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::{Map, Value};

/// What a case is answered with: the answer, or the sentence that says why there is none.
pub type Answer<T> = Result<T, String>;

/// What the cases of a run ask for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub enum Kind {
    /// The calendar file of an appointment.
    Appointment,
    /// The first placements of a plan in a shop's diary.
    Availability,
    /// The canonical text of a JSON value and its digest.
    Canonical,
    /// Rows as a list for a spreadsheet, and read back.
    Cells,
    /// The calendar file of a feed of appointments.
    Feed,
    /// Local opening hours as UTC intervals.
    Hours,
    /// What actual minutes of a step teach.
    Learn,
    /// Product and water of a mix.
    Mix,
    /// The orders of steps that no other beats in both changeover and elapsed time.
    Orders,
    /// What is believed of several steps together.
    Outlook,
    /// The cheapest order of steps under precedence.
    Sequence,
    /// The sums of a document, with net or gross prices.
    Totals,
    /// Check digits of a VAT identifier.
    Vat,
    /// Form and check digit of a vehicle identification number.
    Vin,
    /// All jobs of a week at once.
    Week,
}

/// An answer as JSON, and how long the rules took for it.
struct Answered {
    value: Value,
    took: Duration,
}

/// Answers one case of a kind.
fn dispatch(kind: Kind, case: Value) -> Answer<Answered> {
    match kind {
        Kind::Appointment => typed(case, appointment::answer),
        Kind::Availability => typed(case, availability::answer),
        Kind::Canonical => typed(case, canonical::answer),
        Kind::Cells => typed(case, cells::answer),
        Kind::Feed => typed(case, appointment::answer_feed),
        Kind::Hours => typed(case, hours::answer),
        Kind::Learn => typed(case, learn::answer),
        Kind::Mix => typed(case, mix::answer),
        Kind::Orders => typed(case, orders::answer),
        Kind::Outlook => typed(case, learn::answer_outlook),
        Kind::Sequence => typed(case, sequence::answer),
        Kind::Totals => typed(case, totals::answer),
        Kind::Vat => typed(case, vat::answer),
        Kind::Vin => typed(case, vin::answer),
        Kind::Week => typed(case, week::answer),
    }
}

/// Fields that a case may carry for its reader: its name, what is expected, where it comes from.
const NOTES: [&str; 6] = ["id", "expect", "same_figures", "source", "note", "why"];

/// Answers every line of the input on a line of the output, in order; lines without a case are passed over. Where they
/// are `timed`, an answer has the nanoseconds that it took, from the case once read to the answer not yet written.
///
/// # Errors
/// Only where reading or writing fails; a bad case is answered with an `error`.
pub fn run(kind: Kind, timed: bool, mut input: impl BufRead, mut output: impl Write) -> io::Result<()> {
    let mut line = Vec::new();
    while input.read_until(b'\n', &mut line)? > 0 {
        if !line.trim_ascii().is_empty() {
            serde_json::to_writer(&mut output, &answer_line(kind, timed, &line))?;
            output.write_all(b"\n")?;
        }
        line.clear();
    }
    output.flush()
}

/// The answer to one line, as it is written.
fn answer_line(kind: Kind, timed: bool, line: &[u8]) -> Value {
    let mut id = None;
    let answer = serde_json::from_slice(line).map_err(|e| format!("not JSON: {e}")).and_then(|mut case: Value| {
        if let Value::Object(fields) = &mut case {
            id = fields.get("id").cloned();
            fields.retain(|name, _| !NOTES.contains(&name.as_str()));
        }
        dispatch(kind, case)
    });
    let took = answer.as_ref().ok().map(|answered| answered.took);
    let mut fields = match answer.map(|answered| answered.value) {
        Ok(Value::Object(fields)) => fields,
        Ok(other) => Map::from_iter([("answer".to_owned(), other)]),
        Err(message) => Map::from_iter([("error".to_owned(), Value::String(message))]),
    };
    if let Some(id) = id {
        fields.insert("id".to_owned(), id);
    }
    if let Some(took) = took.filter(|_| timed) {
        fields.insert("nanos".to_owned(), u64::try_from(took.as_nanos()).unwrap_or(u64::MAX).into());
    }
    Value::Object(fields)
}

/// Reads the case into the kind's own form, and writes the answer as JSON.
fn typed<I: DeserializeOwned, O: Serialize>(case: Value, answer: fn(I) -> Answer<O>) -> Answer<Answered> {
    let case = serde_json::from_value(case).map_err(|e| e.to_string())?;
    let began = Instant::now();
    let answer = answer(case)?;
    let took = began.elapsed();
    Ok(Answered { value: serde_json::to_value(answer).map_err(|e| e.to_string())?, took })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn answers(kind: Kind, cases: &str) -> Vec<Value> {
        let mut written = Vec::new();
        run(kind, false, cases.as_bytes(), &mut written).unwrap();
        let text = String::from_utf8(written).unwrap();
        text.lines().map(|line| serde_json::from_str(line).unwrap()).collect()
    }

    #[test]
    fn a_bad_case_gets_an_error_with_its_id_and_the_run_goes_on() {
        let line = r#"{"quantity":"1","price":"99.99","category":"S","rate":"19"}"#;
        let good = format!(r#"{{"id":[3],"currency":"EUR","prices":"gross","lines":[{line}]}}"#);
        let cases = format!("{{\"id\":1}}\n\nno json\n[]\n{good}\n{{\"id\":\"last\",\"lines\":7}}");
        let got = answers(Kind::Totals, &cases);
        assert_eq!(got.len(), 5);
        assert_eq!((&got[0]["id"], got[0]["error"].is_string()), (&Value::from(1), true));
        assert!(got[1]["error"].is_string() && got[1].get("id").is_none());
        assert!(got[2]["error"].is_string());
        assert_eq!((&got[3]["id"][0], &got[3]["payable"]), (&Value::from(3), &Value::from("99.99")));
        assert_eq!((&got[4]["id"], got[4]["error"].is_string()), (&Value::from("last"), true));
    }

    #[test]
    fn only_answers_that_are_timed_say_what_they_took() {
        let cases = "{\"ratio\":\"1:4\",\"total_ml\":1000}\n{}";
        for timed in [false, true] {
            let mut written = Vec::new();
            run(Kind::Mix, timed, cases.as_bytes(), &mut written).unwrap();
            let got: Vec<Value> =
                String::from_utf8(written).unwrap().lines().map(|line| serde_json::from_str(line).unwrap()).collect();
            assert_eq!((got[0]["nanos"].is_u64(), got[0]["product_ml"].as_str()), (timed, Some("200")), "{got:?}");
            assert!(got[1]["error"].is_string() && got[1].get("nanos").is_none(), "{got:?}");
        }
    }

    #[test]
    fn orders_are_a_front_or_an_error_that_names_the_pair() {
        // Seats dry for 240 minutes. Polishing meanwhile costs two changeovers of 5 more, and saves 215 minutes.
        let seats = r#"{"minutes":90,"wait":240,"holds":"after"},{"minutes":220,"wait":0},{"minutes":15,"wait":0}"#;
        let cost = "[[0,0,0,9,0],[0,0,5,0,0],[0,9,0,5,0],[0,9,0,0,0],[0,0,0,0,0]]";
        let case = |before: &str| format!(r#"{{"steps":[{seats}],"cost":{cost},"before":{before}}}"#);
        let got = answers(Kind::Orders, &format!("{}\n{}\n", case("[[0,2]]"), case("[[0,3]]")));
        let of = |at: usize, field: &str| got[0]["front"][at][field].clone();
        assert_eq!(got[0]["proven"], true, "{got:?}");
        assert_eq!((of(0, "changeover"), of(0, "elapsed")), (Value::from(0), Value::from(565)), "{got:?}");
        assert_eq!((of(1, "changeover"), of(1, "elapsed")), (Value::from(10), Value::from(350)), "{got:?}");
        assert!(got[1]["error"].as_str().is_some_and(|error| error.contains("[0, 3]")), "{got:?}");
    }

    #[test]
    fn a_week_whose_cars_change_bays_has_stays() {
        let bay = |code: &str, feature: &str| {
            format!(r#"{{"code":"{code}","features":["{feature}"],"open":[[0,600]],"held":[]}}"#)
        };
        let step = |code: &str, feature: &str| {
            format!(
                r#"{{"code":"{code}","minutes":30,"skills":[],"splittable":false,"piece":0,"wait":0,"wait_when":"any","features":["{feature}"]}}"#
            )
        };
        let plan = format!(
            r#"{{"features":[],"steps":[{},{}],"max_stays":2,"move_minutes":5}}"#,
            step("wash", "drain"),
            step("coat", "clean")
        );
        let case = format!(
            r#"{{"from":0,"until":600,"bays":[{},{}],"technicians":[{{"code":"T","skills":[],"working":[[0,600]],"busy":[]}}],"jobs":[{{"code":"J","arrives":0,"due":600,"weight":1,"plan":{plan}}}],"budget_nodes":1000}}"#,
            bay("R", "clean"),
            bay("W", "drain")
        );
        let got = answers(Kind::Week, &case);
        let stays = serde_json::json!([{"bay":"W","from":0,"to":30},{"bay":"R","from":30,"to":65}]);
        assert_eq!((&got[0]["placements"][0]["stays"], &got[0]["proven"]), (&stays, &Value::from(true)), "{got:?}");
    }

    #[test]
    fn a_field_that_no_kind_knows_is_an_error() {
        let case = r#"{"currency":"EUR","prices":"net","lines":[],"discounts":[]}"#;
        assert!(answers(Kind::Totals, case)[0]["error"].as_str().unwrap().contains("discounts"));
    }
}
