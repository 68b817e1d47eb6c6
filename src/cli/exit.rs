//! Exit codes: 0 done, 1 failed, 2 wrong usage, 3 marginal, 4 fail, 128 + n ended by signal n.

use std::process::ExitCode;

/// Why the program ends other than well.
#[derive(Debug)]
pub enum Failure {
    /// It could not do it; the message names the operation and the next step.
    Failed(anyhow::Error),
    /// It was called the wrong way.
    Usage(String),
    /// It was done, and the answer is "marginal"; the output says why.
    Marginal,
    /// It was done, and the answer is "fail"; the output says why.
    Fail,
    /// A signal ended it, after everything was closed properly.
    Signal(u8),
}

impl Failure {
    /// Says why on standard error and gives the exit code.
    pub fn report(self) -> ExitCode {
        match self {
            Failure::Failed(error) => {
                if is_broken_pipe(&error) {
                    return ExitCode::SUCCESS;
                }
                eprintln!("loopmargin: {error:#}");
                ExitCode::from(1)
            }
            Failure::Usage(message) => {
                eprintln!("loopmargin: {message}");
                ExitCode::from(2)
            }
            Failure::Marginal => ExitCode::from(3),
            Failure::Fail => ExitCode::from(4),
            Failure::Signal(number) => ExitCode::from(128 + number),
        }
    }
}

/// The reader of our output has gone: that is its right.
fn is_broken_pipe(error: &anyhow::Error) -> bool {
    error
        .chain()
        .filter_map(|cause| cause.downcast_ref::<std::io::Error>())
        .any(|e| e.kind() == std::io::ErrorKind::BrokenPipe)
}

impl<E: Into<anyhow::Error>> From<E> for Failure {
    fn from(error: E) -> Self {
        Failure::Failed(error.into())
    }
}
