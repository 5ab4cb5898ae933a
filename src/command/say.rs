//! Results on standard output.

use std::fmt::Arguments;
use std::io::{self, ErrorKind, Write};
use std::process::exit;

/// Prints a line of results, in every command, where `println!` would panic: ends the program where nobody reads it any
/// more, quietly where the reader has gone, which is no fault, with code 3 where it cannot be written. Only for what is
/// said after the work.
macro_rules! say {
    () => { $crate::command::say::line(format_args!("")) };
    ($($text:tt)*) => { $crate::command::say::line(format_args!($($text)*)) };
}
pub(super) use say;

/// What `say!` does.
pub fn line(text: Arguments) {
    let mut out = io::stdout().lock();
    if let Err(error) = writeln!(out, "{text}").and_then(|()| out.flush()) {
        if error.kind() == ErrorKind::BrokenPipe {
            exit(0);
        }
        eprintln!("error: standard output: {error}");
        exit(3);
    }
}
