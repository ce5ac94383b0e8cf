//! Dilutions: product and water for a litre, and the share of product.
//!
//! Source: `data/mixing/SOURCE.md`. Rows of the reading "total parts" are checked as the mix they describe in ours:
//! one part in ten in all is one part of product to nine of water.

use baywright_domain::mixing::Ratio;
use rust_decimal::Decimal;
use serde_json::Value;

#[test]
fn dilutions_come_to_their_published_amounts_and_shares() {
    let rows: Vec<Value> = serde_json::from_str(include_str!("../data/mixing/dilution.json")).unwrap();
    assert_eq!(rows.len(), 3);
    for row in rows {
        let label = row["ratio"].as_str().unwrap();
        let ratio = match row["convention"].as_str().unwrap() {
            "parts of water added" => Ratio::parse(label).unwrap(),
            "total parts" => {
                let (product, all) = label.split_once(':').unwrap();
                let (product, all): (Decimal, Decimal) = (product.parse().unwrap(), all.parse().unwrap());
                Ratio::parts(product, all - product).unwrap()
            }
            other => panic!("{other}"),
        };
        let amounts: Vec<Decimal> =
            row["for_1000_ml"].as_array().unwrap().iter().map(|ml| ml.as_str().unwrap().parse().unwrap()).collect();
        let mixed = ratio.make(Decimal::ONE_THOUSAND).unwrap();
        assert_eq!([mixed.product_ml, mixed.water_ml], amounts[..], "{label}");
        let percent: Decimal = row["percent"].as_str().unwrap().parse().unwrap();
        assert_eq!(ratio.percent(), percent, "{label}");
    }
}
