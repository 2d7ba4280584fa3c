//! Names within running text.

/// A text with the names in it as people say them: `box_cable` is `box cable`.
pub(crate) fn spaced(text: &str) -> String {
    let letters: Vec<char> = text.chars().collect();
    let inner = |at: usize| {
        let word = |at: Option<usize>| at.and_then(|at| letters.get(at)).is_some_and(|c| c.is_alphanumeric());
        word(at.checked_sub(1)) && word(Some(at + 1))
    };
    let say = |(at, letter): (usize, &char)| if *letter == '_' && inner(at) { ' ' } else { *letter };
    letters.iter().enumerate().map(say).collect()
}

#[cfg(test)]
mod tests {
    use super::spaced;

    #[test]
    fn names_are_said_with_spaces() {
        assert_eq!(spaced("highest voltage, fuse_choice"), "highest voltage, fuse choice");
        assert_eq!(spaced("_ a_"), "_ a_");
    }
}
