//! The program: reads its arguments and hands them to one command.

use std::process::ExitCode;

fn main() -> ExitCode {
    motetrail::keep_freed_memory();
    motetrail::command::run()
}
