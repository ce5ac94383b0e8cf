//! Whether a page's markup holds together: every tag is closed, every id is there once, and what is referred to is there.

use std::collections::BTreeSet;

/// Elements that have no end tag.
const VOID: [&str; 7] = ["br", "hr", "img", "input", "link", "meta", "wbr"];

/// Attributes whose words are ids on the same page.
const REFERENCES: [&str; 4] = ["for", "aria-labelledby", "aria-describedby", "aria-controls"];

/// Everything that is wrong with a page's markup.
pub fn faults(page: &str) -> Vec<String> {
    let mut faults = Vec::new();
    let (mut open, mut ids, mut wanted) = (Vec::new(), BTreeSet::new(), Vec::new());
    for rest in page.split('<').skip(1) {
        let Some((tag, _)) = rest.split_once('>') else {
            faults.push(format!("a tag does not end: <{rest}"));
            continue;
        };
        if tag.starts_with('!') {
            continue;
        }
        if let Some(name) = tag.strip_prefix('/') {
            let last = open.pop();
            if last != Some(name) {
                faults.push(format!("</{name}> closes {last:?}"));
            }
            continue;
        }
        let name = tag.split([' ', '\n', '/']).next().unwrap_or_default();
        for (attribute, value) in attributes(tag) {
            if attribute == "id" && !ids.insert(value) {
                faults.push(format!("the id {value} is there twice"));
            }
            if REFERENCES.contains(&attribute) {
                wanted.extend(value.split_whitespace());
            }
            if attribute == "href" {
                wanted.extend(value.strip_prefix('#').filter(|id| !id.is_empty()));
            }
        }
        if !VOID.contains(&name) && !tag.ends_with('/') {
            open.push(name);
        }
    }
    faults.extend(open.iter().map(|name| format!("<{name}> is never closed")));
    faults.extend(wanted.iter().filter(|id| !ids.contains(*id)).map(|id| format!("there is no id {id}")));
    faults
}

/// Name and value of each attribute of a tag that has a value.
fn attributes(tag: &str) -> Vec<(&str, &str)> {
    let parts: Vec<&str> = tag.split('"').collect();
    let named = parts.chunks_exact(2).map(|pair| (pair[0].trim_end_matches('='), pair[1]));
    named.map(|(before, value)| (before.rsplit([' ', '\n']).next().unwrap_or_default(), value)).collect()
}
