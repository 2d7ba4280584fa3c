//! Bytes as base64 text (RFC 4648, section 4), for data addresses and hashes.

const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";

/// Padded, in one line.
pub(super) fn encode(bytes: &[u8]) -> String {
    let mut text = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for group in bytes.chunks(3) {
        let at = |index: usize| u32::from(group.get(index).copied().unwrap_or(0));
        let bits = at(0) << 16 | at(1) << 8 | at(2);
        for place in 0..4 {
            let letter = LETTERS[(bits >> (18 - 6 * place)) as usize & 63];
            text.push(if place > group.len() { '=' } else { char::from(letter) });
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::encode;

    #[test]
    fn the_examples_of_the_standard_come_out() {
        let encoded = ["", "f", "fo", "foo", "foob", "fooba", "foobar"].map(|text| encode(text.as_bytes()));
        assert_eq!(encoded, ["", "Zg==", "Zm8=", "Zm9v", "Zm9vYg==", "Zm9vYmE=", "Zm9vYmFy"]);
        assert_eq!(encode(&[0xfb, 0xff]), "+/8=");
    }
}
