//! The file. The library writes it, but for the tree of what the marks mean: the library would hold its many objects
//! twice. They are packed as they are made, and the packs are appended with their part of the cross-reference
//! (ISO 32000-1, 7.5.6 to 7.5.8).

use std::io::Write;

use flate2::Compression;
use flate2::write::ZlibEncoder;
use lopdf::{Dictionary, Document, Error, Object, ObjectId, ObjectStream, Result, SaveOptions, Stream};

/// How many objects are packed together.
const PACK: usize = 500;

/// Fast, and within a few percent of what the slow levels reach on page content.
const LEVEL: u32 = 3;

/// Objects that stand in one stream, by their numbers.
pub(crate) struct Pack {
    numbers: Vec<u32>,
    stream: Stream,
}

/// Takes objects and packs them.
pub(crate) struct Packer {
    packs: Vec<Pack>,
    open: ObjectStream,
}

impl Packer {
    pub(crate) fn new() -> Packer {
        Packer { packs: Vec::new(), open: pack() }
    }

    pub(crate) fn add(&mut self, id: ObjectId, object: Object) -> Result<()> {
        if self.open.object_count() == PACK {
            self.close()?;
        }
        self.open.add_object(id, object)
    }

    pub(crate) fn finish(mut self) -> Result<Vec<Pack>> {
        self.close()?;
        Ok(self.packs)
    }

    fn close(&mut self) -> Result<()> {
        let full = std::mem::replace(&mut self.open, pack());
        let numbers = full.objects.keys().map(|id| id.0).collect();
        self.packs.push(Pack { numbers, stream: full.to_stream_object()? });
        Ok(())
    }
}

fn pack() -> ObjectStream {
    ObjectStream::builder().max_objects(PACK).compression_level(LEVEL).build()
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
    pub(crate) fn with(self, packs: Vec<Pack>) -> Result<Vec<u8>> {
        let Written { bytes: mut out, trailer, next } = self;
        let before =
            String::from_utf8_lossy(out.rsplit(|byte| *byte == b'\n').nth(2).unwrap_or(b"0")).into_owned();
        let table = next + u32::try_from(packs.len()).unwrap_or(u32::MAX);
        // Number, kind, and what the kind asks for: the byte it begins at, or its pack and its place there.
        let mut rows: Vec<(u32, u8, u32, u16)> = Vec::new();
        for (id, pack) in (next..).zip(packs) {
            rows.push((id, 1, offset(&out)?, 0));
            rows.extend((0..).zip(pack.numbers).map(|(place, number)| (number, 2, id, place)));
            let entry = |key: &[u8]| pack.stream.dict.get(key).and_then(Object::as_i64);
            let entries = format!("/Type/ObjStm/N {}/First {}", entry(b"N")?, entry(b"First")?);
            stream(&mut out, id, &entries, &pack.stream.content)?;
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
