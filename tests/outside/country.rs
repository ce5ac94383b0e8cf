//! Country codes against ISO 3166-1 as a published library lists them; the source is in `data/iso3166/SOURCE.md`.

use baywright_domain::country::Country;

#[test]
fn the_countries_are_those_of_iso_3166_1() {
    let published: Vec<&str> = include_str!("../data/iso3166/alpha-2.txt").lines().collect();
    let ours: Vec<String> = Country::all().map(|country| country.to_string()).collect();
    assert_eq!(ours, published);
    assert!(published.iter().all(|code| Country::parse(code).is_ok()));
}
