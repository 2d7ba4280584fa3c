//! The commands and their options.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum};
use clap_complete::Shell;

use crate::evaluate::Draws;

/// Compiles the build journal of an electric conversion: works its calculation blocks, writes the results back,
/// and makes a dossier that an inspector can follow.
#[derive(Parser)]
#[command(name = "voltwright", version, after_help = EXAMPLES)]
pub(crate) struct Arguments {
    #[command(subcommand)]
    pub command: Command,
}

#[derive(Subcommand)]
pub(crate) enum Command {
    /// Start a journal that works at once, in an empty or new folder
    #[command(after_help = BEGIN)]
    Begin(BeginOptions),
    /// Work the journal and write the results back into it
    #[command(after_help = WORK)]
    Work(WorkOptions),
    /// Work the journal, write nothing, and say what is stale
    #[command(after_help = CHECK)]
    Check(CheckOptions),
    /// Work the journal, then write dossier, summary and register
    #[command(after_help = DOSSIER)]
    Dossier(DossierOptions),
    /// Work the journal anew on every save, and show its page in the browser as it changes
    #[command(after_help = WATCH)]
    Watch(WatchOptions),
    /// Show how a result came about, or what rests on it
    #[command(after_help = TRACE)]
    Trace(TraceOptions),
    /// Show what moved since a revision, and why
    #[command(after_help = MOVED)]
    Moved(MovedOptions),
    /// Show what would move if some inputs were set to something else; nothing is written
    #[command(after_help = WHAT_IF)]
    WhatIf(WhatIfOptions),
    /// Work the journal and freeze a revision of it, or check those that are frozen
    #[command(after_help = ISSUE)]
    Issue(IssueOptions),
    /// Work the journal and pack papers, journal and evidence into one archive
    #[command(after_help = HAND_OVER)]
    HandOver(HandOverOptions),
    /// Add a dated entry at the end of the journal's last file
    #[command(after_help = NOTE)]
    Note(NoteOptions),
    /// List the kinds of block, or tell all about one
    #[command(after_help = KINDS)]
    Kinds(KindsOptions),
    /// Print a completion script for a shell
    #[command(after_help = COMPLETIONS)]
    Completions {
        /// The shell that is to complete
        shell: Shell,
    },
    /// Print the manual page, for `man -l` or a folder of manual pages
    Manual,
}

const EXAMPLES: &str = "\
Examples:
  voltwright begin my-van      start a journal
  voltwright work              work it, standing in it
  voltwright help trace        all about one command

Exit status: 0 done; 1 the journal has errors or, with check, a requirement fails or results are stale;
2 wrong usage; 3 a file or standard output could not be read or written.";

const BEGIN: &str = "\
Examples:
  voltwright begin my-van
  voltwright begin my-truck --units us --paper letter";

const WORK: &str = "\
Examples:
  voltwright work
  voltwright work my-van --monte-carlo auto
  voltwright work - < journal.md > worked.md";

const CHECK: &str = "\
Examples:
  voltwright check
  voltwright check my-van --format lines
  voltwright check --json | jq .requirements";

const DOSSIER: &str = "\
Examples:
  voltwright dossier
  voltwright dossier my-van --out print --no-write-back";

const WATCH: &str = "\
Examples:
  voltwright watch
  voltwright watch my-van --port 9000

The page is served to this machine alone. Ctrl-C ends the watch.";

const TRACE: &str = "\
Examples:
  voltwright trace drive.motor_speed
  voltwright trace drive
  voltwright trace --forward motor.mass my-van";

const MOVED: &str = "\
Examples:
  voltwright moved
  voltwright moved my-van --since A
  voltwright moved --since ../my-van-in-may --json";

const WHAT_IF: &str = "\
Examples:
  voltwright what-if \"drive.wanted_speed=120 km/h\"
  voltwright what-if motor=motor_b pack.series=26
  voltwright what-if drive.stages.gearbox.ratio=1.4 --journal my-van --json

A name with a point is an input of a block; one without is a part, and another part takes its place wherever it is named.";

const ISSUE: &str = "\
Examples:
  voltwright issue --revision B --note \"after the weighing\"
  voltwright issue --verify
  voltwright issue --despite \"the fuse is on its way; not to be driven\"";

const HAND_OVER: &str = "\
Examples:
  voltwright hand-over --out hand-over.zip
  voltwright hand-over my-van --out ../my-van-for-the-inspector.zip

Unpacked, `sha256sum -c SHA256SUMS` says whether all files are as they were packed.";

const NOTE: &str = "\
Examples:
  voltwright note \"Weighed the van on the bridge: 1 412 kg.\"
  voltwright note --journal my-van \"The motor came today.\"";

const KINDS: &str = "\
Examples:
  voltwright kinds
  voltwright kinds ratio-chain
  voltwright kinds --all | less
  voltwright kinds --json > schema.json";

const COMPLETIONS: &str = "\
Examples:
  voltwright completions bash > ~/.local/share/bash-completion/completions/voltwright";

#[derive(Args)]
pub(crate) struct BeginOptions {
    /// A folder that is not there yet, or empty
    pub folder: PathBuf,
    /// What its values are typed in and its results shown in
    #[arg(long, value_enum, default_value_t)]
    pub units: Units,
    /// What its dossier is printed on
    #[arg(long, value_enum, default_value_t)]
    pub paper: Paper,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
pub(crate) enum Units {
    #[default]
    Si,
    Us,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
pub(crate) enum Paper {
    #[default]
    A4,
    Letter,
}

#[derive(Args)]
pub(crate) struct KindsOptions {
    /// A kind; the names of all where none is named
    pub kind: Option<String>,
    /// All about every kind
    #[arg(long, conflicts_with_all = ["kind", "json"])]
    pub all: bool,
    /// As the Markdown tables of the reference
    #[arg(long)]
    pub markdown: bool,
    /// As a JSON Schema
    #[arg(long, conflicts_with = "markdown")]
    pub json: bool,
}

/// How much is said of a journal, and in what form.
#[derive(Args, Clone, Copy, Debug, Default)]
pub(crate) struct Saying {
    /// How findings are told: for people, or a line each for editors, `FILE:LINE:COLUMN: SEVERITY: MESSAGE [CODE]`
    #[arg(long, value_enum, default_value_t)]
    pub format: Format,
    /// Say nothing but findings and what was asked for
    #[arg(long, short)]
    pub quiet: bool,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
pub(crate) enum Format {
    #[default]
    Text,
    Lines,
}

#[derive(Args)]
pub(crate) struct WorkOptions {
    /// A folder, a file, or `-` for standard input; the nearest journal from here upward where nothing is said
    pub journal: Option<PathBuf>,
    /// Print the register as JSON
    #[arg(long)]
    pub json: bool,
    #[command(flatten)]
    pub writing: Writing,
    #[command(flatten)]
    pub spread: Spreading,
    #[command(flatten)]
    pub saying: Saying,
}

#[derive(Args)]
pub(crate) struct TraceOptions {
    /// A result, field or requirement (`drive.motor_speed`), or a block (`drive`)
    pub name: String,
    /// A folder, a file, or `-` for standard input; the nearest journal from here upward where nothing is said
    pub journal: Option<PathBuf>,
    /// Show what rests on it, and not what it rests on
    #[arg(long)]
    pub forward: bool,
    /// Print the whole way as JSON
    #[arg(long)]
    pub json: bool,
    #[command(flatten)]
    pub saying: Saying,
}

#[derive(Args)]
pub(crate) struct WatchOptions {
    /// A folder or file; the nearest journal from here upward where nothing is said
    pub journal: Option<PathBuf>,
    /// Where the page is served on the loopback address; the next free port where this one is taken
    #[arg(long, value_name = "N", default_value_t = 8421)]
    pub port: u16,
    #[command(flatten)]
    pub saying: Saying,
}

#[derive(Args)]
pub(crate) struct MovedOptions {
    /// A folder, a file, or `-` for standard input; the nearest journal from here upward where nothing is said
    pub journal: Option<PathBuf>,
    /// A revision, or a folder with the journal as it was; the last revision where nothing is said
    #[arg(long, value_name = "REVISION|FOLDER")]
    pub since: Option<String>,
    /// Print all that moved as JSON
    #[arg(long)]
    pub json: bool,
    #[command(flatten)]
    pub saying: Saying,
}

#[derive(Args)]
pub(crate) struct WhatIfOptions {
    /// What is set, `drive.wanted_speed=120 km/h`, or a part and what takes its place, `motor=motor_b`
    #[arg(required = true, value_name = "NAME=VALUE")]
    pub changes: Vec<String>,
    /// A folder, a file, or `-` for standard input; the nearest journal from here upward where nothing is said
    #[arg(long)]
    pub journal: Option<PathBuf>,
    /// Print all that would move as JSON
    #[arg(long)]
    pub json: bool,
    #[command(flatten)]
    pub saying: Saying,
}

#[derive(Args)]
pub(crate) struct IssueOptions {
    /// A folder; the nearest journal from here upward where nothing is said
    pub journal: Option<PathBuf>,
    /// What the revision is called, as the front matter says; that where nothing is said
    #[arg(long, value_name = "NAME")]
    pub revision: Option<String>,
    /// What it is for
    #[arg(long, value_name = "TEXT")]
    pub note: Option<String>,
    /// Why it is issued although a safety or legal requirement fails; printed on the first page
    #[arg(long, value_name = "TEXT")]
    pub despite: Option<String>,
    /// Say whether the frozen revisions are as they were issued, and what was touched
    #[arg(long, conflicts_with_all = ["revision", "note", "despite"])]
    pub verify: bool,
    #[command(flatten)]
    pub saying: Saying,
}

#[derive(Args)]
pub(crate) struct HandOverOptions {
    /// A folder or file; the nearest journal from here upward where nothing is said
    pub journal: Option<PathBuf>,
    /// The archive; one that is there already is replaced
    #[arg(long, value_name = "FILE.zip")]
    pub out: PathBuf,
    #[command(flatten)]
    pub saying: Saying,
}

#[derive(Args)]
pub(crate) struct NoteOptions {
    /// What was done or decided, in Markdown
    pub text: String,
    /// A folder or file; the nearest journal from here upward where nothing is said
    #[arg(long)]
    pub journal: Option<PathBuf>,
}

#[derive(Args)]
pub(crate) struct Spreading {
    /// Draw all uncertain values N times as well, or until two digits are stable
    #[arg(long, value_name = "N|auto", value_parser = draws)]
    pub monte_carlo: Option<Draws>,
}

/// `auto`, or a number that is worth drawing and can be waited for.
fn draws(text: &str) -> Result<Draws, String> {
    const FEWEST: usize = 1_000;
    const MOST: usize = 10_000_000;
    if text == "auto" {
        return Ok(Draws::Auto);
    }
    match text.replace([' ', '_'], "").parse::<usize>() {
        Ok(count) if (FEWEST..=MOST).contains(&count) => Ok(Draws::Count(count)),
        _ => Err(format!("type `auto`, or a whole number from {FEWEST} to {MOST}")),
    }
}

#[derive(Args)]
pub(crate) struct Writing {
    /// Replace results regions that were edited by hand
    #[arg(long)]
    pub overwrite_edits: bool,
    /// Remove results regions whose block is gone
    #[arg(long)]
    pub drop_orphans: bool,
}

#[derive(Args)]
pub(crate) struct CheckOptions {
    /// A folder, a file, or `-` for standard input; the nearest journal from here upward where nothing is said
    pub journal: Option<PathBuf>,
    /// Print the register as JSON
    #[arg(long)]
    pub json: bool,
    #[command(flatten)]
    pub spread: Spreading,
    #[command(flatten)]
    pub saying: Saying,
}

#[derive(Args)]
pub(crate) struct DossierOptions {
    /// A folder, a file, or `-` for standard input; the nearest journal from here upward where nothing is said
    pub journal: Option<PathBuf>,
    /// Where the dossier goes; `dossier` in the journal folder where nothing is said
    #[arg(long, value_name = "FOLDER")]
    pub out: Option<PathBuf>,
    /// Leave the journal's files as they are
    #[arg(long)]
    pub no_write_back: bool,
    #[command(flatten)]
    pub writing: Writing,
    #[command(flatten)]
    pub spread: Spreading,
    #[command(flatten)]
    pub saying: Saying,
}
