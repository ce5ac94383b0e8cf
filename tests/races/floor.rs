//! The shop that is raced in: three bays, four people, and work that was signed.

use baywright_tests::make::booking::floor_menu;
use baywright_tests::person::Person;
use chrono::{Datelike, Days, NaiveDate, Utc, Weekday};
use serde_json::{Value, json};

/// What there is to race for.
pub(crate) struct Floor {
    /// The bays, all alike.
    pub(crate) bays: Vec<String>,
    /// Signed quotes without a place.
    pub(crate) quotes: Vec<String>,
    /// One more of them.
    pub(crate) rival: String,
    /// Starts in the next ten working days.
    pub(crate) starts: Vec<String>,
    /// A start long after them.
    pub(crate) last_start: String,
}

impl Floor {
    /// Sets the shop up over HTTP; the customer has that email address, or none.
    pub(crate) fn set_up(owner: &Person, quotes: usize, email: Option<&str>) -> Self {
        let id = |view: &Value| view["id"].as_str().unwrap().to_owned();
        let bays = ["Bay 1", "Bay 2", "Bay 3"].map(|name| id(&owner.add_bay(name, &["cover", "dust-free"])));
        for name in ["Niall Quirke", "Orla Shea", "Ronan Daly", "Maeve Tighe"] {
            owner.add_technician(name, &["correction"]);
        }
        let emails: Vec<&str> = email.into_iter().collect();
        let customer = owner
            .post("/v1/customers?confirm=known-customer", &json!({ "name": "Aoife Byrne", "emails": emails }))
            .expect(201);
        owner.publish_menu(&floor_menu());
        // Of an hour and a quarter, a long morning, and a day with a night of curing.
        let kinds: [&[&str]; 4] = [&["wash"], &["polish"], &["coating"], &["wash"]];
        let services: Vec<&[&str]> = kinds.into_iter().cycle().take(quotes + 1).collect();
        // A car is in one bay at a time, so each has its own.
        let one = |(number, services): (usize, &&[&str])| {
            let vehicle = owner.add_vehicle(&id(&customer), &format!("231-D-{}", 10101 + number));
            owner.signed_quotes(&id(&vehicle), &[*services], None).remove(0)
        };
        let mut signed: Vec<String> = services.iter().enumerate().map(one).collect();
        let days = working_days(60);
        Self {
            bays: bays.into(),
            rival: signed.pop().unwrap(),
            quotes: signed,
            starts: days[..10].iter().flat_map(|day| starts(*day)).collect(),
            last_start: format!("{}T09:00:00Z", days[50]),
        }
    }
}

/// Working days from tomorrow on.
#[allow(clippy::disallowed_methods, reason = "the program under test runs by the real clock")]
fn working_days(count: usize) -> Vec<NaiveDate> {
    let today = Utc::now().date_naive();
    let ahead = (1..).map(|days| today.checked_add_days(Days::new(days)).unwrap());
    ahead.filter(|day| !matches!(day.weekday(), Weekday::Sat | Weekday::Sun)).take(count).collect()
}

/// Every quarter of an hour at which the shop is open, in winter and in summer time.
fn starts(day: NaiveDate) -> impl Iterator<Item = String> {
    (8 * 4..16 * 4).map(move |quarter| format!("{day}T{:02}:{:02}:00Z", quarter / 4, quarter % 4 * 15))
}
