//! In which order lists are had, and which part of them: `sort`, `created_after`, and words with commas between them.

use baywright_tests::document::{Operation, operations};
use baywright_tests::person::Person;
use baywright_tests::{Studio, on_each_engine};
use serde_json::Value;

use crate::list::{technician, words};
use crate::matrix::work_in;

/// The operations that take a parameter, and the parameter.
fn taking(wanted: impl Fn(&Value) -> bool) -> Vec<(Operation, Value)> {
    let found = |operation: Operation| {
        let parameter = operation.parameters().find(|one| one["in"] == "query" && wanted(one)).cloned();
        parameter.map(|parameter| (operation, parameter))
    };
    operations().into_iter().filter_map(found).collect()
}

/// The ids of a page after the other, in the direction of the links of that name.
fn walk(who: &Person, address: &str, link: &str) -> (Vec<String>, String) {
    let (mut ids, mut at) = (Vec::new(), address.to_owned());
    loop {
        let page = who.get(&at).expect(200);
        let mut here: Vec<String> =
            page["items"].as_array().unwrap().iter().map(|one| one["id"].as_str().unwrap().to_owned()).collect();
        if link == "prev" {
            here.reverse();
        }
        ids.extend(here);
        match page[link].as_str() {
            Some(next) => next.clone_into(&mut at),
            None => return (ids, page["self"].as_str().unwrap().to_owned()),
        }
    }
}

fn ids(who: &Person, address: &str) -> Vec<String> {
    walk(who, address, "next").0
}

#[test]
fn every_list_that_can_be_turned_is_the_same_from_behind_and_back() {
    on_each_engine(|studio| {
        work_in(studio);
        let owner = studio.owner();
        let someone = technician(&owner);
        let turning = taking(|one| one["name"] == "sort");
        assert!(turning.len() >= 17, "{}", turning.len());
        let mut longest = 0;
        for (operation, parameter) in turning {
            let path = operation.at(&someone);
            let [own, turned] = words(&parameter["schema"])[..] else { panic!("{parameter}") };
            let plain = ids(&owner, &path);
            assert_eq!(ids(&owner, &format!("{path}?sort={own}&limit=1")), plain, "{path}");
            let (mut back, last) = walk(&owner, &format!("{path}?sort={turned}&limit=1"), "next");
            assert_eq!(back, plain.iter().rev().cloned().collect::<Vec<_>>(), "{path}");
            // And page by page to where it began.
            let (there, _) = walk(&owner, &last, "prev");
            back.reverse();
            assert_eq!(there, back, "{path}");
            longest = longest.max(plain.len());
        }
        assert!(longest >= 3, "lists this short prove nothing");
    });
}

#[test]
fn a_list_can_be_cut_by_when_its_records_were_made() {
    on_each_engine(|studio: &Studio| {
        let owner = studio.owner();
        let make = |name: &str| {
            let body = serde_json::json!({ "kind": "PRIVATE", "name": name });
            owner.post("/v1/customers?confirm=known-customer", &body).expect(201)["created_at"]
                .as_str()
                .unwrap()
                .to_owned()
        };
        let mut made = Vec::new();
        for name in ["Una Reed", "Ivo Pell", "Mara Quill"] {
            made.push(make(name));
            studio.pass_minutes(1);
        }
        let after = |moment: &str, more: &str| {
            let page = owner.send(
                "GET",
                &format!("/v1/customers?created_after={moment}{more}"),
                &[("prefer", "return=total-count")],
                None,
            );
            let page = page.expect(200);
            let names: Vec<String> =
                page["items"].as_array().unwrap().iter().map(|one| one["name"].as_str().unwrap().to_owned()).collect();
            (names.join(", "), page["total"].as_u64().unwrap())
        };
        // The record of that very moment is not after it.
        assert_eq!(after(&made[0], ""), ("Mara Quill, Ivo Pell".to_owned(), 2));
        assert_eq!(after(&made[0], "&sort=created_at"), ("Ivo Pell, Mara Quill".to_owned(), 2));
        assert_eq!(after(&made[0], "&sort=created_at&limit=1"), ("Ivo Pell".to_owned(), 2));
        assert_eq!(after(&made[2], ""), (String::new(), 0));
        // The next page is of the same part of the list, and its cursor of no other.
        let page = owner.get(&format!("/v1/customers?created_after={}&limit=1", made[0])).expect(200);
        let next = page["next"].as_str().unwrap();
        assert_eq!(owner.get(next).expect(200)["items"][0]["name"], "Ivo Pell");
        let other = next.replace("created_after", "sort=created_at&created_after");
        owner.get(&other).problem(400, "invalid-query");
    });
}

#[test]
fn several_words_take_what_each_of_them_takes() {
    on_each_engine(|studio| {
        work_in(studio);
        let owner = studio.owner();
        let someone = technician(&owner);
        let several = taking(|one| one["schema"]["type"] == "array");
        assert!(several.len() >= 8, "{}", several.len());
        for (operation, parameter) in several {
            let (path, name) = (operation.at(&someone), parameter["name"].as_str().unwrap());
            let words = words(&parameter["schema"]);
            let of = |words: &[&str]| {
                let mut found = ids(&owner, &format!("{path}?{name}={}", words.join(",")));
                found.sort_unstable();
                found
            };
            let mut all = ids(&owner, &path);
            all.sort_unstable();
            assert_eq!(of(&words), all, "{path}: each record has one of the words");
            for (at, first) in words.iter().enumerate() {
                for second in &words[..at] {
                    let mut each = of(&[first]);
                    each.extend(of(&[second]));
                    each.sort_unstable();
                    assert_eq!(of(&[first, second]), each, "{path} {first},{second}");
                }
            }
            for wrong in
                [format!("{},{}", words[0], words[0]), String::new(), format!("{},", words[0]), "NONE".to_owned()]
            {
                owner.get(&format!("{path}?{name}={wrong}")).problem(400, "invalid-query");
            }
        }
    });
}

#[test]
fn what_a_list_can_t_be_sorted_by_is_refused_with_what_it_can() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let refused = |address: &str, parameter: &str| {
            let problem = owner.get(address).problem(400, "invalid-query");
            assert_eq!(problem["errors"][0]["pointer"], parameter, "{problem}");
            problem["detail"].as_str().unwrap().to_owned()
        };
        assert_eq!(refused("/v1/quotes?sort=name", "?sort"), "sort: write one of -created_at, created_at.");
        assert_eq!(refused("/v1/bookings?sort=", "?sort"), "sort: write one of start, -start.");
        let twice = owner.get("/v1/quotes?sort=created_at&sort=created_at").problem(400, "malformed-request");
        assert_eq!(twice["detail"], "The query parameter \"sort\" is given twice.");
        assert!(refused("/v1/quotes?created_after=yesterday", "?created_after").contains("RFC 3339"));
        let limit = "limit: write a whole number from 1 to 200, and follow next for more records.";
        assert_eq!(refused("/v1/quotes?limit=0", "?limit"), limit);
        // A list in the one order that it has knows no such parameter, and says which it knows.
        let no = "There is no query parameter";
        assert_eq!(
            refused("/v1/bays?sort=created_at", "?sort"),
            format!("{no} `sort` here. Known parameters: `limit`, `cursor`.")
        );
        refused("/v1/bays?created_after=2026-03-28T08:30:00Z", "?created_after");
        let known = refused("/v1/customers?q=x", "?q");
        assert!(known.starts_with(&format!("{no} `q` here. Known parameters: ")), "{known}");
        for name in ["`email`", "`limit`", "`cursor`", "`sort`", "`created_after`"] {
            assert!(known.contains(name), "{known}");
        }
    });
}
