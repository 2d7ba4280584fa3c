//! What is known of a field before any journal is read: what it takes, in which range, and what kind of statement it is.

use super::purpose::Purpose;
use super::requirement_row::Stage;
use crate::quantities::Sort;

/// A field of a kind. The name of an item's field is `list.field`, of a group's `group.field`.
pub(crate) struct FieldDoc {
    pub name: &'static str,
    pub needed: Needed,
    pub takes: Takes,
    pub range: Range,
    /// Between what, in SI, its values usually are, where a point could be taken for a group mark: `1.420 kg`.
    pub usual: Option<(f64, f64)>,
    pub about: &'static str,
    /// What people say, without capital; empty for its name in words.
    pub label: &'static str,
    /// Of a list: whether an item may be a bare name.
    pub names: bool,
    /// Of a list that must have items: what to type. Empty for others.
    pub items: &'static str,
    /// What kind of statement its value is, which decides what it is worth without a tolerance.
    pub sort: FieldSort,
    /// When in the life of a journal it is due.
    pub due: Stage,
    /// It stands in the inspector's summary.
    pub principal: bool,
    /// The field beside it that it takes the place of: one of them must be there, and only one. Empty for none.
    pub instead_of: &'static str,
    pub purpose: Option<Purpose>,
}

/// What kind of statement a field's value is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum FieldSort {
    /// What is to be met, a wanted speed: exact, basis `target` if none is said.
    Choice,
    /// The state in which something is judged, a load or an ambient temperature: exact unless a tolerance is written.
    Condition,
    /// Chosen, but what it does has the device's accuracy: a trip, a charger's end voltage.
    Setting,
    /// A rating, a plate, a limit, a price: exact, basis `stated` if none is said.
    Stated,
    /// A size as it is sold: stated where nothing more is said of it, else a property.
    Nominal,
    /// A property of a thing, which is never known exactly.
    Physical,
}

#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Needed {
    Required,
    Optional,
    /// Required unless another field, named in the words of `about`, stands instead.
    Either,
    /// What is taken when nothing is written; the dossier lists it as an assumption.
    Assumed(&'static str),
}

#[derive(Clone, Copy)]
pub(crate) enum Takes {
    Quantity(&'static Sort),
    /// A list of them.
    Quantities(&'static Sort),
    /// A whole number of things.
    Count,
    /// Of the second over the first.
    Curve(&'static Sort, &'static Sort),
    Text,
    /// The name of another block.
    BlockName,
    List,
    Group,
    /// Names of the author's own, each with a quantity, an expression or a comparison.
    Named,
    /// A tyre's diameter or size code, or the like: `about` tells the forms.
    Special,
}

/// What values are possible at all; anything else is `out-of-range`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Range {
    Any,
    Positive,
    NotNegative,
    /// Above 0, up to and including 1.
    Share,
    /// From 0 to 1, both included.
    ShareOrNone,
    /// 1 and more.
    AtLeastOne,
    /// Up to 2: a flat plate across the wind has that.
    DragCoefficient,
    /// Of a road: up and down to 45°.
    Grade,
    /// Of air outdoors.
    Weather,
}

impl FieldDoc {
    pub(crate) const fn new(name: &'static str, takes: Takes, about: &'static str) -> FieldDoc {
        FieldDoc {
            name,
            needed: Needed::Required,
            takes,
            range: Range::Any,
            usual: None,
            about,
            label: "",
            names: false,
            items: "",
            sort: FieldSort::Physical,
            due: Stage::Plan,
            principal: false,
            instead_of: "",
            purpose: None,
        }
    }

    /// How exactly the device acts that has the settings beside it.
    pub(crate) const fn accuracy(name: &'static str) -> FieldDoc {
        let about =
            "how far off it acts from where it is set: `5 mV`, or `0.5 %` of that; supposed if left out";
        FieldDoc::new(name, Takes::Special, about)
            .optional()
            .range(Range::Positive)
            .sort(FieldSort::Stated)
            .due(Stage::Build)
    }

    pub(crate) const fn optional(mut self) -> FieldDoc {
        self.needed = Needed::Optional;
        self
    }

    pub(crate) const fn either(mut self) -> FieldDoc {
        self.needed = Needed::Either;
        self
    }

    /// Exactly one of this and the named field must be there.
    pub(crate) const fn instead_of(mut self, name: &'static str) -> FieldDoc {
        self.needed = Needed::Either;
        self.instead_of = name;
        self
    }

    pub(crate) const fn assumed(mut self, default: &'static str) -> FieldDoc {
        self.needed = Needed::Assumed(default);
        self
    }

    /// A list whose items may also be bare names.
    pub(crate) const fn or_names(mut self) -> FieldDoc {
        self.names = true;
        self
    }

    /// A list that must have items; `help` says what to type.
    pub(crate) const fn with_items(mut self, help: &'static str) -> FieldDoc {
        self.items = help;
        self
    }

    pub(crate) const fn label(mut self, label: &'static str) -> FieldDoc {
        self.label = label;
        self
    }

    pub(crate) const fn sort(mut self, sort: FieldSort) -> FieldDoc {
        self.sort = sort;
        self
    }

    pub(crate) const fn due(mut self, stage: Stage) -> FieldDoc {
        self.due = stage;
        self
    }

    pub(crate) const fn principal(mut self) -> FieldDoc {
        self.principal = true;
        self
    }

    pub(crate) const fn purpose(mut self, purpose: Purpose) -> FieldDoc {
        self.purpose = Some(purpose);
        self
    }

    pub(crate) const fn usual(mut self, low: f64, high: f64) -> FieldDoc {
        self.usual = Some((low, high));
        self
    }

    pub(crate) const fn range(mut self, range: Range) -> FieldDoc {
        self.range = range;
        self
    }
}

impl FieldSort {
    /// For a reader.
    pub(crate) fn word(self) -> &'static str {
        match self {
            FieldSort::Choice => "choice",
            FieldSort::Condition => "condition",
            FieldSort::Setting => "setting",
            FieldSort::Stated => "stated",
            FieldSort::Nominal => "nominal",
            FieldSort::Physical => "physical",
        }
    }
}

impl Takes {
    /// Whether it is a number, or several, with a unit.
    pub(crate) fn is_quantity(self) -> bool {
        matches!(self, Takes::Quantity(_) | Takes::Quantities(_))
    }

    /// The words for a reader: `a mass`, `a whole number`.
    pub(crate) fn words(self) -> String {
        match self {
            Takes::Quantity(sort) => sort.words(),
            Takes::Quantities(sort) => format!("a list, each {}", sort.words()),
            Takes::Count => "a whole number".to_owned(),
            Takes::Curve(x, y) => format!("points of {} and {}", x.words(), y.words()),
            Takes::Text => "text".to_owned(),
            Takes::BlockName => "the name of a block".to_owned(),
            Takes::List => "a list".to_owned(),
            Takes::Group => "a mapping".to_owned(),
            Takes::Named => "a mapping from names of your own".to_owned(),
            Takes::Special => "see its text".to_owned(),
        }
    }
}

impl Range {
    pub(crate) fn holds(self, value: f64) -> bool {
        match self {
            Range::Any => true,
            Range::Positive => value > 0.0,
            Range::NotNegative => value >= 0.0,
            Range::Share => value > 0.0 && value <= 1.0,
            Range::ShareOrNone => (0.0..=1.0).contains(&value),
            Range::AtLeastOne => value >= 1.0,
            Range::DragCoefficient => (0.0..=2.0).contains(&value),
            Range::Grade => (-1.0..=1.0).contains(&value),
            // −60 °C is no whole number of K, and a hair of rounding is no weather.
            Range::Weather => (213.15 - 1e-9..=333.15 + 1e-9).contains(&value),
        }
    }

    /// What a slip of the pen is put right to.
    pub(crate) fn is_likely(self, value: f64) -> bool {
        self.holds(value) && (self != Range::DragCoefficient || value >= 0.1)
    }

    pub(crate) fn words(self) -> &'static str {
        match self {
            Range::Any => "any value",
            Range::Positive => "more than 0",
            Range::NotNegative => "0 or more",
            Range::Share => "more than 0 and at most 1 (100 %)",
            Range::ShareOrNone => "from 0 to 1 (100 %)",
            Range::AtLeastOne => "1 or more",
            Range::DragCoefficient => "from 0 to 2",
            Range::Grade => "from −1 to 1 (100 %, 45°)",
            Range::Weather => "from −60 °C to 60 °C",
        }
    }
}
