//! Voltwright compiles a build journal: Markdown with calculation blocks in, results written back, a dossier out.

mod blocks;
mod cli;
mod compile;
mod dossier;
mod evaluate;
mod findings;
mod graph;
mod journal;
mod model;
mod moves;
mod parallel;
mod quantities;
mod register;
mod report;
mod revision;
mod rules;
mod source;
mod words;
mod writeback;

pub use cli::run;
