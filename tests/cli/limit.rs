//! By whom tries are counted behind a proxy.

use baywright_tests::program::EMAIL;
use serde_json::json;

use crate::on_each_engine;

#[test]
fn tries_from_one_ipv6_network_count_together_and_those_of_an_ipv4_address_however_it_is_written() {
    on_each_engine(|_, program| {
        let serving = program.serve(&["--behind-proxy"]);
        let nobody = serving.nobody();
        let tried = |address: &str| {
            let body = json!({ "email": EMAIL, "password": "not the one it is" });
            nobody.json("POST", "/v1/sessions", &[("x-forwarded-for", address)], &body).status
        };
        // Addresses for documentation (RFC 3849, RFC 5737). Five tries for one account are free.
        for host in 1..=5 {
            assert_eq!(tried(&format!("2001:db8:1:2:{host}::{host}")), 401);
        }
        assert_eq!(tried("2001:db8:1:2:abcd::1"), 429);
        assert_eq!(tried("2001:db8:1:3::1"), 401);
        for way in ["192.0.2.7", "::ffff:192.0.2.7", "::ffff:c000:207", "192.0.2.7", "::ffff:192.0.2.7"] {
            assert_eq!(tried(way), 401, "{way}");
        }
        assert_eq!(tried("::ffff:192.0.2.7"), 429);
        assert_eq!(tried("192.0.2.7"), 429);
        assert_eq!(tried("192.0.2.8"), 401);
    });
}
