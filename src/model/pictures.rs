//! Pictures that the prose names: each must be a PNG or JPEG file of the journal folder.

use std::io::Read;

use super::evidence::{Evidence, EvidenceFault};
use crate::findings::{Finding, codes};
use crate::journal::{Block, BlockForm, Inline, Journal};
use crate::source::{Sources, Span};
use crate::words::words;

/// A picture in a line of prose.
pub(crate) struct PictureName<'a> {
    pub address: &'a str,
    pub alt: &'a str,
    pub span: Span,
}

/// The path from the journal folder of what `address` names from the file `here`; `None` where it leads out.
pub(crate) fn picture_path(here: &str, address: &str) -> Option<String> {
    let mut parts: Vec<&str> = here.split('/').collect();
    parts.pop();
    for part in address.split('/') {
        match part {
            "" | "." => {}
            ".." => {
                parts.pop()?;
            }
            part => parts.push(part),
        }
    }
    Some(parts.join("/"))
}

/// The pictures of a line, those in links and marks too.
pub(crate) fn pictures_in<'i>(inlines: &'i [Inline], found: &mut Vec<PictureName<'i>>) {
    for inline in inlines {
        match inline {
            Inline::Image { address, alt, span, .. } => found.push(PictureName { address, alt, span: *span }),
            Inline::Emphasis(inner)
            | Inline::Strong(inner)
            | Inline::Struck(inner)
            | Inline::Sub(inner)
            | Inline::Sup(inner)
            | Inline::Link { text: inner, .. } => pictures_in(inner, found),
            _ => {}
        }
    }
}

/// Whether bytes begin as a PNG (ISO/IEC 15948) or a JPEG (ITU-T T.81) does.
pub(crate) fn is_picture(bytes: &[u8]) -> bool {
    bytes.starts_with(b"\x89PNG\r\n\x1a\n") || bytes.starts_with(&[0xFF, 0xD8, 0xFF])
}

/// Whether a file is called a picture and begins as none.
pub(super) fn belies_its_name(evidence: &dyn Evidence, path: &str) -> bool {
    let ending = path.rsplit_once('.').map_or("", |(_, ending)| ending).to_ascii_lowercase();
    if !["png", "jpg", "jpeg"].contains(&ending.as_str()) {
        return false;
    }
    let mut begin = Vec::new();
    let read = evidence.open(path).map(|file| file.take(8).read_to_end(&mut begin));
    matches!(read, Ok(Ok(_))) && !is_picture(&begin)
}

/// One finding for each picture that is not there.
pub(super) fn missing(journals: &[Journal], sources: &Sources, evidence: &dyn Evidence) -> Vec<Finding> {
    let mut findings = Vec::new();
    for journal in journals {
        let here = &sources.get(journal.file).path;
        for name in pictures_of(journal) {
            let path = picture_path(here, name.address);
            let opened = path.map_or(Err(EvidenceFault::Outside), |path| evidence.open(&path));
            let message = match opened {
                Err(fault) => fault.told(name.address),
                Ok(file) => {
                    let mut begin = Vec::new();
                    if file.take(8).read_to_end(&mut begin).is_ok() && is_picture(&begin) {
                        continue;
                    }
                    words!("`{}` is no PNG or JPEG picture", name.address)
                }
            };
            let help = "put the picture into the journal folder and type its path from this file";
            findings.push(Finding::new(&codes::MISSING_PICTURE, name.span, message, help));
        }
    }
    findings
}

/// Every picture that the prose of a file names, in order.
pub(crate) fn pictures_of(journal: &Journal) -> Vec<PictureName<'_>> {
    let mut names = Vec::new();
    in_blocks(&journal.prose, &mut names);
    names
}

fn in_blocks<'b>(blocks: &'b [Block], found: &mut Vec<PictureName<'b>>) {
    for block in blocks {
        match &block.form {
            BlockForm::Heading { text, .. } | BlockForm::Paragraph(text) => pictures_in(text, found),
            BlockForm::List { entries, .. } => {
                entries.iter().for_each(|entry| in_blocks(&entry.blocks, found))
            }
            BlockForm::Quote(inner) | BlockForm::Footnote { blocks: inner, .. } => in_blocks(inner, found),
            BlockForm::Table { head, rows, .. } => {
                head.iter().chain(rows.iter().flatten()).for_each(|cell| pictures_in(cell, found));
            }
            BlockForm::Code { .. } | BlockForm::Rule | BlockForm::Fence(_) => {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::picture_path;

    #[test]
    fn pictures_are_named_from_their_file() {
        assert_eq!(picture_path("a/b.md", "../p/x.png").as_deref(), Some("p/x.png"));
        assert_eq!(picture_path("b.md", "p/x.png").as_deref(), Some("p/x.png"));
        assert_eq!(picture_path("b.md", "../x.png"), None);
    }
}
