//! Keeps a panic of a library that reads foreign bytes from ending the run.
//!
//! Promises: what is thrown comes back as an error. The message that Rust prints about a panic still
//! reaches stderr: silencing it would mean to change the hook of the whole program, which other
//! threads use at the same time. A failed allocation cannot be caught; sizes are checked before.

use std::any::Any;
use std::panic::{AssertUnwindSafe, catch_unwind};

/// Does `work`; of a panic, its message. What `work` was changing is not to be used afterwards.
///
/// # Errors
/// When `work` panics.
pub fn guarded<T>(work: impl FnOnce() -> T) -> Result<T, String> {
    catch_unwind(AssertUnwindSafe(work)).map_err(|thrown| message(&*thrown))
}

fn message(thrown: &(dyn Any + Send)) -> String {
    let text = thrown.downcast_ref::<&str>().copied();
    let text = text.or_else(|| thrown.downcast_ref::<String>().map(String::as_str));
    format!("its reader stopped: {}", text.unwrap_or("no reason given"))
}
