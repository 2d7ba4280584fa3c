//! The file. The library writes it, but for the many small objects around the pages: it would hold all of them, and
//! twice. They are packed as they are made, and the packs are appended with their part of the cross-reference
//! (ISO 32000-1, 7.5.6 to 7.5.8).

use std::io::Write;
use std::mem::take;

use flate2::Compression;
use flate2::write::ZlibEncoder;
use lopdf::content::{Content, Operation};
use lopdf::{Dictionary, Document, Error, Object, ObjectId, Result, SaveOptions};

/// How many bytes of objects are packed together.
const PACK: usize = 100_000;

/// Fast, and within a few percent of what the slow levels reach on page content.
const LEVEL: u32 = 3;

/// Takes small objects and packs them.
#[derive(Default)]
pub(crate) struct Packer {
    packs: Vec<Pack>,
    numbers: Vec<u32>,
    /// Number and offset of each, as the pack begins with them.
    index: Vec<u8>,
    body: Vec<u8>,
}

/// Objects that stand in one stream.
pub(crate) struct Pack {
    numbers: Vec<u32>,
    first: usize,
    content: Vec<u8>,
}

impl Packer {
    pub(crate) fn add(&mut self, id: ObjectId, object: impl Into<Object>) -> Result<()> {
        write!(self.index, "{} {} ", id.0, self.body.len())?;
        self.numbers.push(id.0);
        // The library writes an object on its own only as what an operation is about.
        let alone = Content { operations: [Operation::new("", vec![object.into()])] };
        self.body.append(&mut alone.encode()?);
        if self.body.len() > PACK { self.close() } else { Ok(()) }
    }

    pub(crate) fn finish(mut self) -> Result<Vec<Pack>> {
        self.close()?;
        Ok(self.packs)
    }

    fn close(&mut self) -> Result<()> {
        let (numbers, first) = (take(&mut self.numbers), self.index.len());
        let content = deflate(&[take(&mut self.index), take(&mut self.body)].concat())?;
        self.packs.push(Pack { numbers, first, content });
        Ok(())
    }
}

/// The document as the library writes it.
pub(crate) struct Written {
    bytes: Vec<u8>,
    trailer: Dictionary,
    /// The number after the last object's.
    next: u32,
}

impl Written {
    pub(crate) fn new(mut document: Document) -> Result<Written> {
        let streams = document.objects.values_mut().filter_map(|object| object.as_stream_mut().ok());
        for stream in streams.filter(|stream| stream.allows_compression && !stream.dict.has(b"Filter")) {
            let packed = deflate(&stream.content)?;
            stream.dict.set("Filter", "FlateDecode");
            stream.set_content(packed);
        }
        document.version = "1.7".to_owned();
        // All bytes are to tell in it, and they are not there yet.
        document.trailer.remove(b"ID");
        let options = SaveOptions::builder().use_object_streams(true).use_xref_streams(true);
        let mut bytes = Vec::new();
        document.save_with_options(&mut bytes, options.compression_level(LEVEL).build())?;
        bytes.push(b'\n');
        Ok(Written { bytes, trailer: document.trailer, next: document.max_id + 1 })
    }

    /// The bytes of the file with the packs, and with an identifier that comes from all of them.
    pub(crate) fn with(self, packs: impl Iterator<Item = Pack>) -> Result<Vec<u8>> {
        let Written { bytes: mut out, trailer, next } = self;
        let before =
            String::from_utf8_lossy(out.rsplit(|byte| *byte == b'\n').nth(2).unwrap_or(b"0")).into_owned();
        let mut table = next;
        // Number, kind, and what the kind asks for: the byte it begins at, or its pack and its place there.
        let mut rows: Vec<(u32, u8, u32, u16)> = Vec::new();
        for (id, pack) in (next..).zip(packs) {
            table = id + 1;
            rows.push((id, 1, offset(&out)?, 0));
            let entries = format!("/Type/ObjStm/N {}/First {}", pack.numbers.len(), pack.first);
            stream(&mut out, id, &entries, &pack.content)?;
            rows.extend((0..).zip(pack.numbers).map(|(place, number)| (number, 2, id, place)));
        }
        let start = offset(&out)?;
        rows.push((table, 1, start, 0));
        rows.sort_unstable();
        let runs = rows.chunk_by(|row, next| row.0 + 1 == next.0);
        let index: String = runs.map(|run| format!("{} {} ", run[0].0, run.len())).collect();
        let rows = rows.iter().flat_map(|(_, kind, first, second)| {
            let ([a, b, c, d], [e, f]) = (first.to_be_bytes(), second.to_be_bytes());
            [*kind, a, b, c, d, e, f]
        });
        let rows = deflate(&rows.collect::<Vec<u8>>())?;
        let [root, info] = [b"Root", b"Info"].map(|key| trailer.get(key).and_then(Object::as_reference));
        let hash = blake3::hash(&out).to_hex();
        let entries = format!(
            "/Type/XRef/W[1 4 2]/Index[{index}]/Size {}/Prev {before}/Root {} 0 R/Info {} 0 R/ID[<{mark}><{mark}>]",
            table + 1,
            root?.0,
            info?.0,
            mark = &hash[..32],
        );
        stream(&mut out, table, &entries, &rows)?;
        write!(out, "startxref\n{start}\n%%EOF\n")?;
        Ok(out)
    }
}

/// Writes a stream that is compressed; `entries` are those of its dictionary besides length and filter.
fn stream(out: &mut Vec<u8>, id: u32, entries: &str, content: &[u8]) -> Result<()> {
    write!(out, "{id} 0 obj\n<<{entries}/Filter/FlateDecode/Length {}>>stream\n", content.len())?;
    out.extend_from_slice(content);
    out.extend_from_slice(b"\nendstream\nendobj\n");
    Ok(())
}

pub(crate) fn deflate(content: &[u8]) -> Result<Vec<u8>> {
    let mut encoder = ZlibEncoder::new(Vec::with_capacity(content.len() / 4), Compression::new(LEVEL));
    encoder.write_all(content)?;
    Ok(encoder.finish()?)
}

fn offset(out: &[u8]) -> Result<u32> {
    u32::try_from(out.len()).map_err(|error| Error::NumericCast(error.to_string()))
}
