//! `completions` and `man`: made from the options themselves, so that they cannot fall behind.

use super::args::Cli;
use super::exit::Failure;
use clap::CommandFactory;
use clap_complete::Shell;
use std::io::{self, Write};

/// Prints what a shell needs to complete commands and options.
pub(super) fn completions(shell: Shell) -> Result<(), Failure> {
    // Into memory first: a closed pipe must not end the generator by a panic.
    let mut script = Vec::new();
    clap_complete::generate(shell, &mut Cli::command(), "loopmargin", &mut script);
    io::stdout().lock().write_all(&script)?;
    Ok(())
}

/// Prints the manual: the program's page, then one of each command.
pub(super) fn man() -> Result<(), Failure> {
    let command = Cli::command();
    let mut page = Vec::new();
    clap_mangen::Man::new(command.clone()).render(&mut page)?;
    for part in command.get_subcommands() {
        let title = format!("loopmargin-{}", part.get_name());
        clap_mangen::Man::new(part.clone())
            .title(title)
            .render(&mut page)?;
    }
    io::stdout().lock().write_all(&page)?;
    Ok(())
}
