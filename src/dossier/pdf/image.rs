//! Pictures as the file holds them: JPEG as it came, PNG as it came where PDF knows its form, else pixel by pixel.

use std::collections::BTreeMap;

use png::ColorType;
use printpdf::{DictItem, ExternalStream, ExternalXObject};

use super::super::layout::image::{Image, decoder};
use super::super::piece::PictureFormat;

type Entries = BTreeMap<String, DictItem>;

/// The picture as an object of the file; `None` if it can't be decoded after all.
pub(crate) fn image(image: &Image) -> Option<ExternalXObject> {
    let stream = match image.format {
        PictureFormat::Jpeg => jpeg(image),
        PictureFormat::Png => match plain_png(image) {
            Some(stream) => stream,
            None => decoded_png(image)?,
        },
    };
    Some(ExternalXObject { stream, width: None, height: None, dpi: None })
}

fn entries(image: &Image, bits: u8, space: DictItem) -> Entries {
    BTreeMap::from([
        ("Type".into(), name("XObject")),
        ("Subtype".into(), name("Image")),
        ("Width".into(), DictItem::Int(image.width.into())),
        ("Height".into(), DictItem::Int(image.height.into())),
        ("BitsPerComponent".into(), DictItem::Int(bits.into())),
        ("ColorSpace".into(), space),
    ])
}

fn jpeg(image: &Image) -> ExternalStream {
    let space = match image.channels {
        1 => "DeviceGray",
        4 => "DeviceCMYK",
        _ => "DeviceRGB",
    };
    let mut dict = entries(image, 8, name(space));
    dict.insert("Filter".into(), name("DCTDecode"));
    if image.inverted {
        let ends = [1, 0, 1, 0, 1, 0, 1, 0].map(DictItem::Int);
        dict.insert("Decode".into(), DictItem::Array(ends.to_vec()));
    }
    ExternalStream { dict, content: image.bytes.to_vec(), compress: false }
}

/// The compressed rows of a PNG as they are: PDF knows their filters. Not for alpha, interlacing, or colour keys.
fn plain_png(image: &Image) -> Option<ExternalStream> {
    let bytes = &image.bytes[..];
    let (mut data, mut palette, mut header) = (Vec::new(), None, None);
    let mut at = 8;
    while let Some(chunk) = bytes.get(at..at + 8) {
        let length = u32::from_be_bytes([chunk[0], chunk[1], chunk[2], chunk[3]]) as usize;
        let body = bytes.get(at + 8..(at + 8).checked_add(length)?)?;
        match &chunk[4..8] {
            b"IHDR" => header = Some((*body.get(8)?, *body.get(9)?, *body.get(12)?)),
            b"PLTE" => palette = Some(body.to_vec()),
            b"tRNS" => return None,
            b"IDAT" => data.extend_from_slice(body),
            b"IEND" => break,
            _ => {}
        }
        at += 12 + length;
    }
    let (bits, colour, interlaced) = header?;
    let (space, channels) = match (colour, palette) {
        (0, _) => (name("DeviceGray"), 1),
        (2, _) => (name("DeviceRGB"), 3),
        (3, Some(palette)) => {
            let last = i64::try_from(palette.len() / 3).ok()?.checked_sub(1).filter(|last| *last >= 0)?;
            let parts =
                vec![name("Indexed"), name("DeviceRGB"), DictItem::Int(last), DictItem::Bytes(palette)];
            (DictItem::Array(parts), 1)
        }
        _ => return None,
    };
    if interlaced != 0 {
        return None;
    }
    let parameters = BTreeMap::from([
        ("Predictor".into(), DictItem::Int(15)),
        ("Colors".into(), DictItem::Int(channels)),
        ("BitsPerComponent".into(), DictItem::Int(bits.into())),
        ("Columns".into(), DictItem::Int(image.width.into())),
    ]);
    let mut dict = entries(image, bits, space);
    dict.insert("Filter".into(), name("FlateDecode"));
    dict.insert("DecodeParms".into(), DictItem::Dict { map: parameters });
    Some(ExternalStream { dict, content: data, compress: false })
}

/// Grey or colour, with what shines through as a mask of its own.
fn decoded_png(image: &Image) -> Option<ExternalStream> {
    let mut reader = decoder(&image.bytes).read_info().ok()?;
    let mut pixels = vec![0; reader.output_buffer_size()?];
    reader.next_frame(&mut pixels).ok()?;
    let (kind, _) = reader.output_color_type();
    let samples = kind.samples();
    let colours = match kind {
        ColorType::GrayscaleAlpha => 1,
        ColorType::Rgba => 3,
        _ => samples,
    };
    let space = name(if colours == 1 { "DeviceGray" } else { "DeviceRGB" });
    let mut dict = entries(image, 8, space);
    if samples > colours {
        let alpha: Vec<u8> = pixels.chunks_exact(samples).map(|pixel| pixel[colours]).collect();
        if alpha.iter().any(|value| *value != 255) {
            let mask = entries(image, 8, name("DeviceGray"));
            let stream = ExternalStream { dict: mask, content: alpha, compress: true };
            dict.insert("SMask".into(), DictItem::Stream { stream });
        }
        pixels = pixels.chunks_exact(samples).flat_map(|pixel| pixel[..colours].iter().copied()).collect();
    }
    Some(ExternalStream { dict, content: pixels, compress: true })
}

fn name(text: &str) -> DictItem {
    DictItem::Name(text.as_bytes().to_vec())
}
