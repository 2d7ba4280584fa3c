//! `completions` and `manual`: what shells and `man` want, from the one definition of the commands.

use clap::CommandFactory;
use clap_complete::Shell;
use clap_mangen::Man;

use super::arguments::Arguments;
use super::{Ended, complain, say};

pub(super) fn completions(shell: Shell) -> Ended {
    let mut script = Vec::new();
    clap_complete::generate(shell, &mut Arguments::command(), NAME, &mut script);
    said(script)
}

/// One page: the program, then each command as a section of its own.
pub(super) fn manual() -> Ended {
    let mut page = Vec::new();
    match write(&mut page) {
        Ok(()) => said(page),
        Err(error) => {
            complain(&format!("the manual page can't be made: {error}\n"));
            Ended::FileTrouble
        }
    }
}

const NAME: &str = "voltwright";

fn said(text: Vec<u8>) -> Ended {
    say(&String::from_utf8_lossy(&text));
    Ended::Done
}

fn write(page: &mut Vec<u8>) -> std::io::Result<()> {
    let mut program = Arguments::command();
    program.build();
    let whole = Man::new(program.clone());
    whole.render_title(page)?;
    whole.render_name_section(page)?;
    whole.render_synopsis_section(page)?;
    whole.render_description_section(page)?;
    whole.render_options_section(page)?;
    for command in program.get_subcommands() {
        let own = Man::new(command.clone());
        let mut section = Vec::new();
        own.render_synopsis_section(&mut section)?;
        own.render_description_section(&mut section)?;
        own.render_options_section(&mut section)?;
        page.extend(format!(".SH \"{}\"\n", command.get_name().to_uppercase()).bytes());
        // What would be sections of a page of its own are parts of this one.
        for line in String::from_utf8_lossy(&section).lines() {
            // Each section of its own begins with what the page has said already, and is a part of this one here.
            if !line.contains(".ds Aq") {
                page.extend(format!("{}\n", line.replacen(".SH ", ".SS ", 1)).bytes());
            }
        }
    }
    page.extend(EXIT_STATUS.bytes());
    whole.render_version_section(page)
}

const EXIT_STATUS: &str = ".SH \"EXIT STATUS\"\n\
.TP\n0\ndone\n\
.TP\n1\nthe journal has errors; with check, a requirement fails or results are stale\n\
.TP\n2\nwrong usage\n\
.TP\n3\na file of the journal or of the dossier could not be read or written, or standard output could not\n";
