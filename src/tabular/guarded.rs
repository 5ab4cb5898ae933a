//! Keeps a panic of a library that reads foreign bytes from ending the run.
//!
//! Promises: what is thrown comes back as an error, and nothing is printed about it. For that the hook
//! of the program is changed once, to one that says nothing while this thread is guarded and is as it
//! was otherwise. A failed allocation cannot be caught; sizes are checked before.

use std::any::Any;
use std::cell::Cell;
use std::panic::{AssertUnwindSafe, catch_unwind, set_hook, take_hook};
use std::sync::Once;

thread_local! {
    /// Pieces of guarded work that this thread is inside of.
    static DEPTH: Cell<u32> = const { Cell::new(0) };
}

static HOOK: Once = Once::new();

/// Does `work`; of a panic, its message. What `work` was changing is not to be used afterwards.
///
/// # Errors
/// When `work` panics.
pub fn guarded<T>(work: impl FnOnce() -> T) -> Result<T, String> {
    HOOK.call_once(|| {
        let usual = take_hook();
        set_hook(Box::new(move |panic| {
            if DEPTH.get() == 0 {
                usual(panic);
            }
        }));
    });
    DEPTH.set(DEPTH.get() + 1);
    let done = catch_unwind(AssertUnwindSafe(work));
    DEPTH.set(DEPTH.get() - 1);
    done.map_err(|thrown| message(&*thrown))
}

fn message(thrown: &(dyn Any + Send)) -> String {
    let text = thrown.downcast_ref::<&str>().copied();
    let text = text.or_else(|| thrown.downcast_ref::<String>().map(String::as_str));
    format!("its reader stopped: {}", text.unwrap_or("no reason given"))
}
