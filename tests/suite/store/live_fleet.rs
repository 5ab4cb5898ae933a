//! A fleet in a folder that the program itself is run on: several sources, a correcting export, one
//! that overlaps another, rows that are no rows, a packed file.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use chrono::Timelike;
use flate2::write::GzEncoder;
use motetrail::settings::{Plan, read};
use motetrail::store::{Store, today};
use tempfile::TempDir;

use super::collect;

/// Rows of a file.
const ROWS: usize = 300;

const SETTINGS: &str = r#"[fleet]
name = "Kestrel Vale, one bench"
currency = "EUR"
timezone = "Europe/Vienna"
as_of = "2026-07-05"

[rules]
quarantine_limit = 0.5

[[source]]
name = "looks"
files = ["exports/looks-*.csv"]
site = "North"
end_face_names = "fleet"
[[source.record]]
table = "inspections"
columns = { record = "id", at = "at", end_face = "face", stage = "stage", outcome = "outcome" }
dates = { at = "%Y-%m-%d %H:%M" }
[[source.record]]
table = "cleanings"
when = { column = "method", given = true }
columns = { record = "id", at = "at", end_face = "face", stage = "stage", method = "method" }
dates = { at = "%Y-%m-%d %H:%M" }

[[source]]
name = "joins"
files = ["exports/joins-*.csv.gz"]
site = "North"
end_face_names = "fleet"
[[source.record]]
table = "matings"
columns = { at = "at", end_face_a = "plug", end_face_b = "port", stage = "stage" }
dates = { at = "%Y-%m-%d %H:%M" }

[[source]]
name = "desk"
files = ["exports/desk-*.csv"]
site = "North"
end_face_names = "fleet"
[[source.record]]
table = "faults"
columns = { record = "no", opened = "opened", end_face = "face" }
dates = { opened = "%Y-%m-%d %H:%M" }
"#;

/// A folder with settings, exports and a store.
pub struct LiveFleet {
    folder: TempDir,
}

impl LiveFleet {
    /// The fleet with its first exports.
    pub fn new() -> Self {
        wait_out_midnight();
        let folder = fast_folder();
        fs::create_dir(folder.path().join("exports")).unwrap();
        fs::write(folder.path().join("fleet.toml"), SETTINGS).unwrap();
        let fleet = Self { folder };
        fleet.write("looks-1.csv", &looks(0, "pass"));
        fleet.write("joins-1.csv.gz", &joins(0));
        fleet
    }

    /// The same with the exports that came later: corrections, repeats, damage.
    pub fn grown() -> Self {
        let fleet = Self::new();
        fleet.grow();
        fleet
    }

    /// Brings the later exports.
    pub fn grow(&self) {
        self.write("looks-2.csv", &(looks(ROWS / 2, "fail") + "9,no day,P9,incoming,pass,\nx\n"));
        self.write("joins-2.csv.gz", &joins(ROWS / 3));
        self.write("desk-1.csv", &faults());
    }

    /// Brings so many exports of one row each.
    pub fn scatter(&self, exports: usize) {
        for at in 0..exports {
            let row = format!("2026-03-01 11:{at:02},U{at},V{at},incoming\n");
            self.write(&format!("joins-s{at}.csv.gz"), &format!("at,plug,port,stage\n{row}"));
        }
    }

    fn write(&self, name: &str, text: &str) {
        let path = self.path().join("exports").join(name);
        if name.ends_with(".gz") {
            let mut packed = GzEncoder::new(Vec::new(), flate2::Compression::fast());
            packed.write_all(text.as_bytes()).unwrap();
            fs::write(path, packed.finish().unwrap()).unwrap();
        } else {
            fs::write(path, text).unwrap();
        }
    }

    /// Its folder.
    pub fn path(&self) -> &Path {
        self.folder.path()
    }

    /// Folder of its store.
    pub fn store(&self) -> PathBuf {
        self.plan().fleet.store
    }

    /// The program's intake, still to be started.
    pub fn intake(&self) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_motetrail"));
        command.args(["intake", "--quiet", "fleet.toml"]);
        self.quiet(command)
    }

    /// The same behind `set_up`, words for the shell.
    pub fn intake_after(&self, set_up: &str) -> Command {
        let mut command = Command::new("sh");
        let program = env!("CARGO_BIN_EXE_motetrail");
        command.args(["-c", &format!("{set_up}; exec \"$0\" intake --quiet fleet.toml"), program]);
        self.quiet(command)
    }

    fn quiet(&self, mut command: Command) -> Command {
        command.current_dir(self.path()).stdout(Stdio::null()).stderr(Stdio::null());
        command
    }

    /// Runs intake to its end, which must be a good one, and gives what is in the store.
    pub fn taken(&self) -> BTreeMap<String, Vec<u8>> {
        let done = self.intake().stderr(Stdio::piped()).output().unwrap();
        assert_eq!(done.status.code(), Some(0), "{}", String::from_utf8_lossy(&done.stderr));
        self.bytes()
    }

    /// Takes the exports in this process, checks the whole store, and gives what is in it.
    pub fn taken_here(&self) -> BTreeMap<String, Vec<u8>> {
        let plan = self.plan();
        let mut store = self.open();
        store.take(&plan, today().unwrap(), &()).unwrap_or_else(|error| panic!("{error}"));
        assert_eq!(store.verify().unwrap(), []);
        drop(store);
        self.bytes()
    }

    /// Opens the store in this process.
    pub fn open(&self) -> Store {
        Store::open(&self.plan()).unwrap_or_else(|error| panic!("{error}"))
    }

    /// Its settings as read.
    pub fn plan(&self) -> Plan {
        read(&self.path().join("fleet.toml")).unwrap_or_else(|error| panic!("{error}"))
    }

    /// Every file of the store but lock, key and marker, which differ by nature.
    pub fn bytes(&self) -> BTreeMap<String, Vec<u8>> {
        let mut all = BTreeMap::new();
        collect(&self.store(), &self.store(), &mut all);
        all.remove("lock");
        all.remove("people.key");
        all.remove("store.json");
        all
    }
}

/// A folder on a file system in memory where there is one: a kill does not lose what was written, and
/// nothing has to wait for a disk.
fn fast_folder() -> TempDir {
    tempfile::tempdir_in("/dev/shm").or_else(|_| tempfile::tempdir()).unwrap()
}

/// The day of intake is in the bytes of a store, so a test that compares stores must not begin so late
/// that another day comes meanwhile.
fn wait_out_midnight() {
    let of_day =
        |now: chrono::DateTime<chrono::Utc>| u64::from(now.time().num_seconds_from_midnight());
    let left = 86_400 - of_day(chrono::Utc::now());
    if left < 120 {
        std::thread::sleep(std::time::Duration::from_secs(left));
    }
}

/// Whether these are the files of a store without exports, or of none.
pub fn are_of_a_new_store(bytes: &BTreeMap<String, Vec<u8>>) -> bool {
    let no_exports = |text: &[u8]| String::from_utf8_lossy(text).contains("\"exports\": []");
    bytes.iter().all(|(name, text)| name == "manifest.json" && no_exports(text))
}

/// Looks numbered from `first`; every third with a cleaning.
fn looks(first: usize, outcome: &str) -> String {
    let mut text = "id,at,face,stage,outcome,method\n".to_owned();
    for id in first..first + ROWS {
        let method = if id % 3 == 0 { "dry" } else { "" };
        let (day, minute) = (1 + id % 28, id % 60);
        let row = format!("{id},2026-02-{day:02} 08:{minute:02},P{id},incoming,{outcome},{method}");
        writeln!(text, "{row}").unwrap();
    }
    text
}

/// Matings without ids, from the one numbered `first`.
fn joins(first: usize) -> String {
    let mut text = "at,plug,port,stage\n".to_owned();
    for id in first..first + ROWS {
        writeln!(text, "2026-03-{:02} 10:{:02},P{id},Q{id},incoming", 1 + id % 28, id % 60)
            .unwrap();
    }
    text
}

fn faults() -> String {
    let mut text = "no,opened,face\n".to_owned();
    for id in 0..ROWS {
        let opened =
            if id % 50 == 7 { "soon".into() } else { format!("2026-04-{:02} 12:00", 1 + id % 28) };
        writeln!(text, "{id},{opened},P{id}").unwrap();
    }
    text
}
