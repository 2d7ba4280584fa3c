//! Full-width and compatibility characters, as some keyboards type them, in the plain ones that the language reads.

use std::ops::Range;

use super::fault::Fault;

/// A text in plain characters, and where each of its bytes stood in what was typed.
pub(super) struct Folded {
    pub text: String,
    /// One more than the text has bytes: the last is the end.
    places: Vec<usize>,
}

/// Characters that stand for several, or that look like another; the compatibility decompositions of Unicode for units.
const STANDS_FOR: &[(char, &str)] = &[
    ('\u{3000}', " "),
    ('\u{2010}', "-"),
    ('\u{2011}', "-"),
    ('\u{fe63}', "-"),
    ('º', "°"),
    ('˚', "°"),
    ('\u{2215}', "/"),
    ('\u{2217}', "*"),
    ('\u{2219}', "·"),
    ('\u{212a}', "K"),
    ('℃', "°C"),
    ('℉', "°F"),
    ('㎀', "pA"),
    ('㎁', "nA"),
    ('㎂', "µA"),
    ('㎃', "mA"),
    ('㎄', "kA"),
    ('㎊', "pF"),
    ('㎋', "nF"),
    ('㎌', "µF"),
    ('㎍', "µg"),
    ('㎎', "mg"),
    ('㎏', "kg"),
    ('㎐', "Hz"),
    ('㎑', "kHz"),
    ('㎒', "MHz"),
    ('㎖', "mL"),
    ('㎗', "dL"),
    ('㎘', "kL"),
    ('㎛', "µm"),
    ('㎜', "mm"),
    ('㎝', "cm"),
    ('㎞', "km"),
    ('㎟', "mm²"),
    ('㎠', "cm²"),
    ('㎡', "m²"),
    ('㎢', "km²"),
    ('㎣', "mm³"),
    ('㎤', "cm³"),
    ('㎥', "m³"),
    ('㎧', "m/s"),
    ('㎨', "m/s²"),
    ('㎩', "Pa"),
    ('㎪', "kPa"),
    ('㎫', "MPa"),
    ('㎭', "rad"),
    ('㎮', "rad/s"),
    ('㎯', "rad/s²"),
    ('㎲', "µs"),
    ('㎳', "ms"),
    ('㎶', "µV"),
    ('㎷', "mV"),
    ('㎸', "kV"),
    ('㎼', "µW"),
    ('㎽', "mW"),
    ('㎾', "kW"),
    ('㎿', "MW"),
    ('㏀', "kΩ"),
    ('㏁', "MΩ"),
    ('㏄', "cm³"),
];

/// The text in plain characters; `None` where it is already.
pub(super) fn fold(text: &str) -> Option<Folded> {
    if text.is_ascii() || !text.chars().any(|c| folded(c).is_some()) {
        return None;
    }
    let mut plain = Folded { text: String::with_capacity(text.len()), places: Vec::new() };
    for (at, c) in text.char_indices() {
        match folded(c) {
            Some(Plain::One(other)) => plain.text.push(other),
            Some(Plain::Several(others)) => plain.text.push_str(others),
            None => plain.text.push(c),
        }
        plain.places.resize(plain.text.len(), at);
    }
    plain.places.push(text.len());
    Some(plain)
}

enum Plain {
    One(char),
    Several(&'static str),
}

fn folded(c: char) -> Option<Plain> {
    // The full-width forms of what ASCII prints, in its order.
    if ('\u{ff01}'..='\u{ff5e}').contains(&c) {
        return char::from_u32(u32::from(c) - 0xff01 + 0x21).map(Plain::One);
    }
    let known = STANDS_FOR.iter().find(|(typed, _)| *typed == c);
    known.map(|(_, plain)| Plain::Several(plain))
}

impl Folded {
    /// Where a stretch of the plain text stood.
    pub(super) fn place(&self, at: &Range<usize>) -> Range<usize> {
        let of = |at: usize| self.places.get(at).or(self.places.last()).copied().unwrap_or(0);
        of(at.start)..of(at.end).max(of(at.start))
    }

    /// A fault of the plain text, laid over what was typed.
    pub(super) fn fault(&self, fault: Fault) -> Fault {
        let at = self.place(&fault.at);
        fault.over(at)
    }
}

#[cfg(test)]
mod tests {
    use super::fold;

    #[test]
    fn places_are_those_of_what_was_typed() {
        let plain = fold("１２　㎏ x").expect("wide characters");
        assert_eq!(plain.text, "12 kg x");
        assert_eq!(plain.place(&(0..2)), 0..6);
        assert_eq!(plain.place(&(3..5)), 9..12);
        assert_eq!(plain.place(&(6..7)), 13..14);
        assert!(fold("64 kg ± 1 µm").is_none());
    }
}
