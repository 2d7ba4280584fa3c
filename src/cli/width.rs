//! Text within the width of the terminal that it goes to.

use std::fmt::Write;
use std::io;

use terminal_size::{Width, terminal_size_of};

/// Narrower than this nothing can be read, and the terminal breaks the lines.
const LEAST: usize = 30;

/// How many columns the terminal behind standard output has; nothing where it is none.
pub(super) fn width() -> Option<usize> {
    let (Width(columns), _) = terminal_size_of(io::stdout())?;
    Some(usize::from(columns).max(LEAST))
}

/// The words of a text that begins behind `indent` columns, in lines of at most `width`, each of them behind as many
/// spaces. A word that is longer has a line of its own.
pub(super) fn wrap(text: &str, indent: usize, width: usize) -> String {
    let mut lines = String::new();
    let mut at = indent;
    for (number, word) in text.split(' ').enumerate() {
        let long = word.chars().count();
        if number > 0 && at + 1 + long > width && at > indent {
            let _ = write!(lines, "\n{:indent$}", "");
            at = indent;
        } else if number > 0 {
            lines.push(' ');
            at += 1;
        }
        lines.push_str(word);
        at += long;
    }
    lines
}

/// A Markdown page for a terminal: a row of a table is its first cell and, behind it, what the others say; blocks stay as
/// they are, for they are to be copied.
pub(super) fn page(text: &str, width: usize) -> String {
    let mut page = String::new();
    let mut fenced = false;
    for line in text.lines() {
        fenced ^= line.starts_with("```");
        let row = line.strip_prefix("| ").and_then(|rest| rest.strip_suffix(" |"));
        match row {
            _ if fenced || line.starts_with("```") || line.starts_with("<!--") => page.push_str(line),
            None if line.starts_with("|---") => continue,
            None => page.push_str(&wrap(line, if line.starts_with("- ") { 2 } else { 0 }, width)),
            Some(row) => {
                let cells: Vec<String> = row
                    .split(" | ")
                    .map(|cell| cell.trim().replace("\\|", "|").replace("\\*", "*"))
                    .collect();
                let (first, rest) = cells.split_first().map_or(("", &[][..]), |(first, rest)| (first, rest));
                page.push_str(first);
                let rest: Vec<&str> =
                    rest.iter().map(String::as_str).filter(|cell| !cell.is_empty()).collect();
                if !rest.is_empty() {
                    page.push_str("\n    ");
                    // What it is called stands alone; the rest is one text.
                    page.push_str(&wrap(&rest.join("; "), 4, width));
                }
            }
        }
        page.push('\n');
    }
    page
}

#[cfg(test)]
mod tests {
    use super::{page, wrap};

    #[test]
    fn lines_are_broken_between_words() {
        assert_eq!(wrap("one two three four", 2, 9), "one two\n  three\n  four");
        assert_eq!(wrap("a-very-long-word b", 2, 5), "a-very-long-word\n  b");
    }

    #[test]
    fn a_row_of_a_table_becomes_lines_and_a_block_stays() {
        let text = "| Field | Takes |\n|---|---|\n| `tyre` | a size \\| a diameter |\n\n```yaml part x\nlong: line that is not broken\n```\n";
        let expected = "Field\n    Takes\n`tyre`\n    a size | a\n    diameter\n\n```yaml part x\nlong: line that is not broken\n```\n";
        assert_eq!(page(text, 18), expected);
    }
}
