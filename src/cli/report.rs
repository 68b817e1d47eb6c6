//! `report`: the hand-over document.

use super::args::ReportOptions;
use super::exit::Failure;
use super::replay::read_criteria;
use crate::analysis::Criteria;
use crate::report::{Visit, read, render};
use anyhow::{Context, bail};
use std::fs::{File, OpenOptions};
use std::io::{self, Write};
use std::path::Path;

pub(super) fn run(options: &ReportOptions) -> Result<(), Failure> {
    if options.out.exists() && !options.force {
        return Err(exists(&options.out).into());
    }
    let criteria = options.criteria.as_deref().map(read_criteria).transpose()?;
    let visits = options
        .sessions
        .iter()
        .map(|path| visit(path, criteria.as_ref()))
        .collect::<anyhow::Result<Vec<Visit>>>()?;
    // Of two, the first is the earlier one.
    let page = match visits.as_slice() {
        [visit] => render(visit, None),
        [earlier, visit] => render(visit, Some(earlier)),
        _ => return Err(anyhow::anyhow!("report: one session, or an earlier one and then this one").into()),
    };
    write(&options.out, page.as_bytes(), options.force)?;
    writeln!(
        io::stdout(),
        "{}: {} kB",
        options.out.display(),
        page.len().div_ceil(1_000)
    )?;
    Ok(())
}

fn visit(path: &Path, criteria: Option<&Criteria>) -> anyhow::Result<Visit> {
    let shown = path.display().to_string();
    let file = File::open(path).with_context(|| format!("open {shown}; check the path"))?;
    // Without its folder: the same recording gives the same document wherever it lies.
    let name = path
        .file_name()
        .map_or(shown.clone(), |n| n.to_string_lossy().into_owned());
    let visit = read(file, &name, criteria).with_context(|| shown.clone())?;
    if !visit.integrity().is_sound() {
        eprintln!("loopmargin: {shown}: {}", visit.integrity());
    }
    Ok(visit)
}

fn exists(path: &Path) -> anyhow::Error {
    anyhow::anyhow!(
        "writing {}: the file exists; choose another name, or --force to replace it",
        path.display()
    )
}

fn write(path: &Path, bytes: &[u8], force: bool) -> anyhow::Result<()> {
    let mut how = OpenOptions::new();
    how.write(true);
    if force {
        how.create(true).truncate(true);
    } else {
        how.create_new(true);
    }
    let mut file = match how.open(path) {
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists => return Err(exists(path)),
        opened => opened.with_context(|| format!("writing {}; check the folder", path.display()))?,
    };
    if let Err(error) = file.write_all(bytes).and_then(|()| file.sync_all()) {
        // Half a document only looks like one.
        let _ = std::fs::remove_file(path);
        bail!(
            "writing {}: {error}; free some space and try again",
            path.display()
        );
    }
    Ok(())
}
