//! `doctor`: checks this computer.

use super::args::DoctorOptions;
use super::exit::Failure;
use crate::link::bluetooth::doctor::{self, Outcome, Terminal};
use anyhow::anyhow;
use serde::Serialize;
use std::io::{self, IsTerminal, Write};

#[derive(Serialize)]
struct Report {
    result: &'static str,
    checks: Vec<doctor::Check>,
}

fn terminal() -> Terminal {
    let variable = |name: &str| std::env::var(name).ok().filter(|v| !v.is_empty());
    Terminal {
        is_terminal: io::stdout().is_terminal(),
        size: ratatui::crossterm::terminal::size().ok(),
        kind: variable("TERM"),
        locale: ["LC_ALL", "LC_CTYPE", "LANG"].into_iter().find_map(variable),
    }
}

pub(super) fn run(options: &DoctorOptions) -> Result<(), Failure> {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(1)
        .enable_all()
        .build()?;
    let mut checks = runtime.block_on(doctor::bluetooth());
    checks.push(doctor::terminal(&terminal()));
    let bad = checks.iter().filter(|c| c.outcome == Outcome::Bad).count();
    let mut out = io::stdout().lock();
    if options.json {
        let result = if bad == 0 { "pass" } else { "fail" };
        writeln!(out, "{}", serde_json::to_string(&Report { result, checks })?)?;
    } else {
        for check in &checks {
            let word = match check.outcome {
                Outcome::Good => "good",
                Outcome::Limited => "limited",
                Outcome::Bad => "BAD",
                Outcome::NotChecked => "not checked",
            };
            writeln!(out, "{}: {word}: {}", check.name, check.found)?;
            if !check.next_step.is_empty() {
                writeln!(out, "    next: {}", check.next_step)?;
            }
        }
        writeln!(
            out,
            "The simulator and recordings need none of this: loopmargin watch --from sim"
        )?;
    }
    if bad > 0 {
        return Err(Failure::Failed(anyhow!(
            "doctor: {bad} of the checks failed; do what stands under each, then run it again"
        )));
    }
    Ok(())
}
