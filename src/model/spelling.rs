//! What an author means by how a value is spelt.

/// Whether an option word is typed, in any case, with a space or, as words of before had it, `_` for `-`; `true` and
/// `false` are yes and no.
pub(super) fn is_option(typed: &str, word: &str) -> bool {
    let typed = typed.to_lowercase().replace(['_', ' '], "-");
    let plain = match typed.as_str() {
        "true" => "yes",
        "false" => "no",
        other => other,
    };
    plain == word.to_lowercase().replace(' ', "-")
}

/// Whether a text is the path of a table.
pub(super) fn names_a_file(text: &str) -> bool {
    let lower = text.to_lowercase();
    [".csv", ".txt", ".tsv"].iter().any(|ending| lower.ends_with(ending))
}

#[cfg(test)]
mod tests {
    use super::is_option;

    #[test]
    fn an_option_is_taken_with_a_space_or_a_dash_in_any_case() {
        for typed in ["not applicable", "Not-Applicable", "not_applicable"] {
            assert!(is_option(typed, "not-applicable"), "{typed}");
        }
        assert!(!is_option("notapplicable", "not-applicable"));
        assert!(is_option("true", "yes") && !is_option("true", "no"));
    }
}
