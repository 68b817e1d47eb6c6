//! The `loopmargin` command.

fn main() -> std::process::ExitCode {
    loopmargin::cli::main()
}
