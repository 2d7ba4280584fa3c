//! Text with its looks becomes lines no wider than they may be; what can't be broken is broken by force.

use textwrap::core::Fragment;
use textwrap::wrap_algorithms::{Penalties, wrap_first_fit, wrap_optimal_fit};
use unicode_linebreak::{BreakOpportunity, linebreaks};

use super::inline::{Inline, Look};
use super::mark::{Area, Link, Mark, Part, Words};
use super::setting::Setter;
use super::symbols::draw;
use super::voice::Voice;

/// Up to how many words a paragraph is broken for even lines; beyond, line by line.
const EVEN_UP_TO: usize = 4000;

/// Up to so many bytes what ends in a slash is a unit and no address.
const SHORT: usize = 12;

/// Longer words, in bytes, are names of files, addresses and check sums.
const LONGEST: usize = 40;

/// Text that is measured and ready to be broken.
#[derive(Clone, Debug)]
pub(crate) struct Measured {
    pub(crate) inline: Inline,
    pub(crate) voice: Voice,
    words: Vec<Word>,
    /// The width of the longest line when nothing is broken.
    pub(crate) widest: f64,
    /// The width of the widest word.
    pub(crate) narrowest: f64,
}

/// A stretch of text between two places where a line may break.
#[derive(Clone, Copy, Debug)]
struct Word {
    start: usize,
    /// Where its letters end and its spaces begin.
    end: usize,
    width: f64,
    space: f64,
    /// The hyphen that a soft hyphen shows at the end of a line.
    hyphen: f64,
    /// The line ends here.
    last: bool,
}

impl Fragment for Word {
    fn width(&self) -> f64 {
        self.width
    }

    fn whitespace_width(&self) -> f64 {
        self.space
    }

    fn penalty_width(&self) -> f64 {
        self.hyphen
    }
}

/// A line of text, its marks from x 0 and with the baseline at y 0.
#[derive(Clone, Debug, Default)]
pub(crate) struct Line {
    pub(crate) marks: Vec<Mark>,
    pub(crate) links: Vec<Link>,
    pub(crate) width: f64,
}

impl Measured {
    pub(crate) fn new(setter: &mut Setter, inline: Inline, voice: Voice) -> Measured {
        let mut words = Vec::new();
        let (mut start, mut line, mut widest, mut narrowest) = (0, 0.0, 0.0_f64, 0.0_f64);
        for (next, kind) in linebreaks(&inline.text) {
            // A unit stays whole: `km/h`. A long address may part at its slashes.
            let slashed = inline.text[start..next].ends_with('/') && next - start <= SHORT;
            if slashed && kind == BreakOpportunity::Allowed {
                continue;
            }
            let stretch = &inline.text[start..next];
            let end = start + stretch.trim_end_matches(['\n', ' ', '\u{2009}', '\u{3000}']).len();
            let soft = inline.text[start..end].ends_with('\u{ad}');
            let word = Word {
                start,
                end,
                width: width(setter, &inline, start, end),
                space: width(setter, &inline, end, next),
                hyphen: if soft {
                    voice.size * f64::from(setter.width(voice.font(), "-")) / 1000.0
                } else {
                    0.0
                },
                last: kind == BreakOpportunity::Mandatory,
            };
            widest = widest.max(line + word.width);
            // A word that is no word may be cut: a column need not be as wide.
            let share = if end - start > LONGEST { 0.25 } else { 1.0 };
            narrowest = narrowest.max(share * word.width + word.hyphen);
            line = if word.last { 0.0 } else { line + word.width + word.space };
            words.push(word);
            start = next;
        }
        Measured { inline, voice, words, widest, narrowest }
    }

    /// The width of the text up to a byte.
    pub(crate) fn width_to(&self, setter: &mut Setter, byte: usize) -> f64 {
        width(setter, &self.inline, 0, byte)
    }

    /// The lines, each at most as wide as `room` and with at least one character; at least one line.
    pub(crate) fn lines(&self, setter: &mut Setter, room: f64) -> Vec<Line> {
        let room = room.max(1.0);
        let mut lines = Vec::new();
        for paragraph in self.words.split_inclusive(|word| word.last) {
            let broken;
            let words = if paragraph.iter().any(|word| word.width > room) {
                broken = force(setter, &self.inline, paragraph, room);
                &broken
            } else {
                paragraph
            };
            for line in wrap(words, room, self.voice.even) {
                lines.push(self.line(setter, line));
            }
        }
        if lines.is_empty() {
            lines.push(Line::default());
        }
        lines
    }

    fn line(&self, setter: &mut Setter, words: &[Word]) -> Line {
        let (Some(first), Some(last)) = (words.first(), words.last()) else { return Line::default() };
        let mut line = Line::default();
        for (start, end, look) in stretches(&self.inline, first.start, last.end) {
            self.set(setter, &mut line, (&self.inline.text[start..end], look));
        }
        if last.hyphen > 0.0 {
            let look = stretches(&self.inline, first.start, last.end).last().map(|found| found.2);
            if let Some(look) = look {
                self.set(setter, &mut line, ("-", look));
            }
        }
        // A space at the end keeps the words of two lines apart when the text is copied out.
        if let Some(Mark::Text(words)) =
            line.marks.iter_mut().rev().find(|mark| matches!(mark, Mark::Text(_)))
        {
            match words.parts.last_mut() {
                Some(Part::Text(text)) => text.push(' '),
                _ => words.parts.push(Part::Text(String::from(' '))),
            }
        }
        line
    }

    fn set(&self, setter: &mut Setter, line: &mut Line, (text, look): (&str, Look)) {
        let start = line.width;
        if let Some(symbol) = look.symbol {
            for mut mark in draw(symbol, look.size, look.colour) {
                mark.shift(line.width, 0.0);
                line.marks.push(mark);
            }
            line.width += symbol.width(look.size);
        } else {
            for piece in setter.set(look.font, text) {
                let width = f64::from(piece.width) * look.size / 1000.0;
                line.marks.push(Mark::Text(Words {
                    x: line.width,
                    baseline: -look.rise,
                    font: piece.font,
                    size: look.size,
                    colour: look.colour,
                    parts: piece.parts,
                    width,
                }));
                line.width += width;
            }
        }
        if look.struck {
            let height = -look.rise - look.size * 0.26;
            line.marks.push(Mark::hairline((start, height), (line.width, height), look.colour));
        }
        if let Some(target) = look.link.and_then(|link| self.inline.links.get(link)) {
            let area =
                Area { left: start, top: -look.size * 0.9, right: line.width, bottom: look.size * 0.3 };
            match line.links.last_mut() {
                Some(last) if last.target == *target && (last.area.right - start).abs() < 0.01 => {
                    last.area.right = line.width;
                }
                _ => line.links.push(Link { area, target: target.clone() }),
            }
        }
    }
}

fn wrap(words: &[Word], room: f64, even: bool) -> Vec<&[Word]> {
    if even && words.len() <= EVEN_UP_TO {
        let penalties = Penalties { nline_penalty: 400, ..Penalties::new() };
        if let Ok(lines) = wrap_optimal_fit(words, &[room], &penalties) {
            let fits = |line: &&[Word]| length(line) <= room + 0.01;
            if lines.iter().all(fits) {
                return lines;
            }
        }
    }
    wrap_first_fit(words, &[room])
}

fn length(line: &[Word]) -> f64 {
    let spaces: f64 = line.iter().rev().skip(1).map(|word| word.space).sum();
    line.iter().map(|word| word.width).sum::<f64>() + spaces + line.last().map_or(0.0, |word| word.hyphen)
}

/// The stretches of a part of the text: start, end, look.
fn stretches(
    inline: &Inline,
    from: usize,
    to: usize,
) -> impl DoubleEndedIterator<Item = (usize, usize, Look)> {
    let first = inline.stretches.partition_point(|stretch| stretch.end <= from);
    let last = inline.stretches.partition_point(|stretch| stretch.end < to);
    let count = inline.stretches.len();
    (first..(last + 1).min(count)).filter_map(move |index| {
        let begins = if index == 0 { 0 } else { inline.stretches[index - 1].end };
        let (start, end) = (begins.max(from), inline.stretches[index].end.min(to));
        (start < end).then(|| (start, end, inline.stretches[index].look))
    })
}

fn width(setter: &mut Setter, inline: &Inline, from: usize, to: usize) -> f64 {
    stretches(inline, from, to)
        .map(|(start, end, look)| match look.symbol {
            Some(symbol) => symbol.width(look.size),
            None => f64::from(setter.width(look.font, &inline.text[start..end])) * look.size / 1000.0,
        })
        .sum()
}

/// Breaks words that are wider than the room: after a mark of punctuation in its last third, else anywhere.
fn force(setter: &mut Setter, inline: &Inline, words: &[Word], room: f64) -> Vec<Word> {
    let mut pieces = Vec::new();
    for word in words {
        let mut rest = *word;
        while rest.width > room {
            let cut = cut(setter, inline, &rest, room);
            if cut >= rest.end {
                break;
            }
            let width_of = |setter: &mut Setter, from, to| width(setter, inline, from, to);
            pieces.push(Word {
                end: cut,
                width: width_of(setter, rest.start, cut),
                space: 0.0,
                hyphen: 0.0,
                last: false,
                ..rest
            });
            // Far from its end the exact rest need not be known; measuring it each time would take too long.
            let left = rest.width - width_of(setter, rest.start, cut);
            rest.start = cut;
            rest.width = if left > 3.0 * room { left } else { width_of(setter, cut, rest.end) };
        }
        pieces.push(rest);
    }
    pieces
}

/// Where a too wide word is cut so that its first part fits; after one character at least.
fn cut(setter: &mut Setter, inline: &Inline, word: &Word, room: f64) -> usize {
    let (mut used, mut fits, mut nice) = (0.0, word.start, None);
    for (start, end, look) in stretches(inline, word.start, word.end) {
        for (index, character) in inline.text[start..end].char_indices() {
            let at = start + index;
            let next = at + character.len_utf8();
            let step = width(setter, inline, at, next);
            // Kerning may differ a little from the sum of the letters.
            let kerning = look.size * 0.02;
            if used + step + kerning > room && fits > word.start {
                return nice.unwrap_or(fits);
            }
            used += step;
            if step > 0.0 || fits == word.start {
                fits = next;
                if used > room * 0.66 && "/-_.,:;?&=+)".contains(character) {
                    nice = Some(next);
                }
            } else if fits == at {
                // A mark without width stays with the letter before it.
                fits = next;
            }
        }
    }
    nice.filter(|nice| *nice < word.end).unwrap_or(fits)
}

impl Line {
    pub(crate) fn shift(&mut self, x: f64, y: f64) {
        for mark in &mut self.marks {
            mark.shift(x, y);
        }
        for link in &mut self.links {
            link.area = link.area.shifted(x, y);
        }
    }
}
