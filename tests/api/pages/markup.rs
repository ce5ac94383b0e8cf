//! The reader of markup finds what is wrong, so that a page that passes it is right.

use baywright_tests::markup::faults;

#[test]
fn the_reader_of_markup_finds_each_kind_of_fault() {
    let good = "<!DOCTYPE html>\n<main><a href=\"#name\">Name</a><label for=\"name\">Name</label>\n\
                <input id=\"name\" aria-describedby=\"hint fault\"><p id=\"hint\">1 &#60; 2</p><p id=\"fault\"></p>\
                <svg><path d=\"M0 0\"/></svg></main>";
    assert_eq!(faults(good), [""; 0]);
    for (bad, told) in [
        ("<p>One<b>two</p></b>", "</p> closes Some(\"b\")"),
        ("<main><p></p>", "<main> is never closed"),
        ("<p id=\"a\"></p><p id=\"a\"></p>", "the id a is there twice"),
        ("<label for=\"gone\"></label>", "there is no id gone"),
        ("<a href=\"#gone\"></a>", "there is no id gone"),
        ("<p", "a tag does not end: <p"),
    ] {
        assert!(faults(bad).iter().any(|fault| fault == told), "{bad}: {:?}", faults(bad));
    }
}
