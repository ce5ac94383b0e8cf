//! By whom tries are counted behind a proxy.

use baywright_tests::answer::Answer;
use baywright_tests::person::Person;
use baywright_tests::program::{EMAIL, PASSWORD};
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

const WRONG: &str = "not the one it is";

/// A try to sign in that the proxy says comes from that address.
fn sign_in(nobody: &Person, address: &str, email: &str, password: &str) -> Answer {
    let body = json!({ "email": email, "password": password });
    nobody.json("POST", "/v1/sessions", &[("x-forwarded-for", address)], &body)
}

/// Twenty wrong passwords for the owner's account, from ten addresses that it doesn't know.
fn attack(nobody: &Person) {
    for host in 1..=10 {
        for _ in 0..2 {
            sign_in(nobody, &format!("198.51.100.{host}"), EMAIL, WRONG).problem(401, "not-signed-in");
        }
    }
}

#[test]
fn guesses_at_one_account_from_many_addresses_slow_strangers_only() {
    on_each_engine(|_, program| {
        let serving = program.serve(&["--behind-proxy"]);
        let nobody = serving.nobody();
        let tried = |address: &str, password: &str| sign_in(&nobody, address, EMAIL, password);
        tried("192.0.2.1", PASSWORD).expect(201);
        attack(&nobody);
        // Whoever comes from an address that the account doesn't know may fail twice.
        for _ in 0..2 {
            tried("203.0.113.1", WRONG).problem(401, "not-signed-in");
        }
        let refused = tried("203.0.113.1", WRONG);
        let wait: u64 = refused.header("retry-after").parse().unwrap();
        assert!((29 * 60..=30 * 60).contains(&wait), "{wait}");
        let refused = refused.problem(429, "too-many-attempts");
        assert!(refused["detail"].as_str().unwrap().contains("sign in where you signed in before"), "{refused}");
        // The right password gets in from anywhere, and where it did before there is time for mistakes.
        tried("203.0.113.2", PASSWORD).expect(201);
        for _ in 0..4 {
            tried("192.0.2.1", WRONG).problem(401, "not-signed-in");
        }
        tried("192.0.2.1", PASSWORD).expect(201);
    });
}

#[test]
fn the_networks_of_one_ipv6_site_that_guess_at_an_account_are_slowed_together() {
    on_each_engine(|_, program| {
        let serving = program.serve(&["--behind-proxy"]);
        let nobody = serving.nobody();
        let tried = |address: &str, password: &str| sign_in(&nobody, address, EMAIL, password);
        attack(&nobody);
        for network in 1..=2 {
            tried(&format!("2001:db8:1:{network}::1"), WRONG).problem(401, "not-signed-in");
        }
        tried("2001:db8:1:3::1", WRONG).problem(429, "too-many-attempts");
        tried("2001:db8:2:1::1", PASSWORD).expect(201);
    });
}

#[test]
fn a_person_who_is_signed_in_has_time_for_mistakes_while_others_guess_at_their_password() {
    on_each_engine(|_, program| {
        let serving = program.serve(&["--behind-proxy"]);
        let nobody = serving.nobody();
        let session = sign_in(&nobody, "192.0.2.1", EMAIL, PASSWORD).expect(201);
        attack(&nobody);
        let signed_in = serving.with_token(session["access_token"].as_str().unwrap());
        let change = |current: &str| {
            let body = json!({ "current": current, "password": "fourteen loud kettles" });
            signed_in.json("POST", "/v1/me/password", &[("x-forwarded-for", "203.0.113.1")], &body)
        };
        for _ in 0..4 {
            change(WRONG).problem(422, "invalid-value");
        }
        change(PASSWORD).expect(204);
    });
}

#[test]
fn guesses_at_other_accounts_take_nothing_from_an_account_that_is_known_at_their_address() {
    on_each_engine(|_, program| {
        let serving = program.serve(&["--behind-proxy"]);
        let nobody = serving.nobody();
        let address = "192.0.2.1";
        sign_in(&nobody, address, EMAIL, PASSWORD).expect(201);
        let guess = |number: usize| sign_in(&nobody, address, &format!("made-up-{number}@example.com"), WRONG).status;
        assert!((0..200).any(|number| guess(number) == 429), "the guesser was never slowed");
        sign_in(&nobody, address, EMAIL, PASSWORD).expect(201);
    });
}
