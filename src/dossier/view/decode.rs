//! PNG and JPEG files become pictures that both printers can embed: as they came where they are small, else as few pixels
//! as are printed.

use std::io::ErrorKind;
use std::sync::Arc;

use jpeg_decoder::{CodingProcess, Error, PixelFormat};
use jpeg_encoder::{ColorType, Encoder};
use png::DecodingError;

use super::super::layout::image::{Image, decoder, orientation};
use super::super::piece::{Picture, PictureFormat};
use super::bare;
use super::shrink::{Pixels, Shrink};

/// A file up to this many bytes stays as it came; so six of them make a page of under 3 MB.
const KEPT: usize = 300_000;
/// As long as it has no more pixels than this.
const KEPT_PIXELS: u64 = 4_000_000;
/// More pixels are not decoded: a small file can claim to hold any number.
const MOST_PIXELS: u64 = 400_000_000;
/// Of one whose first row is not whole before the last byte is read.
const MOST_AT_ONCE: u64 = 50_000_000;
/// From good to sufficient for noise.
const QUALITIES: [u8; 3] = [82, 68, 50];

/// The picture, no larger than `most` where it is decoded anew; or why it can't be shown.
pub(super) fn ready(bytes: Vec<u8>, most: (u32, u32)) -> Result<Picture, String> {
    if bytes.starts_with(b"\x89PNG") { from_png(bytes, most) } else { from_jpeg(bytes, most) }
}

fn from_png(bytes: Vec<u8>, most: (u32, u32)) -> Result<Picture, String> {
    let mut reader = decoder(&bytes).read_info().map_err(|error| png_fault(&error))?;
    let (width, height) = (reader.info().width, reader.info().height);
    let interlaced = reader.info().interlaced;
    measured((width, height), if interlaced { MOST_AT_ONCE } else { MOST_PIXELS })?;
    let samples = reader.output_color_type().0.samples();
    let mut shrink = Shrink::new((width, height), within((width, height), most), samples);
    if interlaced {
        let mut pixels = vec![0; reader.output_buffer_size().ok_or("it is too large")?];
        reader.next_frame(&mut pixels).map_err(|error| png_fault(&error))?;
        pixels.chunks_exact(width as usize * samples).for_each(|row| shrink.row(row));
    } else {
        while let Some(row) = reader.next_row().map_err(|error| png_fault(&error))? {
            shrink.row(row.data());
        }
    }
    drop(reader);
    if is_small(&bytes, (width, height))
        && let Some(bytes) = bare::png(&bytes)
    {
        return Ok(picture(PictureFormat::Png, bytes, (width, height)));
    }
    let pixels = shrink.pixels().on_white();
    // Drawings have few tones and stay sharp; a photograph is smaller as a JPEG.
    match write_png(&pixels) {
        Some(small) if small.len() <= KEPT => {
            Ok(picture(PictureFormat::Png, small, (pixels.width, pixels.height)))
        }
        _ => write_jpeg(&pixels),
    }
}

fn from_jpeg(bytes: Vec<u8>, most: (u32, u32)) -> Result<Picture, String> {
    let mut decoder = jpeg_decoder::Decoder::new(&bytes[..]);
    decoder.read_info().map_err(|error| jpeg_fault(&error))?;
    let info = decoder.info().ok_or("it has no size")?;
    let stored = (u32::from(info.width), u32::from(info.height));
    let at_once = info.coding_process != CodingProcess::DctSequential;
    measured(stored, if at_once { MOST_AT_ONCE } else { MOST_PIXELS })?;
    let turned = orientation(&bytes);
    let most = if turned >= 5 { (most.1, most.0) } else { most };
    let wanted = within(stored, most);
    let narrow = |side: u32| u16::try_from(side).unwrap_or(u16::MAX);
    let (width, height) =
        decoder.scale(narrow(wanted.0), narrow(wanted.1)).map_err(|error| jpeg_fault(&error))?;
    let decoded = decoder.decode().map_err(|error| jpeg_fault(&error))?;
    drop(decoder);
    let kept = picture(PictureFormat::Jpeg, Vec::new(), stored);
    // What says how it is turned goes with the rest of what the camera wrote.
    if is_small(&bytes, stored)
        && turned <= 1
        && let Some(bytes) = bare::jpeg(&bytes)
    {
        let kept = Picture { bytes: Arc::from(bytes), ..kept };
        if Image::read(&kept).is_some() {
            return Ok(kept);
        }
    }
    let (decoded, samples) = match info.pixel_format {
        PixelFormat::L8 => (decoded, 1),
        PixelFormat::L16 => (decoded.chunks_exact(2).map(high).collect(), 1),
        PixelFormat::RGB24 => (decoded, 3),
        PixelFormat::CMYK32 => (decoded.chunks_exact(4).flat_map(printed).collect(), 3),
    };
    let from = (u32::from(width), u32::from(height));
    let mut shrink = Shrink::new(from, within(from, wanted), samples);
    decoded.chunks_exact(usize::from(width) * samples).for_each(|row| shrink.row(row));
    write_jpeg(&shrink.pixels().turned(turned))
}

/// The larger byte of a grey of 16 bits.
fn high(pair: &[u8]) -> u8 {
    u16::from_ne_bytes([pair[0], pair[1]]).to_be_bytes()[0]
}

/// Four inks, 255 for all of one, as light.
fn printed(inks: &[u8]) -> [u8; 3] {
    let black = 255 - u16::from(inks[3]);
    [0, 1, 2].map(|ink| ((255 - u16::from(inks[ink])) * black / 255) as u8)
}

fn measured((width, height): (u32, u32), most: u64) -> Result<(), String> {
    let pixels = u64::from(width) * u64::from(height);
    if pixels == 0 {
        Err(format!("its size is {width} × {height} pixels"))
    } else if pixels > most {
        let most = most / 1_000_000;
        Err(format!("it is too large: {width} × {height} pixels, more than {most} million"))
    } else {
        Ok(())
    }
}

fn is_small(bytes: &[u8], (width, height): (u32, u32)) -> bool {
    bytes.len() <= KEPT && u64::from(width) * u64::from(height) <= KEPT_PIXELS
}

/// The size that fits within `most` in the same proportion; never larger than it is.
fn within((width, height): (u32, u32), most: (u32, u32)) -> (u32, u32) {
    let scale = (f64::from(most.0) / f64::from(width)).min(f64::from(most.1) / f64::from(height)).min(1.0);
    let side = |side: u32| ((f64::from(side) * scale).round() as u32).max(1);
    (side(width), side(height))
}

fn picture(format: PictureFormat, bytes: Vec<u8>, (width, height): (u32, u32)) -> Picture {
    Picture { alt: String::new(), format, bytes: Arc::from(bytes), width, height }
}

fn write_png(pixels: &Pixels) -> Option<Vec<u8>> {
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, pixels.width, pixels.height);
    encoder.set_color(if pixels.samples == 1 { png::ColorType::Grayscale } else { png::ColorType::Rgb });
    encoder.set_depth(png::BitDepth::Eight);
    encoder.write_header().ok()?.write_image_data(&pixels.data).ok()?;
    Some(bytes)
}

fn write_jpeg(pixels: &Pixels) -> Result<Picture, String> {
    let kind = if pixels.samples == 1 { ColorType::Luma } else { ColorType::Rgb };
    let size = (pixels.width as u16, pixels.height as u16);
    let mut bytes = Vec::new();
    for quality in QUALITIES {
        bytes.clear();
        let mut encoder = Encoder::new(&mut bytes, quality);
        encoder.set_optimized_huffman_tables(true);
        let written = encoder.encode(&pixels.data, size.0, size.1, kind);
        written.map_err(|error| format!("it can't be written smaller: {error}"))?;
        if bytes.len() <= KEPT {
            break;
        }
    }
    Ok(picture(PictureFormat::Jpeg, bytes, (pixels.width, pixels.height)))
}

const BROKEN_OFF: &str = "it breaks off before its end";

fn png_fault(error: &DecodingError) -> String {
    match error {
        DecodingError::IoError(error) if error.kind() == ErrorKind::UnexpectedEof => BROKEN_OFF.to_owned(),
        DecodingError::LimitsExceeded => "it is too large".to_owned(),
        error => format!("it can't be decoded ({error})"),
    }
}

fn jpeg_fault(error: &Error) -> String {
    match error {
        Error::Io(error) if error.kind() == ErrorKind::UnexpectedEof => BROKEN_OFF.to_owned(),
        error => format!("it can't be decoded ({error})"),
    }
}

#[cfg(test)]
mod tests {
    use std::panic::catch_unwind;

    use jpeg_encoder::{ColorType, Encoder};

    use super::super::super::piece::{Picture, PictureFormat};
    use super::{KEPT, ready, within};

    const MOST: (u32, u32) = (200, 300);

    /// Numbers that follow from a seed and look like chance (xorshift, Marsaglia 2003).
    struct Noise(u64);

    impl Noise {
        fn next(&mut self) -> u64 {
            self.0 ^= self.0 << 13;
            self.0 ^= self.0 >> 7;
            self.0 ^= self.0 << 17;
            self.0
        }

        fn below(&mut self, bound: usize) -> usize {
            (self.next() % bound as u64) as usize
        }
    }

    fn noise(length: usize) -> Vec<u8> {
        let mut noise = Noise(7);
        (0..length).map(|_| noise.next() as u8).collect()
    }

    fn jpeg((width, height): (u16, u16), kind: (ColorType, usize), progressive: bool) -> Vec<u8> {
        let mut bytes = Vec::new();
        let mut encoder = Encoder::new(&mut bytes, 90);
        encoder.set_progressive(progressive);
        let pixels = noise(usize::from(width) * usize::from(height) * kind.1);
        encoder.encode(&pixels, width, height, kind.0).expect("a picture");
        bytes
    }

    fn png((width, height): (u32, u32), colour: png::ColorType) -> Vec<u8> {
        let mut bytes = Vec::new();
        let mut encoder = png::Encoder::new(&mut bytes, width, height);
        encoder.set_color(colour);
        encoder.set_depth(png::BitDepth::Eight);
        let pixels = noise(width as usize * height as usize * colour.samples());
        encoder.write_header().and_then(|mut to| to.write_image_data(&pixels)).expect("a picture");
        bytes
    }

    #[track_caller]
    fn made(bytes: Vec<u8>) -> Picture {
        ready(bytes, MOST).expect("a picture")
    }

    #[test]
    fn a_small_picture_stays_as_it_came() {
        for bytes in [jpeg((300, 200), (ColorType::Rgb, 3), false), png((200, 150), png::ColorType::Rgba)] {
            assert_eq!(made(bytes.clone()).bytes[..], bytes);
        }
    }

    #[test]
    fn a_large_picture_is_kept_in_the_size_that_it_is_printed_at() {
        let large = [
            jpeg((1200, 800), (ColorType::Rgb, 3), false),
            jpeg((1200, 800), (ColorType::Luma, 1), false),
            jpeg((1200, 800), (ColorType::Ycck, 4), false),
            jpeg((1200, 800), (ColorType::Rgb, 3), true),
            png((1200, 800), png::ColorType::Rgb),
            png((1200, 800), png::ColorType::GrayscaleAlpha),
        ];
        for bytes in large {
            assert!(bytes.len() > KEPT);
            let picture = made(bytes);
            assert_eq!((picture.width, picture.height), (200, 133));
            assert!(picture.bytes.len() <= KEPT);
            // It can be read again, and then it is small.
            assert_eq!(made(picture.bytes.to_vec()).bytes, picture.bytes);
        }
    }

    #[test]
    fn a_photograph_held_upright_stands_upright() {
        let mut bytes = jpeg((1200, 800), (ColorType::Rgb, 3), false);
        let exif =
            b"\xff\xe1\x00\x22Exif\0\0MM\0\x2a\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0\x06\0\0\0\0\0\0";
        bytes.splice(2..2, exif.iter().copied());
        let picture = made(bytes);
        assert_eq!((picture.format, picture.width, picture.height), (PictureFormat::Jpeg, 200, 300));
    }

    #[test]
    fn what_breaks_off_or_is_too_large_says_so() {
        let why = |bytes: Vec<u8>| ready(bytes, MOST).expect_err("it can't be shown");
        for whole in [jpeg((300, 200), (ColorType::Rgb, 3), false), png((300, 200), png::ColorType::Rgb)] {
            for length in [40, whole.len() / 2, whole.len() - 20] {
                assert_eq!(why(whole[..length].to_vec()), "it breaks off before its end", "{length}");
            }
        }
        let sized = |width: u32, height: u32| {
            let mut bytes = png((3, 2), png::ColorType::Rgb);
            bytes[16..20].copy_from_slice(&width.to_be_bytes());
            bytes[20..24].copy_from_slice(&height.to_be_bytes());
            let sum = crc(&bytes[12..29]);
            bytes[29..33].copy_from_slice(&sum.to_be_bytes());
            bytes
        };
        let told = "it is too large: 30000 × 20000 pixels, more than 400 million";
        assert_eq!(why(sized(30_000, 20_000)), told);
        let told = "it can't be decoded (IDAT or fDAT chunk does not have enough data for image.)";
        assert_eq!(why(sized(3, 4)), told);
        assert!(why(sized(0, 4)).starts_with("it can't be decoded"));
    }

    /// CRC-32 of ISO 3309, as PNG has it.
    fn crc(bytes: &[u8]) -> u32 {
        !bytes.iter().fold(!0, |sum, byte| {
            (0..8)
                .fold(sum ^ u32::from(*byte), |sum, _| (sum >> 1) ^ (0xedb8_8320 & (sum & 1).wrapping_neg()))
        })
    }

    #[test]
    fn no_damage_stops_the_program() {
        let whole = [
            jpeg((60, 40), (ColorType::Rgb, 3), false),
            jpeg((60, 40), (ColorType::Ycck, 4), false),
            jpeg((60, 40), (ColorType::Rgb, 3), true),
            png((60, 40), png::ColorType::Rgba),
        ];
        let mut chance = Noise(20_260_731);
        for case in 0..2000 {
            let mut bytes = whole[case % whole.len()].clone();
            for _ in 0..=chance.below(3) {
                let at = 4 + chance.below(bytes.len().min(700) - 4);
                match chance.below(3) {
                    0 => bytes[at] = chance.next() as u8,
                    1 => bytes[at] = *[0, 1, 0xff].get(chance.below(3)).expect("one"),
                    _ => drop(bytes.remove(at)),
                }
            }
            let kept = bytes.clone();
            let ended = catch_unwind(|| ready(bytes, (20, 20)).is_ok());
            assert!(ended.is_ok(), "case {case}: {kept:?}");
        }
    }

    #[test]
    fn proportions_stay() {
        assert_eq!(within((4000, 3000), (1020, 1300)), (1020, 765));
        assert_eq!(within((30, 9000), (1020, 1300)), (4, 1300));
        assert_eq!(within((1, 9000), (1020, 1300)), (1, 1300));
        assert_eq!(within((10, 20), (1020, 1300)), (10, 20));
    }
}
