//! Conversion of a pointer into the rules' menu to a pointer into its form.

/// The pointer into [`MenuForm`](super::MenuForm) for a pointer into the rules' menu. The two differ if the form has
/// minutes in the name, keeps fixed prices one level down, or writes sizes in lower case. For values that are not part
/// of the form, such as the shop's factors, it points to the whole document.
pub fn translate(pointer: &str) -> String {
    let parts: Vec<&str> = pointer.split('/').skip(1).collect();
    match parts.as_slice() {
        ["factors", ..] => String::new(),
        ["steps", at, "minutes"] => format!("/steps/{at}/base_minutes"),
        ["steps", at, "wait", "minutes"] => format!("/steps/{at}/wait/wait_minutes"),
        ["steps", at, "split", _] => format!("/steps/{at}/split_piece_minutes"),
        ["services", at, "steps", nth, "minutes"] => format!("/services/{at}/steps/{nth}/base_minutes"),
        ["services", at, "price", size] => format!("/services/{at}/price/amounts/{}", size.to_lowercase()),
        ["packages", at, "price", size] => format!("/packages/{at}/price/{}", size.to_lowercase()),
        _ => pointer.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_in_the_rules_is_found_in_the_form() {
        for (rules, form) in [
            ("/steps/3/minutes", "/steps/3/base_minutes"),
            ("/steps/3/wait/minutes", "/steps/3/wait/wait_minutes"),
            ("/steps/3/split/piece", "/steps/3/split_piece_minutes"),
            ("/services/1/steps/0/minutes", "/services/1/steps/0/base_minutes"),
            ("/services/1/price/EXTRA_LARGE", "/services/1/price/amounts/extra_large"),
            ("/packages/1/price/SMALL", "/packages/1/price/small"),
            ("/factors/size/SMALL", ""),
            ("/services/1/steps", "/services/1/steps"),
            ("/products/0/mix", "/products/0/mix"),
        ] {
            assert_eq!(translate(rules), form);
        }
    }
}
