//! `config`: the user's configuration, shown, checked, or begun. And where it is found.

use super::args::{ConfigCommand, LookOptions};
use super::exit::Failure;
use crate::analysis::Criteria;
use crate::config::Config;
use anyhow::{Context, anyhow};
use std::fs::{self, OpenOptions};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// Reads the configuration that was asked for, or the user's own if there is one.
pub(super) fn load(look: &mut LookOptions) -> Result<(), Failure> {
    let found = match &look.config_file {
        Some(path) => Some(path.clone()),
        None => user_path().filter(|path| path.exists()),
    };
    if let Some(path) = found {
        look.config = read(&path)?;
    }
    Ok(())
}

fn read(path: &Path) -> Result<Config, Failure> {
    let text =
        fs::read_to_string(path).with_context(|| format!("read the configuration {}", path.display()))?;
    Config::parse(&text).map_err(|error| {
        Failure::Failed(anyhow!(
            "configuration {}, {error}\nPut it right, or move the file away: `config init` writes a new one",
            path.display()
        ))
    })
}

/// The user's configuration file, where the system keeps such files.
fn user_path() -> Option<PathBuf> {
    let folder = |variable: &str| {
        std::env::var_os(variable)
            .filter(|v| !v.is_empty())
            .map(PathBuf::from)
    };
    let base = if cfg!(target_os = "windows") {
        folder("APPDATA")
    } else if cfg!(target_os = "macos") {
        folder("HOME").map(|home| home.join("Library").join("Application Support"))
    } else {
        // The XDG Base Directory Specification: a path that is not absolute is to be ignored.
        folder("XDG_CONFIG_HOME")
            .filter(|p| p.is_absolute())
            .or_else(|| folder("HOME").map(|home| home.join(".config")))
    };
    Some(base?.join("loopmargin").join("config.toml"))
}

pub(super) fn run(command: &ConfigCommand, look: &LookOptions) -> Result<(), Failure> {
    let path = look
        .config_file
        .clone()
        .or_else(user_path)
        .ok_or_else(|| anyhow!("config: this user has no home folder; name a file with --config FILE"))?;
    let mut out = io::stdout().lock();
    match command {
        ConfigCommand::Show { criteria: true } => {
            write!(out, "{}", Criteria::DOCUMENT)?;
        }
        ConfigCommand::Show { criteria: false } => {
            let config = if path.exists() {
                read(&path)?
            } else {
                Config::default()
            };
            let from = if path.exists() {
                "read from"
            } else {
                "built in; no file at"
            };
            writeln!(out, "# {from} {}", path.display())?;
            write!(out, "{}", config.to_toml())?;
        }
        ConfigCommand::Check => {
            read(&path)?;
            writeln!(out, "{} is sound", path.display())?;
        }
        ConfigCommand::Init => {
            init(&path)?;
            writeln!(out, "written: {}", path.display())?;
        }
    }
    Ok(())
}

/// Writes the defaults; a file that is there is never overwritten.
fn init(path: &Path) -> anyhow::Result<()> {
    let what = || {
        format!(
            "config init: write {}; name another file with --config FILE",
            path.display()
        )
    };
    if let Some(folder) = path.parent() {
        fs::create_dir_all(folder).with_context(what)?;
    }
    let mut file = OpenOptions::new()
        .write(true)
        .create_new(true)
        .open(path)
        .with_context(what)?;
    file.write_all(Config::default().to_toml().as_bytes())
        .with_context(what)
}
