//! The tax that new services take: its category and its rates, each with the day from which it applies.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, get, post};
use baywright_core::platform::fail::{Done, Fail};
use baywright_core::platform::identity::Owner;
use baywright_core::platform::refusal::Refused;
use baywright_core::platform::tx::Tx;
use baywright_core::platform::version::Seen;
use baywright_core::shop::usecase::{self, TaxCategory, TaxDetails};
use baywright_domain::menu::Code;
use baywright_domain::money::Percent;
use baywright_domain::tax::Category;
use baywright_http::platform::answer::Answer;
use baywright_http::platform::page::{PageRead, PageWrite};
use baywright_http::platform::wire::{Day, Line};

use crate::platform::form::{Entry, Fields, FormPage, FormView, Input, Reading, number};
use crate::platform::{Insider, taken};

/// The address of the page.
const HERE: &str = "/tax";

/// Maximum number of rates of one tax, as in the API.
const MOST_RATES: usize = 50;

/// What the page shows.
struct Found {
    insider: Insider,
    fields: Fields,
    others: Vec<Entry>,
}

/// What a category is for, as the owner of a studio reads it.
const fn meaning(category: Category) -> &'static str {
    match category {
        Category::Standard => "VAT is charged",
        Category::ZeroRated => "VAT at 0 %",
        Category::Exempt => "exempt, such as a small business",
        Category::ReverseCharge => "the customer owes the VAT",
        Category::OutOfScope => "outside the scope of VAT",
        Category::IntraCommunity => "supply to another member state of the EU",
        Category::Export => "export out of the EU",
        Category::CanaryIslands => "IGIC of the Canary Islands",
        Category::CeutaMelilla => "IPSI of Ceuta and Melilla",
    }
}

/// The inputs, with a row for each rate that the fields have.
fn inputs(fields: &Fields) -> Vec<Input> {
    let categories = Category::ALL.map(|category| (category.code().to_owned(), meaning(category).to_owned()));
    let mut inputs = vec![
        Input::line("name", "Name on invoices"),
        Input::line("category", "VAT treatment").options(categories.to_vec()),
        Input::line("reason", "Reason why no VAT is charged")
            .hint("Invoices must state it if you charge no VAT.")
            .optional(),
    ];
    for row in rows(fields) {
        let percent = Input::short(format!("rates.{row}.percent"), "Rate in percent").optional().beside();
        inputs.push(if row == 0 { percent.under("Rates") } else { percent });
        inputs.push(Input::short(format!("rates.{row}.from"), "Applies from").optional().beside());
    }
    inputs
}

/// The rows of rates that the fields have.
fn rows(fields: &Fields) -> impl Iterator<Item = usize> {
    (0..MOST_RATES).take_while(move |row| fields.has(&format!("rates.{row}.percent")))
}

/// The tax as its form would bring it, with a blank row for one more rate.
fn fields_of(tax: &TaxCategory) -> Fields {
    let mut fields = vec![
        ("version".to_owned(), tax.version.to_string()),
        ("name".to_owned(), tax.name.clone()),
        ("category".to_owned(), tax.table.category().code().to_owned()),
        ("reason".to_owned(), tax.reason.clone().unwrap_or_default()),
    ];
    let rates = tax.table.rates().map(|(from, rate)| (rate.decimal().normalize().to_string(), from.to_string()));
    for (row, (percent, from)) in rates.chain([(String::new(), String::new())]).enumerate() {
        fields.push((format!("rates.{row}.percent"), percent));
        fields.push((format!("rates.{row}.from"), from));
    }
    Fields::of_record(fields)
}

/// What the form brings.
struct Read {
    seen: Seen,
    name: String,
    category: Category,
    reason: Option<String>,
    rates: Vec<(Day, Percent)>,
}

impl Read {
    /// The tax of that code.
    fn details(&self, code: Code) -> TaxDetails {
        TaxDetails {
            code,
            name: self.name.clone(),
            category: self.category,
            reason: self.reason.clone(),
            usual: true,
            rates: self.rates.iter().map(|(day, rate)| (day.0, *rate)).collect(),
        }
    }
}

/// What the form brings, or everything that is wrong with it.
fn read(fields: &Fields) -> Result<Read, Refused> {
    let mut form = Reading::of(fields);
    let seen = form.version()?;
    let name = form.needed("name", Line::<100>::parse);
    let category =
        form.needed("category", |text| Category::of(text).ok_or_else(|| "choose the VAT treatment".to_owned()));
    let reason = form.optional("reason", Line::<300>::parse).map(Line::into_string);
    let mut rates = Vec::new();
    for row in rows(fields) {
        let (percent, from) = (format!("rates.{row}.percent"), format!("rates.{row}.from"));
        if [&percent, &from].iter().all(|name| fields.text(name).trim().is_empty()) {
            continue;
        }
        let rate = form.needed(&percent, |text| {
            let number = number(text.trim().trim_end_matches('%'), 4)?;
            Percent::new(number).map_err(|error| error.to_string())
        });
        let from = form.needed(&from, |text| Day::parse(text.trim()));
        rates.extend(from.zip(rate));
    }
    let (name, category) = form.done(name.zip(category))?;
    Ok(Read { seen, name: name.into_string(), category, reason, rates })
}

/// The tax that new services take, and the other ones.
fn taxes(tx: &mut Tx<'_>) -> Done<(TaxCategory, Vec<TaxCategory>)> {
    let (usual, others): (Vec<_>, Vec<_>) = usecase::taxes(tx)?.into_iter().partition(|tax| tax.usual);
    let usual = usual.into_iter().next().ok_or_else(|| Fail::unexpected("a shop without a usual tax"))?;
    Ok((usual, others))
}

fn found(tx: &mut Tx<'_>) -> Done<Found> {
    let insider = Insider::of(tx)?;
    let (usual, others) = taxes(tx)?;
    let others = others.into_iter().map(|tax| Entry {
        note: meaning(tax.table.category()).to_owned(),
        title: tax.name,
        address: String::new(),
    });
    Ok(Found { insider, fields: fields_of(&usual), others: others.collect() })
}

fn shown(insider: Insider, form: FormView, others: Vec<Entry>) -> FormPage {
    FormPage::new("Tax", insider, "/shop", form, HERE)
        .lead(
            "New services use this tax. For a new rate, add its first day. Documents keep the rate of their own date.",
        )
        .list("Other taxes", others)
}

/// The tax that new services take, and what other taxes there are.
#[get("/tax")]
pub(super) async fn show(page: PageRead<Owner>, request: HttpRequest) -> Answer {
    let asked = Fields::of_query(request.query_string());
    let Found { insider, fields, others } = page.read(found).await?;
    let form = FormView::new(inputs(&fields), &fields, page.form_code());
    shown(insider, form, others).saved(asked.yes("saved")).answer(StatusCode::OK)
}

/// Saves the form.
#[post("/tax")]
pub(super) async fn save(page: PageWrite<Owner>) -> Answer {
    let fields = Fields::of_form(page.form());
    let taken = taken(&page, read(&fields), |tx, read| {
        let (tax, _) = taxes(tx)?;
        usecase::replace_tax(tx, &tax.id, read.seen, &read.details(tax.code))?;
        Ok(format!("{HERE}?saved=yes"))
    });
    let problem = match taken.await? {
        Ok(answer) => return Ok(answer),
        Err(problem) => problem,
    };
    let Found { insider, fields: theirs, others } = page.read(found).await?;
    let rows = if fields.has("rates.0.percent") { &fields } else { &theirs };
    let form = FormView::new(inputs(rows), &fields, page.form_code()).after(&problem, &theirs);
    shown(insider, form, others).answer(problem.status())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tax_is_read_with_all_its_rates_and_a_blank_row_is_none() {
        let form = "version=2&name=Standard&category=S&reason=&rates.0.percent=23+%25&rates.0.from=2000-01-01\
                    &rates.1.percent=21%2C5&rates.1.from=2026-09-01&rates.2.percent=&rates.2.from=";
        let read_form = read(&Fields::of_query(form)).unwrap();
        let tax = read_form.details(Code::parse("standard").unwrap());
        let rates = tax.rates.iter().map(|(from, rate)| format!("{from} {}", rate.decimal().normalize()));
        assert_eq!(
            (read_form.seen, rates.collect::<Vec<_>>()),
            (Seen(2), vec!["2000-01-01 23".to_owned(), "2026-09-01 21.5".to_owned()])
        );
        let bad = "version=2&name=&category=S&rates.0.percent=230&rates.0.from=soon";
        let refused = read(&Fields::of_query(bad)).err().unwrap();
        let told: Vec<&str> = refused.errors().iter().map(|fault| fault.pointer.as_str()).collect();
        assert_eq!(told, ["/name", "/rates/0/percent", "/rates/0/from"]);
    }
}
