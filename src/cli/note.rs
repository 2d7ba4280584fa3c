//! `note`: a dated entry at the end of the journal's last file.

use super::arguments::NoteOptions;
use super::files::{JournalFile, parent, read_journal};
use super::journal::{is_standard_input, journal, mixed, prefix};
use super::lock::lock;
use super::stamp::stamp;
use super::writer::{replace, sweep};
use super::{Ended, complain, ink, say, show};
use crate::dossier::date;
use crate::findings::print;
use crate::journal::{self, BlockForm, Position, plain};
use crate::source::{FileId, Source};

pub(super) fn note(options: &NoteOptions) -> Result<Ended, Ended> {
    let today = date(stamp()?);
    let journal = journal(options.journal.as_deref());
    let words = options.text.trim();
    if words.is_empty() || is_standard_input(&journal) {
        complain(match words.is_empty() {
            true => "the note is empty: voltwright note \"what was done\"\n",
            false => "a note can't be added to standard input: name a folder or file with `--journal`\n",
        });
        return Err(Ended::WrongUsage);
    }
    let _held = lock(&journal)?;
    let read =
        read_journal(&journal, None).map_err(|trouble| Ended::FileTrouble.because(format!("{trouble}")))?;
    let mut found = mixed(&read.sources, &prefix(&read.folder));
    found.extend(read.findings);
    if !found.is_empty() {
        show(&print(&found, (&read.sources.under(&prefix(&read.folder)), &[]), ink()));
        return Ok(Ended::Wanting);
    }
    let Some(JournalFile { file, path, bytes }) = read.files.last() else {
        complain(&format!(
            "no Markdown files in {}: start a journal with `voltwright begin FOLDER`\n",
            journal.display()
        ));
        return Ok(Ended::Wanting);
    };
    let shown = format!("{}{}", prefix(&read.folder), read.sources.get(*file).path);
    sweep(&parent(path));
    let Some(new) = noted(&read.sources.get(*file).text, words, &today) else {
        complain(&format!(
            "{shown} ends within a fence or comment, where a note would not be read: close it first\n"
        ));
        return Ok(Ended::Wanting);
    };
    match replace(path, bytes, new.as_bytes()) {
        Ok(_) => {
            say(&format!("noted in {shown}, under {today}\n"));
            Ok(Ended::Done)
        }
        Err(refused) => {
            complain(&format!("{refused}\n"));
            Ok(Ended::FileTrouble)
        }
    }
}

/// The text with the entry at its end: under a heading of its own, but where the last one is of the same day. `None`
/// where it would not stand as prose there.
fn noted(text: &str, words: &str, today: &str) -> Option<String> {
    let end = if text.contains("\r\n") { "\r\n" } else { "\n" };
    let headings = |text: &str| -> Vec<String> {
        let (journal, _) = journal::scan(FileId(0), Position::Later, &Source::new("note.md", text));
        let headings = journal.prose.iter().filter_map(|block| match &block.form {
            BlockForm::Heading { text, .. } => Some(plain(text)),
            _ => None,
        });
        headings.collect()
    };
    let before = headings(text);
    let kept = text.trim_end_matches(['\n', '\r', ' ', '\t']);
    let mut new = kept.to_owned();
    if !new.is_empty() {
        new.extend([end, end]);
    }
    let heading = format!("## {today}{end}");
    let told = headings(&format!("{new}{heading}"));
    if told.len() != before.len() + 1 {
        return None;
    }
    if before.last().is_none_or(|last| last != today) {
        new.extend([heading.as_str(), end]);
    }
    for line in words.lines() {
        new.extend([line.trim_end(), end]);
    }
    Some(new)
}

#[cfg(test)]
mod tests {
    use super::noted;

    #[track_caller]
    fn check(text: &str, expected: Option<&str>) {
        assert_eq!(noted(text, "Weighed it.\nTwice.", "2026-03-02").as_deref(), expected);
    }

    #[test]
    fn an_entry_stands_under_its_date() {
        check("Old.\n", Some("Old.\n\n## 2026-03-02\n\nWeighed it.\nTwice.\n"));
        check("", Some("## 2026-03-02\n\nWeighed it.\nTwice.\n"));
        check("- a\n- b\n\n\n", Some("- a\n- b\n\n## 2026-03-02\n\nWeighed it.\nTwice.\n"));
    }

    #[test]
    fn a_second_entry_of_a_day_stands_under_the_same_heading() {
        check("## 2026-03-02\n\nOld.\n", Some("## 2026-03-02\n\nOld.\n\nWeighed it.\nTwice.\n"));
        let later = "## 2026-03-02\n\n## Later\n";
        check(later, Some("## 2026-03-02\n\n## Later\n\n## 2026-03-02\n\nWeighed it.\nTwice.\n"));
    }

    #[test]
    fn line_ends_stay() {
        check("Old.\r\n", Some("Old.\r\n\r\n## 2026-03-02\r\n\r\nWeighed it.\r\nTwice.\r\n"));
    }

    #[test]
    fn what_is_open_is_not_written_into() {
        check("```yaml worksheet a\nsteps: []\n", None);
        check("<!-- a\n", None);
        check("~~~\ncode\n", None);
    }
}
