//! Input that means harm: whatever comes in, the program ends with a clear error or puts the row into
//! quarantine, needs bounded memory, runs nothing, writes nowhere but where it should, loses no row.

mod bombs;
mod formulas;
mod names;
mod people;
mod people_elsewhere;
mod rows;
mod small_files;
mod spans;
#[cfg(unix)]
mod unread;

use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::thread;
use std::time::Duration;

use motetrail::settings::read;
use motetrail::store::{Quarantined, Store};
use tempfile::TempDir;

/// Head of all settings here: rows may be quarantined freely, costs are invented.
const FLEET: &str = r#"[fleet]
name = "Invented Light Rail"
currency = "EUR"
timezone = "Europe/Vienna"
as_of = "2026-07-05"

[rules]
quarantine_limit = 1.0

[costs]
look_minutes = 2.0
cleaning_minutes = 3.0
cleaning_material = 0.60
labour_hour = 78.00
downtime_hour = 450.00
visit = 120.00
reject = 35.00
"#;

/// Looks, with everything that names a thing or a person.
const LOOKS: &str = r#"
[[source]]
name = "looks"
files = ["looks*"]
end_face_names = "fleet"
[[source.record]]
table = "inspections"
columns = { record = "id", at = "at", site = "site", end_face = "face", stage = "stage", outcome = "outcome", supplier = "supplier", family = "family", inspector = "who" }
dates = { at = ["%Y-%m-%d %H:%M", "epoch-s"] }
"#;

/// Header of [`LOOKS`].
const LOOKS_HEADER: &str = "id,at,site,face,stage,outcome,supplier,family,who\n";

/// Matings.
const JOINS: &str = r#"
[[source]]
name = "joins"
files = ["joins*"]
end_face_names = "fleet"
[[source.record]]
table = "matings"
columns = { at = "at", site = "site", end_face_a = "plug", end_face_b = "port" }
dates = { at = "%Y-%m-%d %H:%M" }
constants = { stage = "installation" }
"#;

/// Faults.
const FAULTS: &str = r#"
[[source]]
name = "desk"
files = ["desk*"]
end_face_names = "fleet"
[[source.record]]
table = "faults"
columns = { site = "site", opened = "opened", end_face = "face", cause = "cause", downtime_min = "down", visits = "visits", cost = "cost" }
dates = { opened = "%Y-%m-%d %H:%M" }
"#;

/// A fleet's folder, a few folders deep in one of its own, so that what leaves it can be seen.
struct Place {
    outer: TempDir,
    folder: PathBuf,
}

/// How a run of the program ended.
struct Done {
    code: Option<i32>,
    stdout: String,
    stderr: String,
    /// Most memory that it ever held at once, MiB; as last seen, some milliseconds before its end.
    peak_mib: u64,
}

impl Place {
    /// A folder with settings of these sources.
    fn new(sources: &[&str]) -> Self {
        let outer = tempfile::tempdir().unwrap();
        let folder = outer.path().join("one/two/fleet");
        fs::create_dir_all(&folder).unwrap();
        fs::write(folder.join("fleet.toml"), FLEET.to_owned() + &sources.concat()).unwrap();
        Self { outer, folder }
    }

    fn write(&self, name: &str, bytes: impl AsRef<[u8]>) {
        fs::write(self.folder.join(name), bytes).unwrap();
    }

    fn intake(&self) -> Done {
        self.run(&["intake", "fleet.toml"])
    }

    fn review(&self) -> Done {
        self.run(&["review", "fleet.toml", "--out", "out"])
    }

    fn run(&self, arguments: &[&str]) -> Done {
        let told = [self.outer.path().join("stdout"), self.outer.path().join("stderr")];
        let [stdout, stderr] = told.each_ref().map(|path| Stdio::from(File::create(path).unwrap()));
        let mut program = Command::new(env!("CARGO_BIN_EXE_motetrail"));
        program.args(arguments).current_dir(&self.folder).stdout(stdout).stderr(stderr);
        let (code, peak_mib) = watched(program.spawn().unwrap());
        let [stdout, stderr] = told.map(|path| {
            let text = fs::read_to_string(&path).unwrap();
            fs::remove_file(path).unwrap();
            text
        });
        Done { code, stdout, stderr, peak_mib }
    }

    /// The first quarantined rows of the store.
    fn quarantine(&self) -> Vec<Quarantined> {
        let plan = read(&self.folder.join("fleet.toml")).unwrap_or_else(|error| panic!("{error}"));
        let store = Store::open(&plan).unwrap_or_else(|error| panic!("{error}"));
        store.quarantine(1000).unwrap()
    }

    /// Every file below the outermost folder, in order.
    fn files(&self) -> Vec<PathBuf> {
        let mut found = Vec::new();
        collect(self.outer.path(), &mut found);
        found.sort();
        found
    }

    /// The text files that a review writes, with their texts.
    fn written(&self, ending: &str) -> Vec<(PathBuf, String)> {
        let mut found = self.files();
        found.retain(|path| path.extension().is_some_and(|of_path| of_path == ending));
        assert!(!found.is_empty(), "no file ends in .{ending}");
        found.into_iter().map(|path| (path.clone(), fs::read_to_string(path).unwrap())).collect()
    }
}

impl Done {
    /// The line of the sums over all files; what the records are good for stands below it.
    fn sums(&self) -> &str {
        let mut lines = self.stdout.lines();
        lines.find(|line| line.ends_with("  all")).expect("the sums are printed")
    }

    /// Rows read, loaded, rejected of a finished intake; the other two kinds are none here.
    fn rows(&self) -> [u64; 3] {
        assert!(matches!(self.code, Some(0 | 1)), "{:?} {}", self.code, self.stderr);
        let all = self.sums();
        let counts: Vec<u64> =
            all.split_whitespace().map_while(|count| count.parse().ok()).collect();
        let [read, loaded, replaced, repeated, rejected] = counts[..] else { panic!("{all}") };
        assert_eq!((replaced, repeated), (0, 0));
        assert_eq!(read, loaded + rejected, "rows were lost");
        [read, loaded, rejected]
    }
}

/// Waits for a process; its exit code and the most memory that it held, MiB.
fn watched(mut process: Child) -> (Option<i32>, u64) {
    let status = format!("/proc/{}/status", process.id());
    let mut peak = 0;
    loop {
        let text = fs::read_to_string(&status).unwrap_or_default();
        let line = text.lines().find_map(|line| line.strip_prefix("VmHWM:"));
        let kib = line.and_then(|line| line.trim().strip_suffix(" kB")?.trim().parse::<u64>().ok());
        peak = kib.map_or(peak, |kib| kib / 1024);
        match process.try_wait().unwrap() {
            Some(ended) => return (ended.code(), peak),
            None => thread::sleep(Duration::from_millis(2)),
        }
    }
}

fn collect(folder: &Path, into: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() { collect(&path, into) } else { into.push(path) }
    }
}

/// A text as a cell of a CSV file.
fn quoted(text: &str) -> String {
    format!("\"{}\"", text.replace('"', "\"\""))
}

/// Exports in which every name is one of `names`: enough looks, matings and faults for a review with
/// tables and charts.
fn named_by(place: &Place, names: &[&str]) {
    let name = |at: usize| quoted(names[at % names.len()]);
    let (mut looks, mut joins) = (LOOKS_HEADER.to_owned(), "at,site,plug,port\n".to_owned());
    let mut faults = "site,opened,face,cause,down,visits,cost\n".to_owned();
    for at in 0..600 {
        let when = format!("2026-{:02}-{:02} 0{}", 1 + at % 6, 1 + at % 28, at % 10);
        let face = quoted(&format!("{}{}", names[at % names.len()], at % 100));
        let (site, other) = (name(at / 7), name(at / 3));
        let outcome = if at % 5 == 0 { "fail" } else { "pass" };
        looks += &format!(
            "{at},{when}:00,{site},{face},installation,{outcome},{other},{other},{other}\n"
        );
        joins += &format!(
            "{when}:10,{site},{face},{}\n",
            quoted(&format!("{}r{at}", names[at % names.len()]))
        );
        if at % 3 == 0 {
            faults += &format!("{site},{when}:30,{face},contamination,30,1,\n");
        }
    }
    place.write("looks.csv", looks);
    place.write("joins.csv", joins);
    place.write("desk.csv", faults);
}
