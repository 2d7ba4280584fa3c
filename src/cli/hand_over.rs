//! `hand-over`: one archive with the papers, the journal and all evidence, and the hash of each file in it.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::fs;
use std::io::{Cursor, Write as _};
use std::path::{Path, PathBuf};

use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, DateTime, ZipWriter};

use super::Ended;
use super::arguments::HandOverOptions;
use super::dossier::RESCUE;
use super::files::parent;
use super::frozen::{REGISTER, mark, revisions};
use super::journal::{is_standard_input, journal};
use super::lock::lock;
use super::settled::{copies, pictures, printed, read_from, settled, shown};
use super::stamp::stamp;
use super::verify::no_longer;
use super::work::{Opened, leave, register_of, tell};
use super::writer::{may_put, put, sweep};
use crate::dossier::Made;
use crate::findings::{Finding, codes};
use crate::source::Span;
use crate::words::words;

/// What `sha256sum -c` reads.
const SUMS: &str = "SHA256SUMS";

pub(super) fn hand_over(options: &HandOverOptions) -> Result<Ended, Ended> {
    let journal = journal(options.journal.as_deref());
    if is_standard_input(&journal) {
        return Err(
            Ended::WrongUsage.because("what is handed over stands in files: name a journal's folder or file")
        );
    }
    let (folder, name) = place(&options.out)?;
    may_put(&folder, &[name]).map_err(|why| Ended::FileTrouble.because(why))?;
    let stamp = stamp()?;
    let _held = lock(&journal)?;
    sweep(&folder);
    let mut opened = settled(&journal, options.saying, "handed over")?;
    let changed = changed(&opened);
    opened.worked.findings.extend(changed);
    let (read, shown) = (read_from(&opened), shown(&opened));
    let evidence: Vec<&String> = read.into_iter().chain(shown.keys()).collect();
    if let Some(path) = evidence.iter().find(|path| same(&opened.read.folder.join(path), &options.out)) {
        return Err(Ended::WrongUsage
            .because(format!("`{path}` is evidence of the journal: name another file with `--out`")));
    }
    let copies = copies(&opened, evidence).map_err(|why| Ended::FileTrouble.because(why))?;
    let made = printed(&mut opened, stamp, None);
    let mut files = papers(&opened, made);
    files.extend(copies);
    let count = files.len() + 1;
    let archive =
        archive(files).map_err(|why| Ended::FileTrouble.because(format!("not handed over: {why}")))?;
    put(&folder, &[(name, &archive)]).map_err(|why| Ended::FileTrouble.because(why))?;
    tell(&opened, false, &[]);
    opened.say(&format!("handed over: {}, {count} files\n", options.out.display()));
    leave(opened);
    Ok(Ended::Done)
}

/// Folder and name of the archive. Another ending may be that of a file of the journal.
fn place(out: &Path) -> Result<(PathBuf, &str), Ended> {
    let name = out.file_name().and_then(|name| name.to_str());
    let zip = out.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("zip"));
    match name.filter(|_| zip) {
        Some(name) => Ok((parent(out), name)),
        None => Err(Ended::WrongUsage
            .because("an archive's name ends in `.zip`: type `--out hand-over.zip`, or any other")),
    }
}

fn same(one: &Path, other: &Path) -> bool {
    fs::canonicalize(one).is_ok_and(|one| fs::canonicalize(other).is_ok_and(|other| one == other))
}

fn papers(opened: &Opened, made: Made) -> Vec<(String, Vec<u8>)> {
    let register = register_of(opened, &[]).json();
    let papers = [
        ("dossier.html", made.dossier_html.into_bytes()),
        ("dossier.pdf", made.dossier_pdf),
        ("summary.html", made.summary_html.into_bytes()),
        ("summary.pdf", made.summary_pdf),
        (REGISTER, register.into_bytes()),
    ];
    let rescue = made.rescue_pdf.map(|sheet| (RESCUE, sheet));
    papers.into_iter().chain(rescue).map(|(name, bytes)| (name.to_owned(), bytes)).collect()
}

/// Documents and pictures that are no longer as the last revision names them, where they are named.
fn changed(opened: &Opened) -> Vec<Finding> {
    let found = revisions(&opened.read.folder).map(|(found, _)| found).unwrap_or_default();
    let Some(last) = found.last() else { return Vec::new() };
    let documents = opened.worked.notebook.sources.values();
    let documents = documents.filter_map(|source| Some((source.file.as_ref()?.0.clone(), source.span)));
    let mut places: BTreeMap<String, Span> = pictures(opened).collect();
    places.extend(documents);
    let finding = |path: String| {
        let message = words!("`{}` is no longer as revision {} names it", path, last.revision.revision);
        let help =
            "issue a revision with it, or put back the file as it was: `revisions/` says with which hash";
        let place = places.get(&path).copied();
        Finding { span: place, ..Finding::placeless(&codes::CHANGED_EVIDENCE, message, help) }
    };
    no_longer(&opened.read.folder, last).into_iter().map(finding).collect()
}

/// The same files give the same bytes, whenever and wherever they are packed.
fn archive(mut files: Vec<(String, Vec<u8>)>) -> zip::result::ZipResult<Vec<u8>> {
    files.sort();
    files.push((SUMS.to_owned(), sums(&files).into_bytes()));
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    for (name, bytes) in files {
        let options = SimpleFileOptions::default()
            .compression_method(CompressionMethod::Deflated)
            .last_modified_time(DateTime::default())
            .unix_permissions(0o644)
            .large_file(u32::try_from(bytes.len()).is_err());
        zip.start_file(name, options)?;
        zip.write_all(&bytes)?;
    }
    Ok(zip.finish()?.into_inner())
}

/// A line for each file. A name with a line's end or a backslash is escaped, and its line begins with one.
fn sums(files: &[(String, Vec<u8>)]) -> String {
    let mut text = String::new();
    for (name, bytes) in files {
        let escaped = name.replace('\\', "\\\\").replace('\n', "\\n").replace('\r', "\\r");
        let sign = if escaped == *name { "" } else { "\\" };
        let _ = writeln!(text, "{sign}{}  {escaped}", mark(bytes));
    }
    text
}

#[cfg(test)]
mod tests {
    use super::sums;

    #[test]
    fn a_name_that_would_break_its_line_is_escaped() {
        let files = [("a\nb\\c".to_owned(), b"x".to_vec()), ("plain name".to_owned(), Vec::new())];
        // Of `x` and of nothing, as FIPS 180-4 gives them.
        let expected = "\\2d711642b726b04401627ca9fbac32f5c8530fb1903cc4db02258717921a4881  a\\nb\\\\c\n\
            e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855  plain name\n";
        assert_eq!(sums(&files), expected);
    }
}
