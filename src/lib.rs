//! Voltwright compiles a build journal: Markdown with calculation blocks in, results written back, a dossier out.

mod dossier;
mod findings;
mod source;
