//! The pages that the type of a problem leads to.

use baywright_core::problems::{meanings, warnings};
use baywright_tests::on_each_engine;

#[test]
fn the_type_of_a_no_leads_to_what_it_means() {
    on_each_engine(|studio| {
        let visitor = studio.nobody();
        let no = visitor.get("/v1/customers").problem(401, "not-signed-in");
        let page = visitor.get(no["type"].as_str().unwrap());
        assert_eq!((page.status, page.header("content-type")), (200, "text/html; charset=utf-8"));
        assert!(page.text.contains("<h1>Not signed in</h1>") && page.text.contains("Sign in first."), "{}", page.text);
        let all = visitor.get("/problems").text;
        for meaning in meanings() {
            assert!(all.contains(&format!("href=\"/problems/{}\"", meaning.slug)), "{}", meaning.slug);
        }
        for warning in warnings() {
            assert!(all.contains(&format!("id=\"warning-{}\"", warning.slug)), "{}", warning.slug);
        }
        visitor.get("/problems/no-such-kind").problem(404, "not-found");
    });
}

/// RFC 9110, section 15.5.16: `Accept-Encoding` says which coding would have been taken.
#[test]
fn a_compressed_body_is_refused_before_anything_is_read_of_it() {
    on_each_engine(|studio| {
        let (owner, key) = (studio.owner(), baywright_core::platform::ids::new::<String>());
        let body = || Some(br#"{ "name": "Aoife Byrne" }"#.to_vec());
        for coding in ["gzip", "deflate", "br", "zstd", "identity, gzip", "made-up"] {
            let headers =
                [("content-type", "application/json"), ("content-encoding", coding), ("idempotency-key", &*key)];
            let answer = owner.send("POST", "/v1/customers", &headers, body());
            assert_eq!(answer.header("accept-encoding"), "identity");
            answer.problem(415, "compressed-body");
        }
        let headers =
            [("content-type", "application/json"), ("content-encoding", "identity"), ("idempotency-key", &*key)];
        owner.send("POST", "/v1/customers", &headers, body()).expect(201);
    });
}
