//! Objects that the page writer made (fonts, pictures, the catalogue) as the bytes that stand in the file.

use std::io::Write;

use lopdf::{Dictionary, Object, StringFormat};

use super::file::Id;

/// Writes an object that is no stream; each reference leads to what `number` says of it.
pub(crate) fn object(out: &mut Vec<u8>, object: &Object, number: &impl Fn(u32) -> Option<Id>) {
    match object {
        Object::Null | Object::Stream(_) => out.extend_from_slice(b" null"),
        Object::Boolean(value) => {
            let _ = write!(out, " {value}");
        }
        Object::Integer(value) => {
            let _ = write!(out, " {value}");
        }
        Object::Real(value) => {
            let _ = write!(out, " {value}");
        }
        Object::Name(letters) => name(out, letters),
        Object::String(bytes, StringFormat::Literal) => literal(out, bytes),
        Object::String(bytes, StringFormat::Hexadecimal) => {
            out.push(b'<');
            for byte in bytes {
                let _ = write!(out, "{byte:02X}");
            }
            out.push(b'>');
        }
        Object::Array(items) => {
            out.push(b'[');
            for item in items {
                self::object(out, item, number);
            }
            out.push(b']');
        }
        Object::Dictionary(dict) => {
            out.extend_from_slice(b"<<");
            entries(out, dict, number);
            out.extend_from_slice(b">>");
        }
        Object::Reference((from, _)) => match number(*from) {
            Some(id) => {
                let _ = write!(out, " {} 0 R", id.0);
            }
            None => out.extend_from_slice(b" null"),
        },
    }
}

/// The entries of a dictionary.
pub(crate) fn entries(out: &mut Vec<u8>, dict: &Dictionary, number: &impl Fn(u32) -> Option<Id>) {
    for (key, value) in dict {
        name(out, key);
        object(out, value, number);
    }
}

fn name(out: &mut Vec<u8>, letters: &[u8]) {
    out.push(b'/');
    for letter in letters {
        if letter.is_ascii_graphic() && !b"()<>[]{}/%#".contains(letter) {
            out.push(*letter);
        } else {
            let _ = write!(out, "#{letter:02X}");
        }
    }
}

/// A string in parentheses; any byte may stand in it.
pub(crate) fn literal(out: &mut Vec<u8>, bytes: &[u8]) {
    out.push(b'(');
    for byte in bytes {
        push_byte(out, *byte);
    }
    out.push(b')');
}

/// One byte of a string in parentheses.
pub(crate) fn push_byte(out: &mut Vec<u8>, byte: u8) {
    match byte {
        b'(' | b')' | b'\\' => out.extend_from_slice(&[b'\\', byte]),
        // A bare carriage return would be read as a line feed.
        b'\r' => out.extend_from_slice(b"\\r"),
        _ => out.push(byte),
    }
}

/// A text that is read outside the pages: ASCII as it is, anything else as UTF-16 with its mark.
pub(crate) fn text(out: &mut Vec<u8>, text: &str) {
    if text.is_ascii() {
        return literal(out, text.as_bytes());
    }
    let units = std::iter::once(0xfeff).chain(text.encode_utf16());
    let bytes: Vec<u8> = units.flat_map(u16::to_be_bytes).collect();
    literal(out, &bytes);
}

/// A length to hundredths of a point: finer than any printer, and short in the file.
pub(crate) fn length(out: &mut Vec<u8>, value: f64) {
    hundredths(out, cents(value));
}

/// A length in hundredths of a point.
pub(crate) fn cents(value: f64) -> i64 {
    (value * 100.0).round() as i64
}

pub(crate) fn hundredths(out: &mut Vec<u8>, value: i64) {
    if value < 0 {
        out.push(b'-');
    }
    let value = value.unsigned_abs();
    integer(out, value / 100);
    let rest = (value % 100) as u8;
    if rest > 0 {
        out.extend_from_slice(&[b'.', b'0' + rest / 10]);
        if !rest.is_multiple_of(10) {
            out.push(b'0' + rest % 10);
        }
    }
}

/// A whole number, written without the machinery of formats: a page has thousands.
pub(crate) fn integer(out: &mut Vec<u8>, mut value: u64) {
    let mut digits = [0; 20];
    let mut at = digits.len();
    loop {
        at -= 1;
        digits[at] = b'0' + (value % 10) as u8;
        value /= 10;
        if value == 0 {
            break;
        }
    }
    out.extend_from_slice(&digits[at..]);
}

/// `12 0 R`.
pub(crate) fn reference(out: &mut Vec<u8>, id: Id) {
    integer(out, id.0.into());
    out.extend_from_slice(b" 0 R");
}

#[cfg(test)]
mod tests {
    use super::{hundredths, literal, text};

    #[track_caller]
    fn check(write: impl Fn(&mut Vec<u8>), expected: &[u8]) {
        let mut out = Vec::new();
        write(&mut out);
        assert_eq!(out, expected, "{}", String::from_utf8_lossy(&out));
    }

    #[test]
    fn hundredths_have_no_idle_zeros() {
        check(|out| hundredths(out, 12_345), b"123.45");
        check(|out| hundredths(out, 12_340), b"123.4");
        check(|out| hundredths(out, 12_300), b"123");
        check(|out| hundredths(out, -5), b"-0.05");
        check(|out| hundredths(out, 0), b"0");
    }

    #[test]
    fn strings_hold_any_byte() {
        check(|out| literal(out, b"a(b)\\\r\n\0"), b"(a\\(b\\)\\\\\\r\n\0)");
        check(|out| text(out, "plain"), b"(plain)");
        check(|out| text(out, "\u{3a9}"), b"(\xfe\xff\x03\xa9)");
    }
}
