//! What each value is worth without a tolerance: its sort, and the tolerance that is supposed where it is physical.

use std::collections::HashMap;

use super::accuracy::accuracies;
use super::field::{FieldSort, Range, Takes};
use super::front::Front;
use super::leaf::{Claim, Leaf, Supposed};
use super::node::{NodeDecl, Origin, Role};
use super::notebook::Notebook;
use crate::findings::{Finding, codes};
use crate::quantities::{Basis, Curve, Sort, Unit, show_operand, sort};
use crate::rules::supposed::{Knowledge, Size, Width, Worth, supposed};
use crate::words::words;

/// The table: quantity, and the widths of what was measured, what a sheet says, and what is estimated.
pub(crate) fn supposed_rows() -> impl Iterator<Item = [&'static str; 4]> {
    supposed().physical.iter().map(|row| {
        let cell = |at: usize| row.cells.get(at).map_or("", String::as_str);
        [row.quantity.as_str(), cell(0), cell(1), cell(2)]
    })
}

/// What is supposed of a setting of that sort of quantity and these names, the first that fits: `10 mV`.
pub(crate) fn device_accuracy(sort: &str, names: [&str; 2]) -> Option<&'static str> {
    let row = row_for(&supposed().devices, sort, names)?;
    row.cells.first().map(String::as_str)
}

fn row_for(table: &'static [Worth], sort: &str, names: [&str; 2]) -> Option<&'static Worth> {
    table.iter().find(|row| names.iter().any(|name| row.is_for(sort, name)))
}

/// Settles the sort of every leaf, and supposes tolerances.
pub(super) fn settle(notebook: &mut Notebook, findings: &mut Vec<Finding>) {
    let mut causes: HashMap<Cause, u32> = HashMap::new();
    let Notebook { blocks, front, .. } = notebook;
    for (number, block) in blocks.iter_mut().enumerate() {
        let mut told = Vec::new();
        let accuracies = accuracies(&block.nodes, &mut told);
        let mut used = vec![false; accuracies.len()];
        let own_names = block.kind.fields.iter().any(|doc| matches!(doc.takes, Takes::Named));
        for node in &mut block.nodes {
            let Some(leaf) = node.leaf() else { continue };
            let sort = sort_of(node, leaf, own_names);
            let said = accuracies.iter().position(|accuracy| accuracy.is_of(node, leaf));
            let supposed = match said.filter(|_| sort == FieldSort::Setting) {
                Some(said) => {
                    used[said] = true;
                    let own = accuracies[said].of(leaf);
                    // A slip of the prefix promises what no device does: then it is as if nothing were said.
                    let usual = suppose(&Value { node, leaf, sort, front }, Claim::DeviceAccuracy);
                    match usual.filter(|usual| usual.supposed.half() > SLIP * own.half()) {
                        Some(usual) => Some(usual.numbered(number, &mut causes)),
                        None => Some(own),
                    }
                }
                None => settled(node, leaf, sort).and_then(|claim| {
                    let found = suppose(&Value { node, leaf, sort, front }, claim)?;
                    Some(found.numbered(number, &mut causes))
                }),
            };
            if supposed.as_ref().is_some_and(|supposed| supposed.claim == Claim::DoubtedExact) {
                let message = words!("`{}` is said to be exact", node.name);
                let help = "type how far off it may be, or take `± 0` away";
                findings
                    .push(Finding::new(&codes::EXACT_PHYSICAL, node.span, message, help).in_block(number));
            }
            if let Role::Field(Origin::Leaf(leaf) | Origin::Curve { leaf: Some(leaf), .. }) = &mut node.role {
                leaf.sort = sort;
                leaf.supposed = supposed;
            }
        }
        // A part may have one that says nothing of a setting, a meter's.
        let sets = |node: &NodeDecl| node.leaf().is_some_and(|leaf| leaf.sort == FieldSort::Setting);
        let meant = !own_names || block.nodes.iter().any(sets);
        let idle = accuracies.iter().zip(&used).filter(|(_, used)| meant && !**used);
        told.extend(idle.filter_map(|(accuracy, _)| accuracy.of_nothing(&block.nodes)));
        block.faulty |= !told.is_empty();
        findings.extend(told.into_iter().map(|finding| finding.in_block(number)));
    }
}

/// An accuracy that is so much better than what is supposed of such devices is none that its author meant.
const SLIP: f64 = 100.0;

/// What errs together: all of one quantity from one source, or of one block and one basis.
#[derive(PartialEq, Eq, Hash)]
struct Cause {
    quantity: &'static str,
    source: Option<String>,
    block: Option<(usize, Knowledge)>,
    /// A list that errs apart.
    apart: Option<usize>,
}

/// A supposed tolerance whose cause has no number yet; `None` for what errs alone.
struct Found {
    supposed: Supposed,
    cause: Option<(&'static str, Option<String>, Knowledge, Option<usize>)>,
}

impl Found {
    fn numbered(mut self, block: usize, causes: &mut HashMap<Cause, u32>) -> Supposed {
        if let Some((quantity, source, knowledge, apart)) = self.cause {
            let of_block = source.is_none().then_some((block, knowledge));
            let next = causes.len() as u32;
            let cause = Cause { quantity, source, block: of_block, apart };
            self.supposed.together = Some(*causes.entry(cause).or_insert(next));
        }
        self.supposed
    }
}

/// A value with what its worth depends on.
struct Value<'a> {
    node: &'a NodeDecl,
    leaf: &'a Leaf,
    sort: FieldSort,
    front: &'a Front,
}

/// A field's own sort; of what an author names, by the name. Other values that no documentation names are made by the
/// kind and exact.
fn sort_of(node: &NodeDecl, leaf: &Leaf, own_names: bool) -> FieldSort {
    // So many, because somebody chose it.
    let chosen_count = leaf.basis == Some(Basis::Target)
        && leaf.literal.unit.symbol == "1"
        && leaf.literal.quantity.si.fract() == 0.0;
    match node.doc {
        Some(doc) if doc.sort == FieldSort::Nominal => match is_bare(leaf) {
            true => FieldSort::Stated,
            false => FieldSort::Physical,
        },
        Some(doc) => doc.sort,
        None if !own_names => FieldSort::Condition,
        None if chosen_count => FieldSort::Choice,
        None => own_name_sort(&node.name),
    }
}

/// What a name of the author's own says of its value: a rating, a setting, or a property.
pub(crate) fn own_name_sort(name: &str) -> FieldSort {
    match (supposed().is_stated(name), supposed().is_setting(name)) {
        (true, _) => FieldSort::Stated,
        (false, true) => FieldSort::Setting,
        (false, false) => FieldSort::Physical,
    }
}

/// Nothing is said of the value.
fn is_bare(leaf: &Leaf) -> bool {
    leaf.basis.is_none() && leaf.readings.is_none() && leaf.literal.tolerance.is_none()
}

/// Whether a tolerance is supposed, and where it counts.
fn settled(node: &NodeDecl, leaf: &Leaf, sort: FieldSort) -> Option<Claim> {
    let exact = leaf.default || leaf.stated || leaf.rule.is_some() || node.count || was_counted(leaf);
    let claim = match sort {
        FieldSort::Physical | FieldSort::Nominal => Claim::Everywhere,
        FieldSort::Setting => Claim::DeviceAccuracy,
        FieldSort::Choice | FieldSort::Condition | FieldSort::Stated => return None,
    };
    let written = leaf.literal.tolerance.as_ref().map(|tolerance| tolerance.half_width_si);
    match written {
        _ if exact => None,
        None => Some(claim),
        Some(0.0) if sort == FieldSort::Physical => Some(Claim::DoubtedExact),
        Some(_) => None,
    }
}

/// `35/8`, or `4.375 (measured; 35 and 8 teeth)`.
fn was_counted(leaf: &Leaf) -> bool {
    let teeth = |remark: &String| {
        let mut words = remark.split(|c: char| !c.is_alphanumeric());
        words.any(|word| word == "teeth") && remark.contains(|c: char| c.is_ascii_digit())
    };
    leaf.literal.counted || leaf.remark.as_ref().is_some_and(teeth)
}

fn suppose(value: &Value<'_>, claim: Claim) -> Option<Found> {
    let Value { node, leaf, sort, front } = value;
    let curve = match &node.role {
        Role::Field(Origin::Curve { curve, .. }) => Some(&**curve),
        _ => None,
    };
    let table: &'static [Worth] = match sort {
        FieldSort::Setting => &supposed().devices,
        _ => &supposed().physical,
    };
    let own = node.name.rsplit('.').next().unwrap_or(&node.name);
    let of = sort_name(node, curve.map_or(&leaf.literal.unit, |curve| &curve.y));
    let worth = row_for(table, of, [own, &node.name])?;
    let basis = if leaf.readings.is_some() { Basis::Measured } else { leaf.basis() };
    let knowledge = Knowledge::of(basis);
    let chosen = front.supposed.iter().filter(|chosen| {
        let for_it = chosen.basis == basis || Knowledge::of(chosen.basis) == knowledge && !chosen.narrower;
        chosen.quantity == worth.quantity && for_it && *sort == FieldSort::Physical
    });
    // A word on this very basis goes before one on another of its column.
    let chosen = chosen.min_by_key(|chosen| chosen.basis != basis);
    let width = chosen.map_or_else(|| worth.width(knowledge), |chosen| &chosen.width);
    let (half, by_digit) = match curve {
        Some(curve) => (of_scale(curve, width), false),
        None => half_width(leaf, width),
    };
    let si = leaf.literal.quantity.si;
    let is_share = matches!(node.range, Range::Share | Range::ShareOrNone) || worth.quantity == "share";
    let (low, high) = match curve {
        Some(_) => (si - half, si + half),
        None if is_share && (si == 0.0 || si == 1.0) => return None,
        // What is written in % need not be a share of something: a margin of 120 %.
        None if worth.quantity == "share" && (0.0..1.0).contains(&si) => {
            cut((si - half, si + half), Range::Share)
        }
        None => cut((si - half, si + half), node.range),
    };
    // A width that is lost in the value's own rounding is none.
    let spread = high - low;
    if spread <= 1e-12 * si.abs() || spread.is_nan() {
        return None;
    }
    let list = node.name.split('.').next().unwrap_or_default();
    let source = leaf.source.as_ref().map(|(id, _)| id.clone());
    let cause = (!by_digit && *sort == FieldSort::Physical)
        .then(|| (worth.quantity.as_str(), source, knowledge, supposed().apart(list)));
    let text =
        if by_digit { show_operand(half, &difference(&leaf.literal.unit), 3) } else { width.text.clone() };
    Some(Found { supposed: Supposed { low, high, text, together: None, claim }, cause })
}

/// Half of the width in SI, and whether the digits decided it.
fn half_width(leaf: &Leaf, width: &Width) -> (f64, bool) {
    let si = leaf.literal.quantity.si;
    let size = match width.size {
        Size::None => 0.0,
        Size::Part(part) => part * si.abs(),
        Size::OfLoss(part) => part * (1.0 - si).max(0.0),
        Size::Fixed(size) => size,
    };
    // However coarse a number looks, its author knows it no worse than somebody who estimates.
    let most = match supposed().physical.last().map(|row| row.width(Knowledge::Estimated).size) {
        Some(Size::Part(part)) => part * si.abs(),
        _ => f64::INFINITY,
    };
    let digit = leaf.literal.digit_si.map_or(0.0, |digit| (width.digits * digit).min(most));
    if digit > size { (digit, true) } else { (size, false) }
}

/// Of a curve's scale: every point by the same part.
fn of_scale(curve: &Curve, width: &Width) -> f64 {
    let largest = curve.points().iter().map(|(_, y)| y.abs()).fold(0.0, f64::max);
    match width.size {
        Size::Part(part) => part,
        _ if largest == 0.0 || curve.y.is_point() => 0.0,
        Size::None => 0.0,
        Size::OfLoss(part) => part * (1.0 - largest).max(0.0) / largest,
        Size::Fixed(size) => size / largest,
    }
}

/// Nothing beyond what is possible.
fn cut((low, high): (f64, f64), range: Range) -> (f64, f64) {
    match range {
        Range::Any => (low, high),
        Range::Positive | Range::NotNegative => (low.max(0.0), high),
        Range::Share | Range::ShareOrNone => (low.max(0.0), high.min(1.0)),
        Range::AtLeastOne => (low.max(1.0), high),
        Range::DragCoefficient => (low.max(0.0), high.min(2.0)),
        Range::Grade | Range::Weather => (low, high),
    }
}

/// The name of the sort of quantity: the field's, else by dimension.
fn sort_name(node: &NodeDecl, unit: &Unit) -> &'static str {
    let documented = node.doc.and_then(|doc| match doc.takes {
        Takes::Quantity(sort) | Takes::Quantities(sort) => Some(sort),
        _ => None,
    });
    let known: Option<&'static Sort> = documented.or(node.sort).or_else(|| sort::of_unit(unit));
    match known {
        Some(sort)
            if std::ptr::eq(sort, &sort::RATIO)
                && (matches!(node.range, Range::Share | Range::ShareOrNone) || unit.symbol == "%") =>
        {
            "share"
        }
        Some(sort) => sort.name,
        None => "",
    }
}

/// The unit that a width of a value in this unit has.
fn difference(unit: &Unit) -> Unit {
    if unit.is_point() { Unit::coherent(unit.dimension) } else { unit.clone() }
}
