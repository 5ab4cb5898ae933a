//! The demo reviewed once, in a folder of its own, for every test that looks at its findings.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use motetrail::derive::{Derived, derive};
use motetrail::measures::{AnyRow, Review, review};
use motetrail::settings::{self, Plan, Rules};
use motetrail::store::{FileAccount, Store};

/// Everything that one review of the demo came to.
pub struct Demo {
    pub derived: Derived,
    pub review: Review,
    pub accounts: Vec<FileAccount>,
    pub truth: serde_json::Value,
}

/// Copies the demo's settings and exports into a folder.
pub fn copy_demo(to: &Path) {
    let from = Path::new(env!("CARGO_MANIFEST_DIR")).join("data-demo");
    copy(&from, to, &|name| name != "store");
}

fn copy(from: &Path, to: &Path, wanted: &dyn Fn(&str) -> bool) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        let name = entry.file_name();
        let target: PathBuf = to.join(&name);
        if !wanted(&name.to_string_lossy()) {
            continue;
        }
        if entry.file_type().unwrap().is_dir() {
            copy(&entry.path(), &target, wanted);
        } else {
            fs::copy(entry.path(), target).unwrap();
        }
    }
}

/// The demo, reviewed at the first call.
pub fn demo() -> &'static Demo {
    static DEMO: OnceLock<Demo> = OnceLock::new();
    DEMO.get_or_init(|| {
        let folder = tempfile::tempdir().unwrap();
        copy_demo(folder.path());
        let plan: Plan = settings::read(&folder.path().join("fleet.toml")).unwrap();
        let mut store = Store::open(&plan).unwrap();
        let today = chrono::NaiveDate::from_ymd_opt(2026, 7, 5).unwrap();
        store.take(&plan, today, &()).unwrap();
        let derived = derive(&plan, &store, None, &()).unwrap();
        let truth = fs::read_to_string(folder.path().join("truth.json")).unwrap();
        Demo {
            review: review(&plan, &derived, store.accounts()).unwrap(),
            accounts: store.accounts().to_vec(),
            truth: serde_json::from_str(&truth).unwrap(),
            derived,
        }
    })
}

/// The demo reviewed under other rules.
pub fn demo_under(change: impl FnOnce(&mut Rules)) -> Review {
    let folder = tempfile::tempdir().unwrap();
    copy_demo(folder.path());
    let mut plan: Plan = settings::read(&folder.path().join("fleet.toml")).unwrap();
    change(&mut plan.rules);
    let mut store = Store::open(&plan).unwrap();
    let today = chrono::NaiveDate::from_ymd_opt(2026, 7, 5).unwrap();
    store.take(&plan, today, &()).unwrap();
    let derived = derive(&plan, &store, None, &()).unwrap();
    review(&plan, &derived, store.accounts()).unwrap()
}

impl Demo {
    /// A number of the planted truth.
    pub fn planted(&self, path: &[&str]) -> f64 {
        let value = path.iter().fold(&self.truth, |value, key| &value[*key]);
        value.as_f64().unwrap_or_else(|| panic!("truth.json has no number at {path:?}"))
    }
}

/// Whether a row's interval holds a value.
pub fn holds(row: &impl AnyRow, value: f64) -> bool {
    let row = row.leading();
    row.low.unwrap() <= value && value <= row.high.unwrap()
}
