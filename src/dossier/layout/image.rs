//! What a picture is, as its bytes tell: how many pixels, which colours, and which way up.

use std::io::Cursor;
use std::sync::Arc;

use png::{ColorType, Decoder, Limits, Transformations};

use super::super::piece::{Picture, PictureFormat};

/// A picture that can be drawn.
#[derive(Clone, Debug)]
pub(crate) struct Image {
    pub(crate) bytes: Arc<[u8]>,
    pub(crate) format: PictureFormat,
    /// In pixels, as stored.
    pub(crate) width: u32,
    pub(crate) height: u32,
    /// How many bytes a pixel has in a JPEG: 1 grey, 3 colour, 4 CMYK.
    pub(crate) channels: u8,
    /// CMYK with 255 for no ink, as one maker's programs write it.
    pub(crate) inverted: bool,
    /// Exif orientation, 1 to 8; 1 stands as stored.
    pub(crate) orientation: u8,
    pub(crate) alt: String,
}

/// Up to how many bytes a decoded picture may take.
const LARGEST: usize = 400_000_000;

impl Image {
    /// The picture, if its bytes are one.
    pub(crate) fn read(picture: &Picture) -> Option<Image> {
        let image = match picture.format {
            PictureFormat::Png => png(picture)?,
            PictureFormat::Jpeg => jpeg(picture)?,
        };
        (image.width > 0 && image.height > 0).then_some(image)
    }

    /// Width and height as shown.
    pub(crate) fn shown(&self) -> (f64, f64) {
        let (width, height) = (f64::from(self.width), f64::from(self.height));
        if self.orientation >= 5 { (height, width) } else { (width, height) }
    }
}

/// A decoder that gives grey or colour with 8 bits a channel.
pub(crate) fn decoder(bytes: &[u8]) -> Decoder<Cursor<&[u8]>> {
    let mut decoder = Decoder::new_with_limits(Cursor::new(bytes), Limits { bytes: LARGEST });
    decoder.set_transformations(Transformations::EXPAND | Transformations::STRIP_16);
    decoder
}

/// Reads a PNG row by row to its end: a picture that breaks off half-way is broken.
fn png(picture: &Picture) -> Option<Image> {
    let mut reader = decoder(&picture.bytes).read_info().ok()?;
    let (width, height) = (reader.info().width, reader.info().height);
    let (colour, _) = reader.output_color_type();
    let size = u64::from(width) * u64::from(height) * colour.samples() as u64;
    if size > LARGEST as u64 {
        return None;
    }
    while reader.next_row().ok()?.is_some() {}
    Some(Image {
        bytes: Arc::clone(&picture.bytes),
        format: PictureFormat::Png,
        width,
        height,
        channels: if matches!(colour, ColorType::Grayscale | ColorType::GrayscaleAlpha) { 1 } else { 3 },
        inverted: false,
        orientation: 1,
        alt: picture.alt.clone(),
    })
}

/// How a JPEG is to be turned to stand upright.
pub(crate) fn orientation(bytes: &[u8]) -> u8 {
    let mut at = 2;
    while let (Some(0xff), Some(marker)) = (bytes.get(at), bytes.get(at + 1)) {
        if *marker == 0xff {
            at += 1;
            continue;
        }
        let Some(length) = word(bytes, at + 2).map(usize::from) else { break };
        let Some(body) = bytes.get(at + 4..at + 2 + length) else { break };
        if *marker == 0xda {
            break;
        }
        if *marker == 0xe1 && body.starts_with(b"Exif\0\0") {
            return exif(&body[6..]).unwrap_or(1);
        }
        at += 2 + length;
    }
    1
}

/// Reads the headers of a JPEG: frame, colours. It must begin its scan and be ended.
fn jpeg(picture: &Picture) -> Option<Image> {
    let bytes = &picture.bytes[..];
    if !bytes.starts_with(&[0xff, 0xd8]) {
        return None;
    }
    let (mut at, mut frame, mut adobe) = (2, None, None);
    loop {
        if *bytes.get(at)? != 0xff {
            return None;
        }
        let marker = *bytes.get(at + 1)?;
        if marker == 0xff {
            at += 1;
            continue;
        }
        let length = usize::from(word(bytes, at + 2)?);
        let body = bytes.get(at + 4..(at + 2).checked_add(length)?)?;
        match marker {
            // Start of frame: baseline, extended, progressive. The others (lossless, arithmetic) PDF can't show.
            0xc0..=0xc2 if body.first() == Some(&8) => {
                frame = Some((word(body, 3)?, word(body, 1)?, *body.get(5)?));
            }
            0xc0..=0xc3 | 0xc5..=0xc7 | 0xc9..=0xcb | 0xcd..=0xcf => return None,
            0xee if body.starts_with(b"Adobe") => adobe = body.get(11).copied(),
            0xda => break,
            _ => {}
        }
        at += 2 + length;
    }
    let ended = bytes[at..].windows(2).any(|pair| pair == [0xff, 0xd9]);
    let (width, height, channels) = frame.filter(|frame| ended && matches!(frame.2, 1 | 3 | 4))?;
    Some(Image {
        bytes: Arc::clone(&picture.bytes),
        format: PictureFormat::Jpeg,
        width: width.into(),
        height: height.into(),
        channels,
        inverted: channels == 4 && adobe.is_some(),
        orientation: orientation(bytes),
        alt: picture.alt.clone(),
    })
}

fn word(bytes: &[u8], at: usize) -> Option<u16> {
    Some(u16::from_be_bytes([*bytes.get(at)?, *bytes.get(at + 1)?]))
}

/// The orientation of an Exif block (tag 0x0112 of its first directory), 1 to 8.
fn exif(tiff: &[u8]) -> Option<u8> {
    let little = match tiff.get(..2)? {
        b"II" => true,
        b"MM" => false,
        _ => return None,
    };
    let short = |at: usize| {
        let pair = [*tiff.get(at)?, *tiff.get(at + 1)?];
        Some(if little { u16::from_le_bytes(pair) } else { u16::from_be_bytes(pair) })
    };
    let (high, low) = if little { (short(6)?, short(4)?) } else { (short(4)?, short(6)?) };
    let directory = usize::from(high) << 16 | usize::from(low);
    let entries = usize::from(short(directory)?);
    let tag = |index: usize| directory.checked_add(2 + 12 * index);
    let entry = (0..entries).filter_map(tag).find(|at| short(*at) == Some(0x0112))?;
    u8::try_from(short(entry + 8)?).ok().filter(|orientation| (1..=8).contains(orientation))
}
