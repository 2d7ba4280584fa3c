//! A worked journal without its results regions, cut apart from the program's own reader.

/// The text without the lines from each opening to its closing mark.
pub(crate) fn without_regions(text: &str) -> String {
    let mut kept = String::new();
    let mut inside: Option<&str> = None;
    for line in text.split_inclusive('\n') {
        match inside {
            None => match mark(line, "<!-- worked:") {
                Some(name) => inside = Some(name),
                None => kept.push_str(line),
            },
            Some(name) => {
                if mark(line, "<!-- /worked:").is_some_and(|closing| closing.split(' ').next() == Some(name))
                {
                    inside = None;
                }
            }
        }
    }
    kept
}

/// What stands between the mark's opening and its ` -->`, at the end of a line with any prefix.
fn mark<'a>(line: &'a str, opening: &str) -> Option<&'a str> {
    let at = line.find(opening)?;
    line[at + opening.len()..].trim_end().strip_suffix(" -->")
}
