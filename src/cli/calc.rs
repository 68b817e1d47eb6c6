//! `loopmargin calc`: pocket calculators over the radio crate.
//!
//! A calculator is a row of the registry: its name, its inputs and a pure function from arguments to an
//! [`Outcome`]. Names and keys are those of the published table of the command line; values are not rounded
//! on the way to JSON.

mod antennas;
mod args;
mod cables;
mod cellular;
mod feedback;
mod isolation;
mod limits;
mod noise;
mod outcome;
mod propagation;

use std::io::Write;

use serde::Serialize;
use thiserror::Error;

use super::args::CalcOptions;
use super::exit::Failure;

use crate::suggest::nearest;
pub use args::{Args, Input};
pub use outcome::{Field, Outcome, Value};

/// Why a calculator gives no result.
#[derive(Clone, Debug, Error, PartialEq)]
pub enum CalcError {
    /// Unknown name or key, a missing input, a value that is no number: wrong usage.
    #[error("{0}")]
    Usage(String),
    /// Numbers outside the range in which the formula means anything.
    #[error("{0}")]
    Refused(String),
}

impl From<radio::RangeError> for CalcError {
    fn from(error: radio::RangeError) -> Self {
        Self::Refused(error.to_string())
    }
}

impl From<radio::channel::ChannelError> for CalcError {
    fn from(error: radio::channel::ChannelError) -> Self {
        Self::Refused(error.to_string())
    }
}

/// One calculator.
pub struct Calculator {
    /// Its name on the command line.
    pub name: &'static str,
    /// What it answers, in a few words.
    pub about: &'static str,
    /// What it is given.
    pub inputs: &'static [Input],
    /// Keys of what it gives back.
    pub outputs: &'static [&'static str],
    /// Arguments that work, for help and for the tests.
    pub example: &'static str,
    /// The calculation.
    pub evaluate: fn(&Args) -> Result<Outcome, CalcError>,
}

/// Every calculator, those wanted on a roof or ladder first.
pub static CALCULATORS: [&Calculator; 23] = [
    &feedback::LOOP,
    &feedback::LOOP_FROM_RIPPLE,
    &feedback::GAIN_STEP,
    &isolation::BUILDING,
    &isolation::HORIZONTAL,
    &isolation::VERTICAL,
    &feedback::AGC_ONSET,
    &cables::COAX,
    &cables::MISMATCH,
    &noise::UPLINK_NOISE,
    &antennas::PEAK,
    &cellular::CHANNEL,
    &cellular::RSSI_RSRP,
    &limits::US_LIMITS,
    &limits::UK_LIMITS,
    &limits::EXPOSURE,
    &propagation::FREE_SPACE,
    &propagation::ENTRY_LOSS,
    &noise::NOISE_FLOOR,
    &antennas::PATTERN,
    &antennas::REFERENCE_PATTERN,
    &cellular::REPORT_INDEX,
    &noise::EFFECTIVE_SAMPLES,
];

/// The calculator of this name.
///
/// # Errors
/// For an unknown name, with the nearest one that exists.
pub fn calculator(name: &str) -> Result<&'static Calculator, CalcError> {
    CALCULATORS
        .iter()
        .copied()
        .find(|calculator| calculator.name == name)
        .ok_or_else(|| {
            let hint = nearest(name, CALCULATORS.iter().map(|calculator| calculator.name)).map_or_else(
                || "`loopmargin calc` lists them".to_owned(),
                |near| format!("did you mean {near}?"),
            );
            CalcError::Usage(format!("no calculator is called {name:?}; {hint}"))
        })
}

/// The result of calculator `name` for arguments as `key` and `value`.
///
/// # Errors
/// [`CalcError::Usage`] for names, keys and values that are not understood, [`CalcError::Refused`] for numbers
/// outside the range of the formula.
pub fn evaluate(name: &str, pairs: &[(&str, &str)]) -> Result<Outcome, CalcError> {
    let calculator = calculator(name)?;
    let args = Args::new(calculator, pairs)?;
    let mut outcome = (calculator.evaluate)(&args)?;
    outcome.cautions.extend(args.assumptions());
    Ok(outcome)
}

/// What `loopmargin calc [NAME] [key=value …]` prints on standard output: one JSON object on one line, or text
/// for people.
///
/// # Errors
/// As [`evaluate`].
pub fn answer(name: Option<&str>, arguments: &[String], json: bool) -> Result<String, CalcError> {
    let Some(name) = name else {
        return if json {
            to_json(&list())
        } else {
            Ok(list_for_people())
        };
    };
    let calculator = calculator(name)?;
    let pairs = arguments
        .iter()
        .map(|argument| {
            argument.split_once('=').ok_or_else(|| {
                CalcError::Usage(format!(
                    "calc {name}: {argument:?} is not key=value; write it as in: loopmargin calc {name} {}",
                    calculator.example
                ))
            })
        })
        .collect::<Result<Vec<_>, _>>()?;
    let outcome = evaluate(name, &pairs)?;
    if json {
        to_json(&outcome)
    } else {
        Ok(outcome.for_people(name))
    }
}

/// Runs the command.
pub(super) fn run(options: &CalcOptions) -> Result<(), Failure> {
    let text =
        answer(options.name.as_deref(), &options.arguments, options.json).map_err(|error| match error {
            CalcError::Usage(message) => Failure::Usage(message),
            refused @ CalcError::Refused(_) => Failure::Failed(refused.into()),
        })?;
    let mut out = std::io::stdout().lock();
    out.write_all(text.as_bytes())?;
    Ok(out.flush()?)
}

fn to_json(value: &impl Serialize) -> Result<String, CalcError> {
    let text = serde_json::to_string(value)
        .map_err(|error| CalcError::Refused(format!("writing the result as JSON: {error}")))?;
    Ok(text + "\n")
}

/// The registry as data.
#[derive(Serialize)]
struct Listing {
    calculators: Vec<ListedCalculator>,
}

#[derive(Serialize)]
struct ListedCalculator {
    name: &'static str,
    about: &'static str,
    inputs: Vec<&'static str>,
    outputs: &'static [&'static str],
    example: &'static str,
}

fn list() -> Listing {
    let calculators = CALCULATORS
        .iter()
        .map(|calculator| ListedCalculator {
            name: calculator.name,
            about: calculator.about,
            inputs: calculator.inputs.iter().map(|input| input.key).collect(),
            outputs: calculator.outputs,
            example: calculator.example,
        })
        .collect();
    Listing { calculators }
}

fn list_for_people() -> String {
    let mut text = String::from("Calculators, use: loopmargin calc NAME key=value …\n\n");
    for calculator in CALCULATORS {
        text += &format!("  {:<21} {}\n", calculator.name, calculator.about);
        text += &format!("  {:<21} {}\n", "", calculator.example);
    }
    text
}

#[cfg(test)]
mod tests;
