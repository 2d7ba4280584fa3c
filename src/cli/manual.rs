//! `completions` and `manual`: what shells and `man` want, from the one definition of the commands.

use clap::CommandFactory;
use clap_complete::Shell;
use clap_mangen::Man;

use super::arguments::Arguments;
use super::{Ended, say};

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
        Err(error) => Ended::FileTrouble.because(format!("the manual page can't be made: {error}")),
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
    let commands = || program.get_subcommands().filter(|command| command.get_name() != "help");
    for command in commands() {
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
    page.extend(FILES.bytes());
    page.extend(ENVIRONMENT.bytes());
    page.extend(b".SH \"EXAMPLES\"\n");
    for command in commands() {
        let told = command.get_after_help().map(ToString::to_string).unwrap_or_default();
        for line in told.lines().filter_map(|line| line.strip_prefix("  ")) {
            page.extend(format!(".PP\n{}\n", line.replace('\\', "\\e").replace('-', "\\-")).bytes());
        }
    }
    whole.render_version_section(page)
}

const EXIT_STATUS: &str = ".SH \"EXIT STATUS\"\n\
.TP\n0\ndone\n\
.TP\n1\nthe journal has errors; with check, a requirement fails or results are stale\n\
.TP\n2\nwrong usage\n\
.TP\n3\na file of the journal, the dossier or standard output could not be read or written\n";

const FILES: &str = ".SH \"FILES\"\n\
.TP\n*.md, *.markdown\nthe journal, read in the order of their paths; the first may open with front matter\n\
.TP\nvoltwright.yaml\nan empty file that makes its folder a journal, where no front matter does\n\
.TP\ndossier/\nwhere dossier.html, dossier.pdf, summary.html, summary.pdf and register.json go\n\
.TP\nrevisions/, rules/, node_modules/, target/ and hidden folders\npassed over, as linked folders are\n";

const ENVIRONMENT: &str = ".SH \"ENVIRONMENT\"\n\
.TP\nNO_COLOR\nwhere it is set and not empty, no colour is used\n\
.TP\nTERM\nwhere it is dumb, neither colour nor a moving line is used\n\
.TP\nSOURCE_DATE_EPOCH\nseconds since 1970 UTC, which give the date in place of the clock\n";
