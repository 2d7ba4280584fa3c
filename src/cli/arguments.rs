//! The commands and their options.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand};

/// Compiles the build journal of an electric conversion: works its calculation blocks, writes the results back,
/// and makes a dossier that an inspector can follow.
#[derive(Parser)]
#[command(name = "voltwright", version, disable_help_subcommand = true)]
pub(crate) struct Arguments {
    #[command(subcommand)]
    pub command: Command,
}

#[derive(Subcommand)]
pub(crate) enum Command {
    /// Start a journal that works at once, in an empty or new folder
    Begin { folder: PathBuf },
    /// Work the journal and write the results back into it
    Work(WorkOptions),
    /// Work the journal, write nothing, and say what is stale
    Check(CheckOptions),
    /// Work the journal, then write the dossier and the summary, each as HTML and PDF, and the register
    Dossier(DossierOptions),
    /// Show how a result came about, back to the values it rests on
    Trace {
        /// A result or field: `drive.motor_speed`
        name: String,
        /// The journal: a folder or one file
        #[arg(default_value = ".")]
        journal: PathBuf,
    },
    /// List the kinds of block, or tell all about one
    Kinds {
        kind: Option<String>,
        /// As the Markdown tables of the reference
        #[arg(long)]
        markdown: bool,
    },
}

#[derive(Args)]
pub(crate) struct WorkOptions {
    /// The journal: a folder or one file
    #[arg(default_value = ".")]
    pub journal: PathBuf,
    /// Print the register as JSON
    #[arg(long)]
    pub json: bool,
    #[command(flatten)]
    pub writing: Writing,
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
    /// The journal: a folder or one file
    #[arg(default_value = ".")]
    pub journal: PathBuf,
    /// Print the register as JSON
    #[arg(long)]
    pub json: bool,
}

#[derive(Args)]
pub(crate) struct DossierOptions {
    /// The journal: a folder or one file
    #[arg(default_value = ".")]
    pub journal: PathBuf,
    /// Where the dossier goes; `dossier` in the journal folder where nothing is said
    #[arg(long, value_name = "FOLDER")]
    pub out: Option<PathBuf>,
    /// Leave the journal's files as they are
    #[arg(long)]
    pub no_write_back: bool,
    #[command(flatten)]
    pub writing: Writing,
}
