//! The name by which an item of a list is referred to.

/// Lower case, each run of characters that are no letters or digits one `_`, none at the ends.
///
/// `Fuel tank, 60 L (full)` is `fuel_tank_60_l_full`. Empty where there is no letter or digit.
pub(crate) fn slug(text: &str) -> String {
    let mut slug = String::with_capacity(text.len());
    for c in text.chars() {
        if c.is_alphabetic() || c.is_ascii_digit() {
            slug.extend(c.to_lowercase().filter(|c| c.is_alphabetic()));
            if c.is_ascii_digit() {
                slug.push(c);
            }
        } else if !slug.is_empty() && !slug.ends_with('_') {
            slug.push('_');
        }
    }
    if slug.ends_with('_') {
        slug.pop();
    }
    slug
}

#[cfg(test)]
mod tests {
    use super::slug;

    #[test]
    fn names_of_items_are_lower_case_words() {
        assert_eq!(slug("Fuel tank, 60 L (full)"), "fuel_tank_60_l_full");
        assert_eq!(slug("  -- 12V battery!"), "12v_battery");
        assert_eq!(slug("Kühler"), "kühler");
        assert_eq!(slug("a__b"), "a_b");
        assert_eq!(slug("—"), "");
    }
}
