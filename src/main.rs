//! The program: [`framelap::cli`] reads the command line and opens the window or answers at the terminal.

use std::process::ExitCode;

fn main() -> ExitCode {
    framelap::cli::run(std::env::args_os())
}
