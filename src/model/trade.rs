//! What a trade study asks, and what came of its candidates.

use super::condition::{Condition, Input};
use crate::quantities::Unit;
use crate::source::Span;
use crate::words::Words;

/// Which of many combinations of inputs keep some conditions, and which of them is preferred.
#[derive(Clone)]
pub(crate) struct Trade {
    pub varied: Vec<Varied>,
    pub varied_span: Span,
    pub shown: Vec<Column>,
    pub keep: Vec<Condition>,
    /// One or two.
    pub prefer: Vec<Preference>,
    pub rows: usize,
    /// No candidate that fails a requirement of safety or law is kept.
    pub safety: bool,
    /// What was decided, with its place.
    pub chosen: Option<(Vec<usize>, Span)>,
}

/// Inputs that are changed together.
#[derive(Clone)]
pub(crate) struct Varied {
    pub name: String,
    pub inputs: Vec<Input>,
    /// For each option what is typed in each of the inputs.
    pub to: Vec<Vec<String>>,
    /// What each option is called.
    pub labels: Vec<String>,
    /// Where the options are numbers: theirs in SI, and the unit of the first.
    pub numbers: Option<(Vec<f64>, Unit)>,
    /// The result `best_NAME`.
    pub best: usize,
}

/// What is shown of each candidate: the expression, and the result that has the best one's.
#[derive(Clone)]
pub(crate) struct Column {
    pub name: String,
    pub from: usize,
    pub best: usize,
}

#[derive(Clone)]
pub(crate) struct Preference {
    pub way: Way,
    /// The expression, by index and as it is typed.
    pub from: usize,
    pub text: String,
}

#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Way {
    Lowest,
    Highest,
}

/// What came of all candidates.
#[derive(Clone, Default)]
pub(crate) struct Traded {
    pub candidates: usize,
    pub kept: usize,
    /// Kept ones with a condition that could not be worked.
    pub open: usize,
    /// The best, in order; with two preferences those that no other one is better than in both.
    pub rows: Vec<TradedRow>,
    pub dropped: Vec<Dropped>,
    /// Candidates that could not be worked, by the reason.
    pub refused: Vec<(Words, usize)>,
    /// Of the best: the number of each option, and what is shown of it in SI.
    pub best: Option<(Vec<usize>, Vec<Option<f64>>)>,
    pub decided: Option<Decided>,
    /// Of the best few, in order, what the draws say; empty where nothing is uncertain.
    pub firm: Vec<Firm>,
    /// With two preferences those of the set, in SI, with the numbers of the options.
    pub points: Vec<(Vec<usize>, [f64; 2])>,
    /// Where one number is varied alone: the values that are asked for, by index, of each candidate in SI.
    pub over: Vec<(usize, Vec<f64>)>,
    /// Items of ledgers that follow a part that is swapped.
    pub followed: Vec<String>,
    /// Items that install another of the parts than the input names, and follow none.
    pub astray: Vec<Astray>,
    /// How many of the kept are in the set that none is better than; as many as are kept with one preference.
    pub set: usize,
    /// What the whole run of the best gives against what it was chosen by, as a share.
    pub apart: f64,
    /// The units of the block's results, by index.
    pub units: Vec<(usize, Unit)>,
}

/// A candidate as it is shown.
#[derive(Clone)]
pub(crate) struct TradedRow {
    /// By number of the option of each varied name.
    pub options: Vec<usize>,
    pub shown: Vec<String>,
    /// A condition is met narrowly, or could not be worked.
    pub doubt: &'static str,
    /// How many of the requirements that what is varied has a say in fail with it, are close and are open.
    pub verdicts: [usize; 3],
}

/// An item of a ledger that installs another part than the journal has elsewhere.
#[derive(Clone)]
pub(crate) struct Astray {
    pub item: String,
    pub part: String,
    /// The input that names the part in use.
    pub input: String,
    /// Where that stands in the study.
    pub span: Span,
}

/// What became of the choice.
#[derive(Clone, Default)]
pub(crate) struct Decided {
    /// As it is shown, where it could be worked.
    pub row: Option<TradedRow>,
    /// The conditions that it misses, each with by how much where that is known.
    pub missed: Vec<(String, Option<String>)>,
    /// Why it could not be worked.
    pub refused: Option<Words>,
    /// The inputs that the journal has otherwise, each with what was chosen.
    pub otherwise: Vec<(String, String)>,
}

/// Of some draws of all that is uncertain, the same for each of the best few, the shares in which one of them is best and
/// is kept.
#[derive(Clone, Copy)]
pub(crate) struct Firm {
    pub best: f64,
    pub kept: f64,
    pub draws: usize,
}

/// What one condition drops.
#[derive(Clone)]
pub(crate) struct Dropped {
    pub what: String,
    /// Candidates that miss it, and those that miss nothing else.
    pub together: usize,
    pub alone: usize,
    /// The one that misses it by least, and by how much.
    pub nearest: Option<(Vec<usize>, String)>,
}
