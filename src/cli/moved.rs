//! What moved since the last working: the rows of an old results region beside those of the new one, as text.

use std::collections::HashMap;
use std::fmt::Write;

/// One row that says something else than before.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Move {
    /// It is a verdict that is another now.
    verdict: bool,
    text: String,
}

/// How many rows are told, verdicts aside.
const MOST: usize = 20;

/// The moves between two bodies of one block's region.
pub(super) fn moves(block: &str, old: &str, new: &str) -> Vec<Move> {
    let after = rows(block, new);
    let now: HashMap<&str, &Row> = after.iter().map(|row| (row.name.as_str(), row)).collect();
    let before = rows(block, old);
    let (required, results): (Vec<&Row>, Vec<&Row>) = before.iter().partition(|row| row.judged.is_some());
    let mut moves = Vec::new();
    for old in results {
        if let Some(new) = now.get(old.name.as_str()).filter(|new| new.value != old.value) {
            let text = format!("{}: {} → {}", old.name, old.value, new.value);
            moves.push(Move { verdict: false, text });
        }
    }
    let told = !moves.is_empty();
    for old in required {
        let Some((limit, verdict)) = &old.judged else { continue };
        let name = &old.name;
        let Some((new, (new_limit, new_verdict))) =
            now.get(name.as_str()).and_then(|new| Some((*new, new.judged.as_ref()?)))
        else {
            moves.push(Move { verdict: true, text: format!("{name}: {verdict} → no longer judged") });
            continue;
        };
        let limits = if limit == new_limit { limit.clone() } else { format!("{limit} → {new_limit}") };
        let values = if old.value == new.value {
            old.value.clone()
        } else {
            format!("{} → {}", old.value, new.value)
        };
        if verdict != new_verdict {
            let text = format!("{name}: {verdict} → {new_verdict}, {values}, {limits}");
            moves.push(Move { verdict: true, text });
        } else if limit != new_limit || (old.value != new.value && !told) {
            moves.push(Move { verdict: false, text: format!("{name}: {values}, {limits}") });
        }
    }
    moves
}

/// All moves for the terminal, verdicts first; empty where nothing moved.
pub(super) fn told(moves: &[Move]) -> String {
    let mut text = String::new();
    if moves.is_empty() {
        return text;
    }
    text.push_str("moved since the last working:\n");
    let (verdicts, others): (Vec<&Move>, Vec<&Move>) = moves.iter().partition(|one| one.verdict);
    for one in verdicts.iter().chain(others.iter().take(MOST)) {
        let _ = writeln!(text, "  {}", one.text);
    }
    if let Some(more) = others.len().checked_sub(MOST + 1) {
        let _ = writeln!(text, "  and {} more", more + 1);
    }
    text
}

/// A line of a table of a region.
struct Row {
    name: String,
    value: String,
    /// Limit and verdict of a requirement.
    judged: Option<(String, String)>,
}

fn rows(block: &str, body: &str) -> Vec<Row> {
    let mut rows = Vec::new();
    let mut head: Vec<String> = Vec::new();
    let mut lines = body.lines().peekable();
    while let Some(line) = lines.next() {
        let Some(cells) = cells(line) else { continue };
        if lines.next_if(|next| next.starts_with("|---")).is_some() {
            head = cells;
            continue;
        }
        let names: Vec<&str> = head.iter().map(String::as_str).collect();
        match (names.as_slice(), cells.as_slice()) {
            (["Result", ..], [name, value, ..]) => {
                let name = format!("{block}.{}", name.trim_matches('`'));
                rows.push(Row { name, value: value.clone(), judged: None });
            }
            (["Requirement", "Actual", "Limit", ..], [name, value, limit, _, verdict]) => rows.push(Row {
                name: format!("{block}: {name}"),
                value: value.clone(),
                judged: Some((limit.clone(), verdict.clone())),
            }),
            ([_, columns @ ..], [case, values @ ..]) => {
                for (column, value) in columns.iter().zip(values) {
                    let name = format!("{block}: {case}, {}", column.to_lowercase());
                    rows.push(Row { name, value: value.clone(), judged: None });
                }
            }
            _ => {}
        }
    }
    rows
}

/// The cells of a line of a table, without the marks that Markdown needs.
fn cells(line: &str) -> Option<Vec<String>> {
    let inside = line.strip_prefix("| ")?.trim_end().strip_suffix('|')?;
    let inside = inside.strip_suffix(' ').unwrap_or(inside);
    Some(inside.split(" | ").map(plain).collect())
}

fn plain(cell: &str) -> String {
    let mut text = String::new();
    let mut rest = cell.trim().chars().peekable();
    while let Some(c) = rest.next() {
        match c {
            '\\' => text.extend(rest.next_if(char::is_ascii_punctuation).or(Some('\\'))),
            '\u{a0}' | '\u{202f}' => text.push(' '),
            _ => text.push(c),
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::{moves, told};

    const OLD: &str = "**drive: meets**.\n\n| Result | Value (± is k = 2) |\n|---|---|\n| `motor_speed` | 11\u{202f}900 rpm |\n\
        | `ratio` | 6.2 |\n\n| Gear | Force | Speed |\n|---|---|---|\n| low | 3 kN |  |\n| high \\| 2 | 1 kN | 5 km/h |\n\n\
        | Requirement | Actual | Limit | Margin | Verdict |\n|---|---|---|---|---|\n\
        | motor speed | 11 900 rpm | at most 12 000 rpm | 0.8 % | meets |\n\
        | torque | 5 N m | at most 6 N m | 17 % | meets |\n";

    #[test]
    fn verdicts_come_first_and_both_texts_are_quoted() {
        let new = OLD
            .replace("11\u{202f}900 rpm", "12 133 rpm")
            .replace("11 900 rpm", "12 133 rpm")
            .replace("0.8 % | meets", "−1.1 % | fails")
            .replace("1 kN | 5", "2 kN | 5");
        let text = told(&moves("drive", OLD, &new));
        assert_eq!(
            text,
            "moved since the last working:\n\
             \x20 drive: motor speed: meets → fails, 11 900 rpm → 12 133 rpm, at most 12 000 rpm\n\
             \x20 drive.motor_speed: 11 900 rpm → 12 133 rpm\n\
             \x20 drive: high | 2, force: 1 kN → 2 kN\n"
        );
        assert_eq!(told(&moves("drive", OLD, OLD)), "");
    }

    #[test]
    fn a_verdict_that_is_gone_is_told() {
        let text = told(&moves("drive", OLD, "not worked: see findings"));
        assert!(text.contains("  drive: torque: meets → no longer judged\n"), "{text}");
    }

    #[test]
    fn a_limit_that_moved_is_told() {
        let text = told(&moves("drive", OLD, &OLD.replace("at most 6 N m", "at most 7 N m")));
        assert!(text.ends_with("  drive: torque: 5 N m, at most 6 N m → at most 7 N m\n"), "{text}");
    }
}
