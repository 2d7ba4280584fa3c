//! What other people's programs say of the PDFs: sound, fonts embedded, every result extracted as it is shown.

use std::fs;
use std::path::Path;
use std::process::Command;

use crate::copied::copy_of;
use crate::printed::{CAUTIONS, demo, lines_with_a_gear, make, pack_of, shown, stands_in};
use crate::program::Folder;
use crate::programs::{pages_of, text_of, tool};

#[test]
fn every_result_is_in_the_pdf_as_it_is_shown() {
    let text = text_of(&demo("dossier.pdf"));
    let missing: Vec<String> = shown()
        .into_iter()
        .filter(|(_, shown)| !stands_in(&text, shown) && !is_said(&text, shown))
        .map(|(name, shown)| format!("{name}: {shown}"))
        .collect();
    assert!(missing.is_empty(), "{} are missing:\n{}", missing.len(), missing.join("\n"));
}

/// A name is printed as people say it: `use.feed_store` as use feed store.
fn is_said(text: &str, shown: &str) -> bool {
    let is_name = !shown.contains(|c: char| c.is_ascii_digit() || c == ' ');
    is_name && text.contains(&shown.replace(['_', '.'], " "))
}

#[test]
fn the_pdfs_are_sound_and_their_fonts_are_embedded_subsets() {
    for name in ["dossier.pdf", "summary.pdf", "rescue.pdf"] {
        let pdf = demo(name);
        tool("qpdf", &["--check"], &pdf);
        let fonts = tool("pdffonts", &[], &pdf);
        let mut count = 0;
        for line in fonts.lines().skip(2) {
            // … emb sub uni object generation
            let words: Vec<&str> = line.split_whitespace().rev().collect();
            assert_eq!(
                words[2..5],
                ["yes", "yes", "yes"],
                "not embedded, subset and mapped to Unicode: {line}"
            );
            count += 1;
        }
        assert!(count > 0, "{name} has no fonts");
    }
}

#[test]
fn the_last_page_is_numbered_with_the_page_count() {
    let pdf = demo("dossier.pdf");
    let information = tool("pdfinfo", &[], &pdf);
    let field = |name: &str| {
        information.lines().find_map(|line| line.strip_prefix(name)).unwrap_or("").trim().to_owned()
    };
    let pages: usize = field("Pages:").parse().expect("a count");
    assert!(text_of(&pdf).contains(&format!("{pages} of {pages}")), "no page is {pages} of {pages}");
    assert!(field("Page size:").contains("A4"), "{information}");
    assert!(!field("Title:").is_empty(), "{information}");
    assert_eq!(field("Tagged:"), "yes", "{information}");
    assert!(!information.contains("Syntax Error"), "{information}");
}

#[test]
fn the_summary_fits_on_four_pages_and_can_be_signed() {
    let pdf = demo("summary.pdf");
    let information = tool("pdfinfo", &[], &pdf);
    let pages = information.lines().find_map(|line| line.strip_prefix("Pages:")).expect("a count").trim();
    assert!(["2", "3", "4"].contains(&pages), "{pages} pages");
    let text = text_of(&pdf).to_lowercase();
    for needed in ["declared by", "seen by", "not an approval"] {
        assert!(text.contains(needed), "`{needed}` is missing");
    }
}

#[test]
fn the_printed_form_names_the_gear_of_each_value_of_the_drive() {
    let text = text_of(&demo("summary.pdf"));
    for line in lines_with_a_gear() {
        assert!(text.contains(&line), "`{line}` is missing");
    }
}

#[test]
fn the_dossier_without_annex_and_moves_is_no_longer_than_a_binder_takes() {
    const MOST: usize = 44;
    let pages = pages_of(&demo("dossier.pdf"));
    // The contents say the same words before.
    let page_of = |heading: &str| {
        let on = |page: &String| page.lines().any(|line| line.trim() == heading);
        pages.iter().rposition(on).unwrap_or_else(|| panic!("no page is headed {heading}"))
    };
    let annex = page_of("Annex: the documents");
    let moves = page_of("What an inspection asks") - page_of("What moved since revision B of 2025-03-15");
    let without = annex + 1 - moves;
    assert!(without <= MOST, "{without} pages");
}

#[test]
fn no_page_of_the_demo_is_mostly_empty() {
    // Where the flow ends on A4; below it stand the page's number and a line for initials.
    const FOOT: f64 = 807.0;
    const DEPTH: f64 = 770.0;
    for name in ["dossier.pdf", "summary.pdf"] {
        let pdf = demo(name);
        let boxes = tool("pdftotext", &["-bbox", &pdf.to_string_lossy()], Path::new("-"));
        let pages: Vec<&str> = boxes.split("<page ").skip(1).collect();
        let lowest = |page: &&str| {
            let ends = page.split("yMax=\"").skip(1).filter_map(|rest| rest.split('"').next()?.parse().ok());
            ends.filter(|end: &f64| *end < FOOT + 2.0).fold(0.0, f64::max)
        };
        let bottoms: Vec<f64> = pages.iter().map(lowest).collect();
        // The last page ends where the journal ends.
        for (number, bottom) in bottoms[..bottoms.len() - 1].iter().enumerate() {
            let empty = (FOOT - bottom) / DEPTH;
            assert!(empty < 0.25, "{name}, page {}: {empty:.2} of it is empty at its foot", number + 1);
        }
    }
}

#[test]
fn the_rescue_sheet_is_one_sheet() {
    let information = tool("pdfinfo", &[], &demo("rescue.pdf"));
    let pages = information.lines().find_map(|line| line.strip_prefix("Pages:")).expect("a count").trim();
    assert_eq!(pages, "1");
}

#[test]
fn letter_paper_is_letter() {
    let journal = Folder::new();
    journal.write("journal.md", "---\npaper: letter\n---\n\n# A page\n");
    assert_eq!(journal.run(&["dossier"]).status, 0);
    let information = tool("pdfinfo", &[], &journal.path.join("dossier/dossier.pdf"));
    assert!(information.contains("(letter)"), "{information}");
}

#[test]
fn high_voltage_brings_its_cautions_and_low_voltage_its_own() {
    for (series, words) in CAUTIONS {
        let journal = pack_of(series);
        for place in ["dossier.pdf", "summary.pdf"] {
            let text = text_of(&journal.path.join("dossier").join(place)).to_lowercase();
            for word in words {
                assert!(text.contains(word), "{series} cells: `{word}` is missing in {place}");
            }
        }
    }
}

#[test]
fn a_hostile_journal_leaves_only_links_in_the_pdf() {
    let (journal, out) = (copy_of("tests/data/hostile"), Folder::new());
    make(&journal, &out);
    let pdf = out.path.join("dossier.pdf");
    tool("qpdf", &["--check"], &pdf);
    // Links to its own places and to web addresses.
    let objects = uncompressed(&pdf);
    for banned in
        ["/JavaScript", "/JS ", "/Launch", "/EmbeddedFile", "/AA ", "(javascript:", "(file:", "(data:"]
    {
        assert!(!objects.contains(banned), "the PDF has {banned}");
    }
}

/// The objects of a PDF as text.
#[track_caller]
fn uncompressed(pdf: &Path) -> String {
    let plain = pdf.with_extension("plain");
    let words = ["--qdf", "--object-streams=disable"];
    let output = Command::new("qpdf").args(words).arg(pdf).arg(&plain).output().expect("qpdf starts");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8_lossy(&fs::read(plain).expect("objects")).into_owned()
}
