//! The program: reads its arguments and hands them to one command.

use std::process::ExitCode;

fn main() -> ExitCode {
    motetrail::tune_memory();
    motetrail::command::run()
}
