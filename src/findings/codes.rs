//! The codes of the language itself; a kind's own codes stand in its file.

use super::Code;
use super::Severity::{Error, Note, Warning};

macro_rules! codes {
    ($($ident:ident = $name:literal, $severity:ident, $about:literal;)*) => {
        $(pub(crate) static $ident: Code = Code { name: $name, severity: $severity, about: $about };)*
        /// Every code of the language, in the order of the reference.
        pub(crate) static ALL: &[&Code] = &[$(&$ident),*];
    };
}

codes! {
    UNKNOWN_KIND = "unknown-kind", Error, "the second word of a `yaml` fence is no kind of block";
    BAD_NAME = "bad-name", Error, "a block has no name, or one that is not lower-case letters, digits and `_`";
    DUPLICATE_NAME = "duplicate-name", Error, "two blocks, or two items of a list, have the same name";
    UNKNOWN_KEY = "unknown-key", Error, "a key that this kind, or the front matter, does not have";
    DUPLICATE_KEY = "duplicate-key", Error, "a key stands twice in one mapping";
    MISSING_FIELD = "missing-field", Error, "a required field is not there";
    WRONG_SHAPE = "wrong-shape", Error, "a value where a list or mapping is expected, or the other way round";
    BAD_VALUE = "bad-value", Error, "a value that can't be read as what its field expects";
    BAD_REPLACEMENT = "bad-replacement", Error, "a block that replaces none, one of another kind, one that is replaced already, or itself";
    UNKNOWN_UNIT = "unknown-unit", Error, "a unit that the language does not have";
    UNIT_MISMATCH = "unit-mismatch", Error, "a value has another dimension than the one expected";
    ANGLE_AMBIGUOUS = "angle-ambiguous", Error, "an angular speed in 1/s, 1/min or Hz, which could mean radians or turns";
    NUMBER_COMMA = "number-comma", Error, "a comma in a number, which could be a decimal mark or a group mark";
    NOT_IN_TABLE = "not-in-table", Error, "a size or class that the published table does not hold; values between its rows are not made up";
    OUT_OF_RANGE = "out-of-range", Error, "a value outside what is physically or arithmetically possible";
    UNUSUAL_VALUE = "unusual-value", Warning, "a value that such a thing hardly ever has: a unit or a digit may be wrong; a verdict that rests on it is `close` at best";
    NOT_FINITE = "not-finite", Error, "a calculation gives no finite number";
    BAD_EXPRESSION = "bad-expression", Error, "an expression that can't be read";
    EXPRESSION_TOO_DEEP = "expression-too-deep", Error, "an expression nested deeper than can be followed";
    UNKNOWN_REFERENCE = "unknown-reference", Error, "a name that no block, field or result has";
    BAD_RULES = "bad-rules", Error, "a rule pack of the journal in which something is amiss; the item is left out";
    MISSING_EVIDENCE = "missing-evidence", Warning, "an answer `yes` that shows nothing where something has to be shown; the item stays open";
    CHANGED_EVIDENCE = "changed-evidence", Warning, "a document or picture that is handed over is no longer as the last revision names it";
    NOT_YET = "not-yet", Note, "a target or check names a block that is not written yet, or a result that its block does not have without a field that is left out; only its line is open";
    CYCLE = "cycle", Error, "values that depend on each other in a loop";
    YAML_BROKEN = "yaml-broken", Error, "YAML that can't be read";
    YAML_ALIAS = "yaml-alias", Error, "an anchor, alias or tag in YAML: each value is written where it stands";
    YAML_TOO_DEEP = "yaml-too-deep", Error, "YAML nested deeper than can be followed";
    YAML_CUT_VALUE = "yaml-cut-value", Error, "YAML has cut a value at a comma, ` #` or `: `";
    UNCLOSED_FENCE = "unclosed-fence", Error, "a calculation block whose fence is never closed";
    FRONT_MATTER = "front-matter", Error, "front matter that is not closed, or not at the top of the first file";
    OLD_NAME = "old-name", Note, "a name that a field or result had before; it is taken as that of today";
    FENCE_SPELLING = "fence-spelling", Note, "a fence that says `yml`, `YAML` or `{yaml …}`: it is read as `yaml`";
    STRAY_FRONT_MATTER = "stray-front-matter", Warning, "front matter in a file that is not the first of the journal, and that says nothing of a vehicle, a builder or rules";
    TWO_JOURNALS = "two-journals", Error, "two files below one folder have front matter of their own; nothing is written until each journal is worked alone";
    HIDDEN_IN_HTML = "hidden-in-html", Warning, "a calculation block or live value inside raw HTML, where it is not worked";
    EDITED_REGION = "edited-region", Error, "a results region was changed by hand";
    DAMAGED_REGION = "damaged-region", Error, "the marks of a results region are half there, doubled or out of order";
    ORPHAN_REGION = "orphan-region", Warning, "a results region whose block is gone";
    LIVE_VALUE_FORM = "live-value-form", Warning, "a `result:` address in a link form whose text can't be kept up to date";
    UNSAFE_LINK = "unsafe-link", Warning, "a link whose address is not http, https, mailto or a place in the journal; it is dropped";
    RAW_HTML = "raw-html", Note, "raw HTML that the dossier shows as text";
    MISSING_PICTURE = "missing-picture", Warning, "a picture that can't be shown: it is not there, is not PNG or JPEG, breaks off, or is too large";
    RESCUE_CUT = "rescue-cut", Warning, "texts of a rescue sheet that were cut, as one sheet has no room for them";
    MISSING_GLYPH = "missing-glyph", Warning, "a character that the embedded fonts can't show";
    FILE_UNREADABLE = "file-unreadable", Error, "a file of the journal, or one that it names, can't be read; a pipe, device or socket is none";
    FILE_OUTSIDE = "file-outside", Error, "a file that the journal names is not in the journal folder";
    BAD_CSV = "bad-csv", Error, "a CSV file that can't be read as the list or curve it should be";
    BAD_TRACE = "bad-trace", Error, "a speed trace whose time does not rise, whose speed is negative, or with a value that is no number";
    TRACE_GAP = "trace-gap", Warning, "a speed trace in which samples are missing";
    EMPTY_JOURNAL = "empty-journal", Error, "a journal without a Markdown file";
    INVALID_UTF8 = "invalid-utf8", Error, "a journal file that is not UTF-8 text";
    BAD_CURVE = "bad-curve", Error, "a curve whose points are too few, not in order or repeated, or that no such part has";
    OUTSIDE_CURVE = "outside-curve", Error, "a curve is read outside its points";
    BAD_TOLERANCE = "bad-tolerance", Error, "a tolerance that is negative, or on what can't have one";
    COUNT_LEFT_OUT = "count-left-out", Warning, "a sum over a list's masses, each of one, where items have a `count`";
    CURRENCY_MIX = "currency-mix", Error, "two currencies in one sum";
    ROUTES_DIFFER = "routes-differ", Error, "the two routes to a result give different values: a fault of the program, please report it";
    FIRST_ORDER_NOT_ENOUGH = "first-order-not-enough", Warning, "the draws differ from first-order uncertainty by more than what is printed";
    DRAWS_NOT_STABLE = "draws-not-stable", Note, "`--monte-carlo auto` has ended, and the second digit of some uncertainties is not settled";
    TOGETHER_ALONE = "together-alone", Warning, "a name after `together` that only one list of readings has";
    UNUSED_SOURCE = "unused-source", Warning, "a source that no value names";
    CHECK_FAILED = "check-failed", Error, "a procedure's own check fails: a fault of the program, please report it";
    NEAR_NAME = "near-name", Note, "a part's value whose name is nearly one that kinds read from such a part";
    EXACT_PHYSICAL = "exact-physical", Warning, "a tolerance of 0 on a physical value, which nobody knows exactly";
    SOURCE_WANTED = "source-wanted", Note, "a stated value without a source, on which a verdict of safety or law rests";
    MISSING_SOURCE = "missing-source", Warning, "a `published` or `datasheet` value that names no source";
}
