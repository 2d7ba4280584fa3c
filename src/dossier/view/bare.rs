//! Pictures without what cameras write beside them: place, owner, time.

/// The chunks of a PNG that it is shown by; all others, and what follows its end, may tell of the picture.
const SHOWN: [&[u8; 4]; 12] = [
    b"IHDR", b"PLTE", b"IDAT", b"IEND", b"tRNS", b"gAMA", b"cHRM", b"sRGB", b"iCCP", b"sBIT", b"pHYs",
    b"bKGD",
];

/// A PNG of nothing but what it is shown by; `None` where its chunks can't be followed to its end.
pub(super) fn png(bytes: &[u8]) -> Option<Vec<u8>> {
    let (signature, mut rest) = bytes.split_first_chunk::<8>()?;
    let mut bare = signature.to_vec();
    loop {
        let (length, kind) = rest.first_chunk::<4>().zip(rest.get(4..8))?;
        // Length, kind and check sum stand beside the data.
        let whole = (u32::from_be_bytes(*length) as usize).saturating_add(12);
        let chunk = rest.get(..whole)?;
        if SHOWN.iter().any(|shown| shown.as_slice() == kind) {
            bare.extend_from_slice(chunk);
        }
        if kind == b"IEND" {
            return Some(bare);
        }
        rest = &rest[whole..];
    }
}

/// A JPEG without its application's segments but those that say how its colours are meant, without comments, and without
/// what follows its end: some cameras put a film or another picture there. `None` where its segments can't be followed.
pub(super) fn jpeg(bytes: &[u8]) -> Option<Vec<u8>> {
    let mut bare = bytes.get(..2)?.to_vec();
    let mut rest = &bytes[2..];
    loop {
        let [0xFF, marker] = *rest.first_chunk::<2>()? else { return None };
        if marker == END {
            bare.extend_from_slice(&rest[..2]);
            return Some(bare);
        }
        let length = usize::from(u16::from_be_bytes([*rest.get(2)?, *rest.get(3)?])) + 2;
        let whole = if marker == SCAN { length + scan(rest.get(length..)?) } else { length };
        let segment = rest.get(..whole)?;
        let is_kept = match marker {
            // JFIF, a colour profile, Adobe's transform.
            0xE0 | 0xEE => true,
            0xE2 => segment[4..].starts_with(b"ICC_PROFILE\0"),
            0xE1..=0xEF | 0xFE => false,
            _ => true,
        };
        if is_kept {
            bare.extend_from_slice(segment);
        }
        rest = &rest[whole..];
    }
}

const SCAN: u8 = 0xDA;
const END: u8 = 0xD9;

/// How long what is packed after a scan's head is: up to the next marker that is neither packed nor a restart.
fn scan(packed: &[u8]) -> usize {
    let marker = |pair: &[u8]| pair[0] == 0xFF && !matches!(pair[1], 0x00 | 0xD0..=0xD7 | 0xFF);
    packed.windows(2).position(marker).unwrap_or(packed.len())
}

#[cfg(test)]
mod tests {
    use super::{jpeg, png};

    const START: &[u8] = b"\xFF\xD8";
    const TOLD: &[u8] = b"\xFF\xE1\x00\x08Exif!!";

    #[test]
    fn a_jpeg_loses_what_the_camera_wrote_and_keeps_the_rest() {
        let kept = b"\xFF\xE0\x00\x04ab\xFF\xDA\x00\x02data\xFF\x00\xFF\xD0data\xFF\xD9";
        assert_eq!(jpeg(&[START, TOLD, kept].concat()), Some([START, kept].concat()));
        assert_eq!(jpeg(b"\xFF\xD8\xFF\xE1\xFF\xFFshort"), None);
        // A scan that breaks off has no end to follow it to.
        assert_eq!(jpeg(&[START, &kept[..20]].concat()), None);
    }

    #[test]
    fn a_jpeg_loses_what_stands_between_its_scans_and_after_its_end() {
        let profile = b"\xFF\xE2\x00\x0EICC_PROFILE\0";
        let [first, second] = [b"\xFF\xDA\x00\x02one".as_slice(), b"\xFF\xDA\x00\x02two\xFF\xD9"];
        let other = [START, TOLD, b"a picture and a film with the place\xFF\xD9"].concat();
        let whole = [START, profile, b"\xFF\xE2\x00\x06MPF\0", first, TOLD, second, &other].concat();
        assert_eq!(jpeg(&whole), Some([START, profile, first, second].concat()));
    }

    #[test]
    fn a_png_loses_what_it_is_not_shown_by_and_what_follows_its_end() {
        let chunk =
            |kind: &[u8], data: &[u8]| [&(data.len() as u32).to_be_bytes()[..], kind, data, b"sum!"].concat();
        let signature = b"\x89PNG\r\n\x1a\n".to_vec();
        let (pixels, end) = (chunk(b"IDAT", b"pixels"), chunk(b"IEND", b""));
        let told = [chunk(b"eXIf", b"where"), chunk(b"caBX", b"who and where")].concat();
        let after = b"the place, after the end";
        let whole = [&signature, &told, &pixels, &end, after.as_slice()].concat();
        assert_eq!(png(&whole), Some([&signature[..], &pixels, &end].concat()));
        assert_eq!(png(&[&signature, &told, &pixels[..]].concat()), None, "without an end");
    }
}
