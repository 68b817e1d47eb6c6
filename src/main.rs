//! The `loopmargin` command.

fn main() {}
