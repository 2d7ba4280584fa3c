//! The colours of the printed page: paper, ink, one quiet accent, and the colour-blind-safe set for verdicts.

use super::super::drawing::Ink;
use super::super::piece::Mark;

/// Red, green and blue, 0 to 255.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Colour(pub(crate) u8, pub(crate) u8, pub(crate) u8);

pub(crate) const INK: Colour = Colour(0x1c, 0x1d, 0x20);
pub(crate) const QUIET: Colour = Colour(0x5d, 0x63, 0x6b);
pub(crate) const ACCENT: Colour = Colour(0x24, 0x4c, 0x66);
/// Hairlines.
pub(crate) const RULE: Colour = Colour(0x9a, 0xa1, 0xa9);
/// A light tint of the accent.
pub(crate) const TINT: Colour = Colour(0xdd, 0xe7, 0xee);
/// What typed text stands on.
pub(crate) const WASH: Colour = Colour(0xf4, 0xf5, 0xf6);
pub(crate) const PAPER: Colour = Colour(0xff, 0xff, 0xff);
/// The yellow and the black of a warning sign (ISO 3864).
pub(crate) const WARNING: Colour = Colour(0xf9, 0xa8, 0x00);
pub(crate) const BLACK: Colour = Colour(0, 0, 0);
/// Bluish green, orange, vermilion (Okabe and Ito) and grey.
pub(crate) const MEETS: Colour = Colour(0x00, 0x9e, 0x73);
pub(crate) const CLOSE: Colour = Colour(0xe6, 0x9f, 0x00);
pub(crate) const FAILS: Colour = Colour(0xd5, 0x5e, 0x00);
pub(crate) const OPEN: Colour = Colour(0x7a, 0x7f, 0x86);

impl From<Ink> for Colour {
    fn from(ink: Ink) -> Colour {
        match ink {
            Ink::Black => INK,
            Ink::Quiet => QUIET,
            Ink::Accent => ACCENT,
            Ink::Meets => MEETS,
            Ink::Close => CLOSE,
            Ink::Fails => FAILS,
            Ink::Tint => TINT,
            Ink::Paper => PAPER,
        }
    }
}

impl From<Mark> for Colour {
    fn from(mark: Mark) -> Colour {
        match mark {
            Mark::Meets => MEETS,
            Mark::Close => CLOSE,
            Mark::Fails => FAILS,
            Mark::Open => OPEN,
        }
    }
}
