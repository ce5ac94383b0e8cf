//! Desks that book: every car gets a place that is free, then every place is called off, and again.

use std::sync::Barrier;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::{Duration, Instant};

use baywright_tests::make::booking::floor_menu;
use baywright_tests::make::quote::id;
use baywright_tests::person::Person;
use chrono::{Datelike, Days, NaiveDate, Utc, Weekday};
use serde_json::json;

/// Starts of a wash, which takes an hour and a quarter, far enough from each other for a changeover.
const STARTS: [&str; 4] = ["08:00", "10:00", "12:00", "14:00"];

/// A car and the one place that it is booked into.
struct Car {
    quote: String,
    bay: String,
    start: String,
}

/// Sets up a shop with `cars` signed quotes and books them from `desks` at once, until `time` is over; only the placing
/// is timed. Prints how many were placed and called off, and how long the placing took.
pub(crate) fn run(base: &str, token: &str, desks: usize, cars: usize, time: Duration) {
    let owner = Person::new(base, Some(token.to_owned()));
    let cars = set_up(&owner, cars);
    let people: Vec<Person> = (0..desks).map(|_| Person::new(base, Some(token.to_owned()))).collect();
    let (mut placed, mut took) = (0, Duration::ZERO);
    while took < time {
        let began = Instant::now();
        let booked = each(&people, &cars, |desk, car| {
            let booking = desk.place(&car.quote, &car.bay, &car.start, false).expect(201);
            assert_eq!(booking["state"], "BOOKED", "{booking}");
            booking
        });
        took += began.elapsed();
        placed += booked.len();
        each(&people, &booked, |desk, booking| {
            let ended = desk.move_booking(booking, "cancel", &json!({ "reason": "Another week" })).expect(200);
            assert_eq!(ended["state"], "CANCELLED", "{ended}");
        });
    }
    println!("{}", json!({ "placed": placed, "desks": desks, "micros": u64::try_from(took.as_micros()).unwrap() }));
}

/// Does something for each item once, from all desks at once.
fn each<T: Sync, R: Send>(people: &[Person], items: &[T], act: impl Fn(&Person, &T) -> R + Sync) -> Vec<R> {
    let (next, start) = (AtomicUsize::new(0), Barrier::new(people.len()));
    std::thread::scope(|scope| {
        let desk = |person| {
            let (next, start, act) = (&next, &start, &act);
            scope.spawn(move || {
                start.wait();
                let mine = std::iter::from_fn(|| items.get(next.fetch_add(1, Ordering::Relaxed)));
                mine.map(|item| act(person, item)).collect::<Vec<R>>()
            })
        };
        let running: Vec<_> = people.iter().map(desk).collect();
        running.into_iter().flat_map(|one| one.join().unwrap()).collect()
    })
}

/// Three bays, four technicians and a menu; gives the bays, and the vehicle of a customer.
pub(crate) fn floor(owner: &Person) -> ([String; 3], String) {
    let bays = ["Bay 1", "Bay 2", "Bay 3"].map(|name| id(&owner.add_bay(name, &["cover", "dust-free"])));
    for name in ["Niall Quirke", "Orla Shea", "Ronan Daly", "Maeve Tighe"] {
        owner.add_technician(name, &["correction"]);
    }
    let (_, vehicle) = owner.add_customer_with_car();
    owner.publish_menu(&floor_menu());
    (bays, id(&vehicle))
}

fn set_up(owner: &Person, cars: usize) -> Vec<Car> {
    let (bays, _) = floor(owner);
    let wash: &[&str] = &["wash"];
    // A car is in one bay at a time, so each has its own.
    let signed = |_| owner.signed_quotes(&id(&owner.add_customer_with_car().1), &[wash], None).remove(0);
    let quotes: Vec<String> = (0..cars).map(signed).collect();
    let days = working_days(cars.div_ceil(bays.len() * STARTS.len()));
    let starts = days.iter().flat_map(|day| STARTS.map(|start| format!("{day}T{start}:00Z")));
    let places = starts.flat_map(|start| bays.each_ref().map(|bay| (start.clone(), bay.clone())));
    quotes.into_iter().zip(places).map(|(quote, (start, bay))| Car { quote, bay, start }).collect()
}

/// Working days from tomorrow on.
#[allow(clippy::disallowed_methods, reason = "the program under load runs by the real clock")]
fn working_days(count: usize) -> Vec<NaiveDate> {
    let today = Utc::now().date_naive();
    let ahead = (1..).map(|days| today.checked_add_days(Days::new(days)).unwrap());
    ahead.filter(|day| !matches!(day.weekday(), Weekday::Sat | Weekday::Sun)).take(count).collect()
}
