//! The job's folder: the engine's script, this program, the checked settings.

use std::fs::{self, File};
use std::path::Path;

use anyhow::Context;
use serde_json::{Value, json};

use super::folder::settings_stream;
use crate::derive::Stage;
use crate::derive::share::envelope::{CHUNK, Seal};
use crate::derive::share::stage::Kind;
use crate::settings::Plan;

/// The engine's part of the job.
const SCRIPT: &str = include_str!("job.py");

/// Writes the job into a folder, which is made if it is not there.
///
/// # Errors
/// Files that cannot be read or written.
pub fn write_job(plan: &Plan, settings: &Path, program: &Path, out: &Path) -> anyhow::Result<()> {
    let place = |name: &str| out.join(name);
    fs::create_dir_all(out).with_context(|| format!("{}: cannot be made", out.display()))?;
    let stream = File::create(place("settings.stream"))?;
    let seal = settings_stream(plan, settings, stream)?;
    fs::copy(program, place("motetrail"))
        .with_context(|| format!("{}: cannot be copied", program.display()))?;
    fs::write(place("job.json"), format!("{:#}\n", description(&seal)))?;
    fs::write(place("job.py"), SCRIPT)?;
    Ok(())
}

/// What the script must know: the seal of streams, the stages in their order, what each takes and makes.
fn description(seal: &Seal) -> Value {
    let stages = Stage::ALL.iter().map(|stage| {
        let words =
            |kinds: &[Kind]| -> Vec<&str> { kinds.iter().map(|kind| kind.word()).collect() };
        json!({
            "name": stage.word(),
            "takes": words(stage.takes()),
            "makes": words(stage.makes()),
            "of_tickets": stage.is_of_tickets(),
            "one_task": stage.is_one_task(),
            "needs_counts": stage.needs_counts(),
        })
    });
    json!({
        "metadata": seal.metadata().into_iter().collect::<std::collections::BTreeMap<_, _>>(),
        "chunk": CHUNK,
        "stages": stages.collect::<Vec<_>>(),
    })
}
