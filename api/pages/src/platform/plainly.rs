//! Texts of use cases as a person reads them on a page: without what only a program can use.

/// Words that lead to an id and say nothing without it.
const LEADING: [&str; 3] = ["for", "booking", "Booking"];

/// The text without sentences that name an address of the API, and without ids of records; the whole text if nothing else
/// is in it.
pub fn plainly(text: &str) -> String {
    let sentences = text.split_inclusive(". ").filter(|sentence| !sentence.contains("/v1/"));
    let kept: Vec<String> = sentences.map(without_ids).filter(|sentence| !sentence.is_empty()).collect();
    if kept.is_empty() { text.to_owned() } else { kept.join(" ") }
}

/// A sentence without ids, and without the words that only led to them; empty if nothing else is in it.
fn without_ids(sentence: &str) -> String {
    let mut kept: Vec<String> = Vec::new();
    for word in sentence.split_whitespace() {
        let id = word.trim_end_matches([',', '.', ';', ':']);
        if !is_id(id) {
            kept.push(word.to_owned());
            continue;
        }
        while kept.last().is_some_and(|last| LEADING.contains(&last.as_str())) {
            kept.pop();
        }
        if let Some(last) = kept.last_mut() {
            let end = &word[id.len()..];
            *last = format!("{}{end}", last.trim_end_matches(','));
        }
    }
    kept.join(" ")
}

/// Whether a word is the id of a record: a UUID.
fn is_id(word: &str) -> bool {
    let parts: Vec<&str> = word.split('-').collect();
    let hex = |part: &&str| part.bytes().all(|byte| byte.is_ascii_hexdigit());
    parts.iter().map(|part| part.len()).eq([8, 4, 4, 4, 12]) && parts.iter().all(hex)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_only_a_program_can_use_is_left_out() {
        let id = "0198c0de-0000-7000-8000-000000000001";
        for (text, plain) in [
            (
                format!("A deposit of EUR 50.00 is due. Record it: POST /v1/bookings/{id}/deposit. Ask for it."),
                "A deposit of EUR 50.00 is due. Ask for it.",
            ),
            (format!("It can't be kept. Booking {id}. Move it."), "It can't be kept. Move it."),
            (format!("This overlaps another closure, {id} (Holidays)."), "This overlaps another closure (Holidays)."),
            (format!("This overlaps another absence, {id}."), "This overlaps another absence."),
            (format!("The car is in Bay 1 for booking {id}."), "The car is in Bay 1."),
            ("POST /v1/bookings again.".to_owned(), "POST /v1/bookings again."),
        ] {
            assert_eq!(plainly(&text), plain, "{text}");
        }
    }
}
