//! The command line: options, exit codes, and the composition of parts.

mod accept;
mod aim;
mod args;
pub mod calc;
mod config;
mod doctor;
pub mod exit;
mod export;
mod generated;
mod live;
mod player;
mod progress;
mod replay;
mod report;
mod roof;
mod scan;
mod screen;
mod session;
mod signals;
mod simulate;
mod source;
mod watch;

use args::{Cli, Command};
use clap::Parser;
use exit::Failure;
use std::process::ExitCode;

/// Runs the program with the arguments of the process.
pub fn main() -> ExitCode {
    let cli = match Cli::try_parse() {
        Ok(cli) => cli,
        Err(error) => {
            // Help and version are answers, not errors; a closed pipe is not one either.
            let _ = error.print();
            return ExitCode::from(if error.use_stderr() { 2 } else { 0 });
        }
    };
    match run(cli) {
        Ok(()) => ExitCode::SUCCESS,
        Err(failure) => failure.report(),
    }
}

fn run(mut cli: Cli) -> Result<(), Failure> {
    if let Command::Config(options) = &cli.command {
        return config::run(&options.command, &cli.look);
    }
    config::load(&mut cli.look)?;
    match cli.command {
        Command::Config(_) => Ok(()),
        Command::Watch(options) => watch::run(options, cli.look, cli.allow_control),
        Command::Aim(options) => aim::run(&options, &cli.look, cli.allow_control),
        Command::Accept(options) => accept::run(&options),
        Command::Replay(options) => replay::run(&options),
        Command::Report(options) => report::run(&options),
        Command::Export(options) => export::run(&options),
        Command::Calc(options) => calc::run(&options),
        Command::Simulate(options) => simulate::run(options),
        Command::Session(options) => session::run(&options),
        Command::Scan(options) => scan::run(&options),
        Command::Doctor(options) => doctor::run(&options),
        Command::Completions { shell } => generated::completions(shell),
        Command::Man => generated::man(),
    }
}
