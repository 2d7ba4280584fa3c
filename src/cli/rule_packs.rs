//! The reference of rule packs: their form, what every journal is asked about, and every item that is shipped.

use std::fmt::Write as _;

use crate::rules::packs::{Ground, Item, Pack, Weight, When, shipped, subjects};

const FORM: &str = "# Rule packs

`rules: [un-r100, build-practice]` in the front matter says what a journal is judged by beside its own limits. A pack is a list of items. Those that are shipped stand below; one of your own is a file `rules/NAME.yaml` in the journal folder, and is named in `rules` like them. Names of shipped packs, and `coverage`, are taken. No pack is an approval: the first line of each, `# …`, says what was read of it, and the local authority decides.

```yaml
# What was read, and who decides: the first line is printed with the items.
items:
  heavier:                      # its name: lower-case letters, digits and `_`
    theme: mass and axles       # what it is about
    kind: legal                 # safety, legal or wish
    document: order of the county of Hollin (invented)
    edition: of 2024            # or `year`; may be left out
    clause: \"7\"
    status: read                # read, second-hand, memory or practice
    asks: the vehicle is at most 10 % heavier than it was
    when: always                # or high-voltage, or `with KIND`; always if left out
    due: build                  # plan, build, test or show; by what judges it if left out
    judged_by:                  # all of them must hold
      - limit: {kind: mass-ledger, result: converted_mass, at_most: 1.1 * donor.mass}
```

What judges is one of these:

- `requirement: KIND.NAME`: the requirements of that name in all blocks of the kind, `requirement: KIND` all of safety and law. Of mass ledgers only those with the ticket of the finished vehicle (`weighed`) count, once there is one. The name is that of the reference, capitals included (`isolation.PLACE` is each reading), or that of one case (`restraint.utilisation_up`).
- `limit: {kind, result, at_least, at_most}`: a limit on a result or field of each block of the kind, in numbers and in names of that block. It is a requirement of the block from then on, with margin, uncertainty and verdict, called `PACK ITEM`.
- `block: KIND`: such a block is there, could be worked, and lacks nothing of what it is for (an `identity` says chassis number, registration, seats and tow load, here or under `vehicle` in the front matter; a `rescue` sheet has the pack, a cut loop or disconnect and the 12 V battery).
- `record: TEST`: there is a `test-record` whose `test` says that, without an error, of no day to come, by an instrument whose calibration held.
- `evidence: WHAT`: an [`inspection`](inspection.md) answers `yes` and names a document of `sources` with a file that is not of the journal's own text, or such a `test-record`.
- `statement: ROLE`: an inspection answers `yes`, and its `by` has the words of that role in it, and no `no`.

| Verdict | When |
|---|---|
| fails | a requirement fails, or the answer is `no` |
| open | something can't be judged or is missing beside something that is there, or shows nothing; all of status memory and practice |
| not in this journal | no block and no answer |
| close | a requirement is close; what is met and answered where the item is second-hand |
| answered | by somebody who is named, with evidence where some is needed; it is no verdict of this program |
| meets | requirements meet, and what is asked was read, or confirmed in an `inspection` (`confirmed: [{limit: PACK.ITEM, …}]`) |
| not applicable | its condition does not hold, or somebody says why; never where a block judges it |

What blocks judge no answer lifts. Where inspections contradict each other a `no` stands, and of other answers none; those of an inspection with an error are open. An item is answered by its name, or by `PACK.ITEM` where another pack or a subject has that name too.
";

/// The whole page.
pub(super) fn rule_packs() -> String {
    let mut text = FORM.to_owned();
    text.push_str("\n## What every journal of a vehicle is asked about\n\n");
    let _ = writeln!(text, "{}\n", subjects().about);
    table(&mut text, subjects());
    for pack in shipped() {
        let _ = write!(text, "\n## {}\n\n{}\n\n", pack.name, pack.about);
        table(&mut text, pack);
    }
    text
}

fn table(text: &mut String, pack: &Pack) {
    text.push_str("| Item | Kind | What is asked | Source | Judged by |\n|---|---|---|---|---|\n");
    for item in &pack.items {
        let source = match &item.source {
            Some(source) => format!("{}; {}", source.whole(), source.standing.word()),
            None => String::new(),
        };
        let weight = match item.weight {
            Weight::Safety => "safety",
            Weight::Legal => "legal",
            Weight::Wish => "wish",
        };
        let judges: Vec<String> = item.judged_by.iter().map(ground).collect();
        let asks = format!("{}{}", item.asks, condition(item));
        let _ = writeln!(text, "| `{}` | {weight} | {asks} | {source} | {} |", item.id, judges.join("; "));
    }
}

fn condition(item: &Item) -> String {
    match &item.when {
        When::Always => String::new(),
        When::HighVoltage => " (above 60 V DC or 30 V AC)".to_owned(),
        When::With(kind) => format!(" (with a `{kind}` block)"),
    }
}

fn ground(ground: &Ground) -> String {
    match ground {
        Ground::Requirement { kind, name: Some(name) } => format!("`{kind}.{name}`"),
        Ground::Requirement { kind, name: None } => format!("`{kind}`"),
        Ground::Limit { kind, result, low, high } => {
            let low = low.iter().map(|low| format!(" at least `{low}`"));
            let bounds: String = low.chain(high.iter().map(|high| format!(" at most `{high}`"))).collect();
            format!("`{kind}.{result}`{bounds}")
        }
        Ground::Block(kind) => format!("a `{kind}` block"),
        Ground::Record(test) => format!("a `test-record` of {test}"),
        Ground::Evidence(what) => format!("evidence: {what}"),
        Ground::Statement(role) => format!("a statement by the {role}"),
    }
}
