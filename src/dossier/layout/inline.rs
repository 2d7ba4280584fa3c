//! Rich text becomes one string with stretches that say how each part is set.

use super::super::piece::{Face, Mark, Rich, Run, Target};
use super::fonts::{Family, Font};
use super::palette::{ACCENT, Colour, INK, QUIET};
use super::voice::Voice;

/// What is read is never smaller.
const LEAST: f64 = 7.5;

/// What stands in the string where a drawn thing stands in the line; a letter for line breaking.
const PLACE: char = '\u{e000}';

/// A small thing that is drawn in a line of text.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Symbol {
    Verdict(Mark),
    Margin(f64),
    Ticked,
    Unticked,
    /// A box to write in.
    Blank,
}

impl Symbol {
    /// Its width, at a size of text.
    pub(crate) fn width(self, size: f64) -> f64 {
        match self {
            Symbol::Verdict(_) => size * 0.9,
            Symbol::Ticked | Symbol::Unticked => size * 0.9,
            Symbol::Margin(_) => size * 5.4,
            Symbol::Blank => size * 7.0,
        }
    }
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Look {
    pub(crate) font: Font,
    pub(crate) size: f64,
    pub(crate) colour: Colour,
    /// How far the baseline is lifted.
    pub(crate) rise: f64,
    pub(crate) struck: bool,
    /// The place of its target in `Inline::links`.
    pub(crate) link: Option<usize>,
    pub(crate) symbol: Option<Symbol>,
}

/// How the text is set up to the byte `end`.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Stretch {
    pub(crate) end: usize,
    pub(crate) look: Look,
}

#[derive(Clone, Debug, Default)]
pub(crate) struct Inline {
    pub(crate) text: String,
    /// In order and gapless: each begins where the one before it ends.
    pub(crate) stretches: Vec<Stretch>,
    pub(crate) links: Vec<Target>,
}

impl Inline {
    pub(crate) fn rich(rich: &Rich, voice: Voice) -> Inline {
        let mut inline = Inline::default();
        inline.add(rich, voice, None);
        inline
    }

    pub(crate) fn plain(text: &str, voice: Voice) -> Inline {
        let mut inline = Inline::default();
        inline.push(text, look(voice, Face::Plain));
        inline
    }

    pub(crate) fn symbol(&mut self, symbol: Symbol, voice: Voice) {
        let look = Look { symbol: Some(symbol), ..look(voice, Face::Plain) };
        self.text.push(PLACE);
        self.end(look);
    }

    pub(crate) fn push(&mut self, text: &str, look: Look) {
        // Line ends and tabs of running text are spaces; other control characters have no place on paper.
        let odd = |character: char| character.is_control() || matches!(character, '\u{2028}' | '\u{2029}');
        if text.chars().any(odd) {
            let shown = text.chars().filter_map(|character| match character {
                '\n' | '\r' | '\t' | '\u{b}' | '\u{c}' | '\u{85}' | '\u{2028}' | '\u{2029}' => Some(' '),
                _ if character.is_control() => None,
                _ => Some(character),
            });
            self.text.extend(shown);
        } else {
            self.text.push_str(text);
        }
        self.end(look);
    }

    fn end(&mut self, look: Look) {
        let end = self.text.len();
        match self.stretches.last_mut() {
            Some(last) if last.look == look && look.symbol.is_none() => last.end = end,
            _ => self.stretches.push(Stretch { end, look }),
        }
    }

    /// Goes on with another text, in a colour of its own where one is given.
    pub(crate) fn append(&mut self, other: Inline, colour: Option<Colour>) {
        let (text, links) = (self.text.len(), self.links.len());
        self.text.push_str(&other.text);
        self.links.extend(other.links);
        self.stretches.extend(other.stretches.into_iter().map(|Stretch { end, look }| {
            let link = look.link.map(|link| link + links);
            Stretch { end: end + text, look: Look { link, colour: colour.unwrap_or(look.colour), ..look } }
        }));
    }

    pub(crate) fn add(&mut self, rich: &Rich, voice: Voice, link: Option<usize>) {
        let linked = |look: Look| match link {
            Some(_) => Look { link, colour: ACCENT, ..look },
            None => look,
        };
        for run in &rich.0 {
            match run {
                Run::Text { text, face } => self.push(text, linked(look(voice, *face))),
                Run::Link { text, target } => {
                    self.links.push(target.clone());
                    let link = self.links.len() - 1;
                    self.add(text, voice, Some(link));
                }
                Run::Blank => {
                    self.text.push(PLACE);
                    self.end(Look { symbol: Some(Symbol::Blank), ..look(voice, Face::Plain) });
                }
                Run::Verdict { verdict } => {
                    self.text.push(PLACE);
                    self.end(linked(Look {
                        symbol: Some(Symbol::Verdict(*verdict)),
                        ..look(voice, Face::Plain)
                    }));
                    let face = if *verdict == Mark::Fails { Face::Strong } else { Face::Plain };
                    let word = Look { colour: INK, ..look(voice, face) };
                    self.push(&format!("\u{a0}{}", verdict.word()), linked(word));
                }
                Run::Margin { share } => {
                    let share = if share.is_finite() { share.clamp(-1.0, 1.0) } else { 0.0 };
                    self.text.push(PLACE);
                    self.end(linked(Look {
                        symbol: Some(Symbol::Margin(share)),
                        ..look(voice, Face::Plain)
                    }));
                }
                Run::Break => {
                    self.text.push('\n');
                    self.end(look(voice, Face::Plain));
                }
            }
        }
    }
}

/// A face of the text as the voice speaks it.
pub(crate) fn look(voice: Voice, face: Face) -> Look {
    let plain = Look {
        font: voice.font(),
        size: voice.size,
        colour: voice.colour,
        rise: 0.0,
        struck: false,
        link: None,
        symbol: None,
    };
    let set = |bold: bool, italic: bool| Font::pick(voice.family, voice.bold || bold, voice.italic != italic);
    match face {
        Face::Plain => plain,
        Face::Strong => Look { font: set(true, false), ..plain },
        Face::Emphasis => Look { font: set(false, true), ..plain },
        Face::StrongEmphasis => Look { font: set(true, true), ..plain },
        // The mono face is wide and large on its body: a little smaller it stands level with the text.
        Face::Code => Look {
            font: Font::pick(Family::Mono, voice.bold, voice.italic),
            size: (voice.size * 0.88).max(LEAST.min(voice.size)),
            ..plain
        },
        Face::Strike => Look { struck: true, ..plain },
        Face::Sub => Look { size: voice.size * 0.68, rise: -voice.size * 0.16, ..plain },
        Face::Sup => Look { size: voice.size * 0.68, rise: voice.size * 0.34, ..plain },
        Face::Quiet => Look { size: (voice.size * 0.86).max(LEAST.min(voice.size)), colour: QUIET, ..plain },
    }
}
