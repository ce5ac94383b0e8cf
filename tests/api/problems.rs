//! The pages that the type of a problem leads to.

use baywright::problems::meanings;
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
        visitor.get("/problems/no-such-kind").problem(404, "not-found");
    });
}
