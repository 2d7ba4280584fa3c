//! The streams of the pages, made by the page library a few pages at a time, on all cores: as operations a page takes
//! many times the room.

use std::mem::take;
use std::panic::resume_unwind;
use std::thread::{Scope, ScopedJoinHandle, available_parallelism};

use lopdf::{Object, Result};
use printpdf::{Op, PdfDocument, PdfPage, PdfSaveOptions, Pt, Rect};

use super::page::points;
use super::save::deflate;

/// How many pages are made together.
const TOGETHER: usize = 24;

/// Takes the pages in order and gives their streams, compressed, in the same order.
pub(crate) struct Streams<'scope, 'env> {
    threads: &'scope Scope<'scope, 'env>,
    waiting: Vec<PdfPage>,
    made: Vec<Made<'scope>>,
}

enum Made<'scope> {
    There(Result<Vec<Vec<u8>>>),
    Soon(ScopedJoinHandle<'scope, Result<Vec<Vec<u8>>>>),
}

impl<'scope, 'env> Streams<'scope, 'env> {
    pub(crate) fn new(threads: &'scope Scope<'scope, 'env>) -> Streams<'scope, 'env> {
        Streams { threads, waiting: Vec::new(), made: Vec::new() }
    }

    pub(crate) fn add(&mut self, ops: Vec<Op>) {
        self.waiting.push(page(ops, (0.0, 0.0)));
        if self.waiting.len() == TOGETHER {
            self.make();
        }
    }

    pub(crate) fn finish(mut self) -> Result<Vec<Vec<u8>>> {
        self.make();
        let made = self.made.into_iter().map(|made| match made {
            Made::There(streams) => streams,
            // A panic over there is a panic here.
            Made::Soon(thread) => thread.join().unwrap_or_else(|fault| resume_unwind(fault)),
        });
        Ok(made.collect::<Result<Vec<_>>>()?.concat())
    }

    fn make(&mut self) {
        let pages = take(&mut self.waiting);
        let busy =
            self.made.iter().filter(|made| matches!(made, Made::Soon(thread) if !thread.is_finished()));
        // This thread is one of those at work.
        let free = busy.count() + 1 < available_parallelism().map_or(1, usize::from);
        self.made.push(match free {
            true => Made::Soon(self.threads.spawn(|| streams(pages))),
            false => Made::There(streams(pages)),
        });
    }
}

/// A page of the size with what is drawn on it.
pub(crate) fn page(ops: Vec<Op>, (width, height): (f64, f64)) -> PdfPage {
    let sheet = || Rect {
        x: Pt(0.0),
        y: Pt(0.0),
        width: points(width),
        height: points(height),
        mode: None,
        winding_order: None,
    };
    PdfPage { media_box: sheet(), trim_box: sheet(), crop_box: sheet(), ops }
}

/// How the page library is to make its document: fonts and pictures are made ready here.
pub(crate) fn options() -> PdfSaveOptions {
    PdfSaveOptions {
        subset_fonts: false,
        image_optimization: None,
        secure: false,
        ..PdfSaveOptions::default()
    }
}

fn streams(pages: Vec<PdfPage>) -> Result<Vec<Vec<u8>>> {
    let mut pdf = PdfDocument::new("");
    pdf.pages = pages;
    let file = pdf.to_lopdf_document(&options(), &mut Vec::new());
    let streams = file.page_iter().map(|page| {
        let contents = file.get_dictionary(page)?.get(b"Contents").and_then(Object::as_reference)?;
        deflate(&file.get_object(contents)?.as_stream()?.content)
    });
    streams.collect()
}
