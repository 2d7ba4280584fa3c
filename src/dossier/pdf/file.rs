//! The file itself: finished objects go in one by one and are not held; small ones are packed together
//! (ISO 32000-1, 7.5.7 and 7.5.8).

use std::io::Write;

use flate2::{Compress, Compression, FlushCompress, Status};

use super::object::integer;

/// The number of an object.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Id(pub(crate) u32);

/// Fast, and within a few percent of what the slow levels reach on page content.
const LEVEL: u32 = 3;

/// How many bytes of small objects are packed together.
const PACK: usize = 100_000;

/// Where an object is found.
#[derive(Clone, Copy, Debug)]
enum Place {
    /// Reserved and never written: read as null.
    Nowhere,
    /// The byte of the file that it begins at.
    At(u64),
    /// In a pack, and its place there.
    In(Id, u16),
}

pub(crate) struct File {
    bytes: Vec<u8>,
    places: Vec<Place>,
    pack: Pack,
    /// One for all streams: its tables are large and most streams small.
    squeeze: Compress,
}

/// Small objects that wait to be written together.
#[derive(Default)]
struct Pack {
    id: Option<Id>,
    /// Number and offset of each, as the pack begins with them.
    index: Vec<u8>,
    body: Vec<u8>,
    count: u16,
}

impl File {
    pub(crate) fn new() -> File {
        // The second line says to programs that move files that this one is not text.
        File {
            bytes: b"%PDF-1.7\n%\xbf\xf7\xa2\xfe\n".to_vec(),
            places: vec![Place::Nowhere],
            pack: Pack::default(),
            squeeze: Compress::new(Compression::new(LEVEL), true),
        }
    }

    /// A number for an object that is written later.
    pub(crate) fn reserve(&mut self) -> Id {
        let id = Id(u32::try_from(self.places.len()).unwrap_or(u32::MAX));
        self.places.push(Place::Nowhere);
        id
    }

    /// Adds an object under a new number.
    pub(crate) fn add(&mut self, object: &[u8]) -> Id {
        let id = self.reserve();
        self.put(id, object);
        id
    }

    /// Adds an object, which is no stream, under its reserved number.
    pub(crate) fn put(&mut self, id: Id, object: &[u8]) {
        let pack = match self.pack.id {
            Some(pack) => pack,
            None => {
                let pack = self.reserve();
                self.pack.id = Some(pack);
                pack
            }
        };
        let Pack { index, body, count, .. } = &mut self.pack;
        for number in [u64::from(id.0), body.len() as u64] {
            integer(index, number);
            index.push(b' ');
        }
        body.extend_from_slice(object);
        body.push(b'\n');
        self.places[id.0 as usize] = Place::In(pack, *count);
        *count += 1;
        if self.pack.body.len() > PACK || self.pack.count == u16::MAX {
            self.flush();
        }
    }

    /// Adds a stream that is to be compressed; `entries` are those of its dictionary besides length and filter.
    pub(crate) fn compressed(&mut self, entries: &[u8], content: &[u8]) -> Id {
        let id = self.reserve();
        self.put_compressed(id, entries, content);
        id
    }

    /// Adds a stream that is to be compressed, under its reserved number.
    pub(crate) fn put_compressed(&mut self, id: Id, entries: &[u8], content: &[u8]) {
        let entries = [entries, b"/Filter/FlateDecode"].concat();
        let content = self.deflate(content);
        self.put_stream(id, &entries, &content);
    }

    fn deflate(&mut self, content: &[u8]) -> Vec<u8> {
        self.squeeze.reset();
        let mut packed = Vec::with_capacity(content.len() / 3 + 128);
        loop {
            let done = usize::try_from(self.squeeze.total_in()).unwrap_or(0);
            let status = self.squeeze.compress_vec(&content[done..], &mut packed, FlushCompress::Finish);
            if !matches!(status, Ok(Status::Ok | Status::BufError)) {
                return packed;
            }
            packed.reserve(content.len() / 3 + 128);
        }
    }

    /// Adds a stream as it is, under its reserved number.
    pub(crate) fn put_stream(&mut self, id: Id, entries: &[u8], content: &[u8]) {
        self.places[id.0 as usize] = Place::At(self.bytes.len() as u64);
        let _ = write!(self.bytes, "{} 0 obj\n<<", id.0);
        self.bytes.extend_from_slice(entries);
        let _ = writeln!(self.bytes, "/Length {}>>stream", content.len());
        self.bytes.extend_from_slice(content);
        self.bytes.extend_from_slice(b"\nendstream\nendobj\n");
    }

    fn flush(&mut self) {
        let pack = std::mem::take(&mut self.pack);
        let Some(id) = pack.id else { return };
        let entries = format!("/Type/ObjStm/N {}/First {}", pack.count, pack.index.len());
        let content = [pack.index, pack.body].concat();
        self.put_compressed(id, entries.as_bytes(), &content);
    }

    /// Ends the file. `seed` and all that was written give its identifier.
    pub(crate) fn finish(mut self, catalog: Id, info: Id, seed: &[u8]) -> Vec<u8> {
        self.flush();
        let mut hash = blake3::Hasher::new();
        hash.update(seed);
        hash.update(&self.bytes);
        let mark: String =
            hash.finalize().as_bytes()[..16].iter().map(|byte| format!("{byte:02X}")).collect();
        let table = self.reserve();
        let start = self.bytes.len();
        self.places[table.0 as usize] = Place::At(start as u64);
        let mut rows = Vec::with_capacity(self.places.len() * 8);
        for place in &self.places {
            let (kind, first, second) = match *place {
                Place::Nowhere => (0, 0, u16::MAX),
                Place::At(byte) => (1, byte, 0),
                Place::In(pack, place) => (2, u64::from(pack.0), place),
            };
            rows.push(kind);
            rows.extend_from_slice(&first.to_be_bytes()[3..]);
            rows.extend_from_slice(&second.to_be_bytes());
        }
        let entries = format!(
            "/Type/XRef/W[1 5 2]/Size {}/Root {} 0 R/Info {} 0 R/ID[<{mark}><{mark}>]",
            self.places.len(),
            catalog.0,
            info.0
        );
        self.put_compressed(table, entries.as_bytes(), &rows);
        let _ = write!(self.bytes, "startxref\n{start}\n%%EOF\n");
        self.bytes
    }
}
