//! The size of a picture, read from its first bytes.

use std::sync::Arc;

use super::super::piece::{Picture, PictureFormat};

/// A PNG or JPEG with its size in pixels; `None` for anything else.
pub(super) fn picture(bytes: Arc<[u8]>, alt: &str) -> Option<Picture> {
    let (format, width, height) = if let Some((width, height)) = png_size(&bytes) {
        (PictureFormat::Png, width, height)
    } else {
        let (width, height) = jpeg_size(&bytes)?;
        (PictureFormat::Jpeg, width, height)
    };
    (width > 0 && height > 0).then(|| Picture { alt: alt.to_owned(), format, bytes, width, height })
}

/// PNG (ISO/IEC 15948), the header chunk.
fn png_size(bytes: &[u8]) -> Option<(u32, u32)> {
    let head = bytes.get(..24)?;
    if !head.starts_with(b"\x89PNG\r\n\x1a\n") || &head[12..16] != b"IHDR" {
        return None;
    }
    let number = |at: usize| Some(u32::from_be_bytes(head.get(at..at + 4)?.try_into().ok()?));
    Some((number(16)?, number(20)?))
}

/// JPEG (ITU-T T.81, annex B): the first start-of-frame segment.
fn jpeg_size(bytes: &[u8]) -> Option<(u32, u32)> {
    if !bytes.starts_with(&[0xFF, 0xD8]) {
        return None;
    }
    let mut at = 2;
    loop {
        while *bytes.get(at)? == 0xFF && *bytes.get(at + 1)? == 0xFF {
            at += 1;
        }
        let (lead, marker) = (*bytes.get(at)?, *bytes.get(at + 1)?);
        if lead != 0xFF {
            return None;
        }
        // Restart marks and the temporary mark have no length.
        if matches!(marker, 0x01 | 0xD0..=0xD7) {
            at += 2;
            continue;
        }
        let length = usize::from(u16::from_be_bytes([*bytes.get(at + 2)?, *bytes.get(at + 3)?]));
        if matches!(marker, 0xC0..=0xC3 | 0xC5..=0xC7 | 0xC9..=0xCB | 0xCD..=0xCF) {
            let height = u16::from_be_bytes([*bytes.get(at + 5)?, *bytes.get(at + 6)?]);
            let width = u16::from_be_bytes([*bytes.get(at + 7)?, *bytes.get(at + 8)?]);
            return Some((u32::from(width), u32::from(height)));
        }
        if length < 2 {
            return None;
        }
        at += 2 + length;
    }
}

#[cfg(test)]
mod tests {
    use super::{jpeg_size, png_size};

    #[test]
    fn sizes_are_read_from_the_first_bytes() {
        let mut png = b"\x89PNG\r\n\x1a\n\0\0\0\x0dIHDR".to_vec();
        png.extend([0, 0, 3, 132, 0, 0, 1, 244]);
        assert_eq!(png_size(&png), Some((900, 500)));
        let jpeg = [0xFF, 0xD8, 0xFF, 0xE0, 0, 4, 1, 1, 0xFF, 0xC2, 0, 11, 8, 0, 100, 0, 200, 1];
        assert_eq!(jpeg_size(&jpeg), Some((200, 100)));
        assert_eq!(jpeg_size(&jpeg[..12]), None);
    }
}
