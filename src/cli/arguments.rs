//! The commands and their options.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand};
use clap_complete::Shell;

use crate::evaluate::Draws;

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
    Begin {
        /// A folder that is not there yet, or empty
        folder: PathBuf,
    },
    /// Work the journal and write the results back into it
    Work(WorkOptions),
    /// Work the journal, write nothing, and say what is stale
    Check(CheckOptions),
    /// Work the journal, then write the dossier and the summary, each as HTML and PDF, and the register
    Dossier(DossierOptions),
    /// Show how a result came about, back to the values it rests on
    Trace(TraceOptions),
    /// List the kinds of block, or tell all about one
    Kinds {
        /// A kind; all of them where none is named
        kind: Option<String>,
        /// As the Markdown tables of the reference
        #[arg(long)]
        markdown: bool,
        /// As a JSON Schema
        #[arg(long, conflicts_with = "markdown")]
        json: bool,
    },
    /// Print a completion script for a shell, to be saved where the shell looks for it
    Completions {
        /// The shell that is to complete
        shell: Shell,
    },
    /// Print the manual page, for `man -l` or a folder of manual pages
    Manual,
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
    #[command(flatten)]
    pub spread: Spreading,
}

#[derive(Args)]
pub(crate) struct TraceOptions {
    /// A result or field: `drive.motor_speed`
    pub name: String,
    /// The journal: a folder or one file
    #[arg(default_value = ".")]
    pub journal: PathBuf,
    /// Print the whole way as JSON
    #[arg(long)]
    pub json: bool,
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
    /// The journal: a folder or one file
    #[arg(default_value = ".")]
    pub journal: PathBuf,
    /// Print the register as JSON
    #[arg(long)]
    pub json: bool,
    #[command(flatten)]
    pub spread: Spreading,
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
    #[command(flatten)]
    pub spread: Spreading,
}
