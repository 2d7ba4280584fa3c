//! The terminal's own layout of findings: place and block first, the line quoted with the part underlined, then the help.

use std::fmt::Write;

use super::{Finding, Severity, visible};
use crate::source::Sources;

/// Whether colour may be used; decided by the command line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Ink {
    Colour,
    Plain,
}

/// Longest stretch of a quoted line, in scalars.
const WIDE: usize = 96;

/// All findings as text, in the order given, and a last line that counts them. `from` are the files and what the blocks
/// are called.
pub(crate) fn print(findings: &[Finding], from: (&Sources, &[String]), ink: Ink) -> String {
    let mut text = String::new();
    for finding in findings {
        one(&mut text, finding, from, ink);
    }
    let count = |severity| findings.iter().filter(|finding| finding.code.severity == severity).count();
    let parts: Vec<String> = [Severity::Error, Severity::Warning, Severity::Note]
        .into_iter()
        .filter(|severity| count(*severity) > 0)
        .map(|severity| {
            let n = count(severity);
            format!("{n} {}{}", severity.word(), if n == 1 { "" } else { "s" })
        })
        .collect();
    if !parts.is_empty() {
        let _ = writeln!(text, "{}", parts.join(", "));
    }
    // What must stay together on a page has plain spaces on a terminal.
    text.replace('\u{a0}', " ")
}

/// A line for each finding, for editors: `FILE:LINE:COLUMN: SEVERITY: MESSAGE [CODE]`. What has no place has no file.
pub(crate) fn lines(findings: &[Finding], sources: &Sources) -> String {
    let mut text = String::new();
    for finding in findings {
        let severity = finding.code.severity.word();
        let message = finding.message.to_string();
        let message = visible(&message, &[]);
        let _ = writeln!(text, "{}: {severity}: {message} [{}]", place(finding, sources), finding.code.name);
    }
    text.replace('\u{a0}', " ")
}

fn place(finding: &Finding, sources: &Sources) -> String {
    match finding.span {
        Some(span) => {
            let at = sources.place(span);
            format!("{}:{}:{}", visible(&sources.get(span.file).path, &[]), at.line, at.column)
        }
        None => "journal".to_owned(),
    }
}

fn one(text: &mut String, finding: &Finding, (sources, titles): (&Sources, &[String]), ink: Ink) {
    let place = place(finding, sources);
    let block = match finding.title(titles) {
        "" => String::new(),
        title => format!("  in {}", visible(title, &[])),
    };
    let word = paint(ink, finding.code.severity, finding.code.severity.word());
    let _ = writeln!(text, "{place}{block}");
    let _ = writeln!(text, "  {word} {}: {}", finding.code.name, visible(&finding.message.to_string(), &[]));
    if let Some(span) = finding.span {
        quote(text, finding, sources, span, ink);
    }
    if !finding.help.is_empty() {
        let _ = writeln!(text, "  do: {}", visible(&finding.help.to_string(), &[]));
    }
    text.push('\n');
}

fn quote(text: &mut String, finding: &Finding, sources: &Sources, span: crate::source::Span, ink: Ink) {
    let source = sources.get(span.file);
    let line = source.line_at(span.start);
    if line.trim().is_empty() {
        return;
    }
    let column = source.place(span.start).column - 1;
    let marked = sources.text(span).lines().next().unwrap_or("").chars().count();
    let from = if column + marked.min(WIDE) > WIDE { column.saturating_sub(WIDE / 4) } else { 0 };
    // A tab is as wide as a space here, so that the mark stands under what it marks.
    let spaced = |from: usize, count: usize| -> String {
        line.chars().skip(from).take(count).map(|c| if c == '\t' { ' ' } else { c }).collect()
    };
    let (before, within) = (spaced(from, column - from), spaced(column, marked));
    let wide = |text: &str| visible(text, &[]).chars().count();
    let shown = spaced(from, WIDE);
    let shown = visible(shown.trim_end(), &[]);
    let cut_left = if from > 0 { "…" } else { "" };
    let cut_right = if line.chars().count() > from + WIDE { "…" } else { "" };
    let indent = wide(&before) + cut_left.chars().count();
    let under = "~".repeat(wide(&within).clamp(1, WIDE));
    let _ = writeln!(text, "    {cut_left}{shown}{cut_right}");
    let _ = writeln!(text, "    {}{}", " ".repeat(indent), paint(ink, finding.code.severity, &under));
}

fn paint(ink: Ink, severity: Severity, text: &str) -> String {
    let colour = match (ink, severity) {
        (Ink::Plain, _) => return text.to_owned(),
        (Ink::Colour, Severity::Error) => "31",
        (Ink::Colour, Severity::Warning) => "33",
        (Ink::Colour, Severity::Note) => "36",
    };
    format!("\x1b[1;{colour}m{text}\x1b[0m")
}

#[cfg(test)]
mod tests {
    use super::{Ink, lines, print};
    use crate::findings::{Finding, codes};
    use crate::source::{FileId, Source, Sources, Span};

    #[test]
    fn a_finding_shows_its_place_its_line_and_what_to_do() {
        let sources = Sources(vec![Source::new("a.md", "x\ntyre: 0 in\n")]);
        let span = Span::new(FileId(0), 8, 12);
        let finding =
            Finding::new(&codes::OUT_OF_RANGE, span, "a tyre of `0 in`", "type its diameter").in_block(0);
        let expected = "a.md:2:7  in ratio-chain drive\n  error out-of-range: a tyre of `0 in`\n    tyre: 0 in\n          ~~~~\n  do: type its diameter\n\n1 error\n";
        let findings = [finding];
        assert_eq!(print(&findings, (&sources, &["ratio-chain drive".to_owned()]), Ink::Plain), expected);
        assert_eq!(
            lines(&findings, &sources.under("van/")),
            "van/a.md:2:7: error: a tyre of `0 in` [out-of-range]\n"
        );
    }

    #[test]
    fn a_mark_stands_under_what_it_marks_beside_hidden_characters_too() {
        let sources = Sources(vec![Source::new("a\u{202e}.md", "\t\u{1b}: 0\u{200b}in\n")]);
        let span = Span::new(FileId(0), 4, 10);
        let finding = Finding::new(&codes::OUT_OF_RANGE, span, "a\nb", "c\u{7}");
        let expected = "a\\u{202e}.md:1:5\n  error out-of-range: a\\u{a}b\n     \\u{1b}: 0\\u{200b}in\n             ~~~~~~~~~~~\n  do: c\\u{7}\n\n1 error\n";
        assert_eq!(print(&[finding], (&sources, &[]), Ink::Plain), expected);
    }
}
