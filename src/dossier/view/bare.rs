//! Pictures without what cameras write beside them: place, owner, time.

/// The chunks of a PNG that tell of the picture and are not needed to show it.
const TOLD: [&[u8; 4]; 5] = [b"eXIf", b"tEXt", b"zTXt", b"iTXt", b"tIME"];

/// A PNG without its texts; as it came where its chunks can't be followed.
pub(super) fn png(bytes: Vec<u8>) -> Vec<u8> {
    const SIGNATURE: usize = 8;
    let mut bare = bytes[..SIGNATURE.min(bytes.len())].to_vec();
    let mut rest = bytes.get(SIGNATURE..).unwrap_or_default();
    while !rest.is_empty() {
        let Some((length, kind)) = rest.first_chunk::<4>().zip(rest.get(4..8)) else { return bytes };
        // Length, kind and check sum stand beside the data.
        let whole = (u32::from_be_bytes(*length) as usize).saturating_add(12);
        let Some(chunk) = rest.get(..whole) else { return bytes };
        if !TOLD.iter().any(|told| told.as_slice() == kind) {
            bare.extend_from_slice(chunk);
        }
        rest = &rest[whole..];
    }
    bare
}

/// A JPEG without its application's segments but those that say how its colours are meant, and without comments; `None`
/// where its segments can't be followed.
pub(super) fn jpeg(bytes: &[u8]) -> Option<Vec<u8>> {
    let mut bare = bytes.get(..2)?.to_vec();
    let mut rest = &bytes[2..];
    loop {
        let [0xFF, marker] = *rest.first_chunk::<2>()? else { return None };
        // From the scan on nothing is told.
        if marker == 0xDA {
            bare.extend_from_slice(rest);
            return Some(bare);
        }
        let length = usize::from(u16::from_be_bytes([*rest.get(2)?, *rest.get(3)?]));
        let segment = rest.get(..length + 2)?;
        // JFIF, colour profile and Adobe's transform stay.
        let is_told = matches!(marker, 0xE1 | 0xE3..=0xED | 0xEF | 0xFE);
        if !is_told {
            bare.extend_from_slice(segment);
        }
        rest = &rest[length + 2..];
    }
}

#[cfg(test)]
mod tests {
    use super::{jpeg, png};

    #[test]
    fn a_jpeg_loses_what_the_camera_wrote_and_keeps_the_rest() {
        let told = b"\xFF\xE1\x00\x08Exif!!";
        let kept = b"\xFF\xE0\x00\x04ab\xFF\xDA\x00\x02data";
        let whole = [b"\xFF\xD8".as_slice(), told, kept].concat();
        assert_eq!(jpeg(&whole), Some([b"\xFF\xD8".as_slice(), kept].concat()));
        assert_eq!(jpeg(b"\xFF\xD8\xFF\xE1\xFF\xFFshort"), None);
    }

    #[test]
    fn a_png_loses_its_texts() {
        let chunk =
            |kind: &[u8], data: &[u8]| [&(data.len() as u32).to_be_bytes()[..], kind, data, b"sum!"].concat();
        let signature = b"\x89PNG\r\n\x1a\n".to_vec();
        let whole = [signature.clone(), chunk(b"eXIf", b"where"), chunk(b"IDAT", b"pixels")].concat();
        assert_eq!(png(whole), [signature, chunk(b"IDAT", b"pixels")].concat());
    }
}
