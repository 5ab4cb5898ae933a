//! A small engine: runs the workers of a job as a cluster's would, as processes, and moves chunks between them.

use std::collections::BTreeMap;
use std::fs::{self, File};
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use motetrail::derive::share::envelope::{self, CHUNK, Chunk, Envelope, Seal};
use motetrail::derive::share::stage::{Kind, Stage};

/// A row of a stream.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Row {
    pub kind: Kind,
    pub name: String,
    pub place: u32,
    pub bytes: Vec<u8>,
}

/// The program, to be given arguments.
pub fn program() -> Command {
    Command::new(env!("CARGO_BIN_EXE_motetrail"))
}

/// A job and what its tasks are handed.
pub struct Engine {
    pub folder: tempfile::TempDir,
    pub seal: Seal,
    /// Streams that every task is handed.
    pub with: Vec<PathBuf>,
    /// Rows of the store's files, by unit.
    pub units: Vec<Vec<Row>>,
    /// Those of them that hold tickets.
    pub tickets: Vec<Vec<Row>>,
    /// Streams with what was counted: for the stages that go by some of it, and all of it for the report.
    pub cells: Vec<PathBuf>,
    pub counts: Vec<PathBuf>,
}

pub fn rows_of(bytes: &[u8], seal: &Seal) -> Vec<Row> {
    let mut rows = Vec::new();
    envelope::read(bytes, seal, |Chunk { kind, name, place, bytes }| {
        rows.push(Row { kind, name: name.to_owned(), place, bytes: bytes.to_vec() });
        Ok(())
    })
    .unwrap();
    rows
}

pub fn stream_of(rows: &[Row], seal: &Seal) -> Vec<u8> {
    let mut bytes = Vec::new();
    let mut stream = Envelope::new(&mut bytes, seal).unwrap();
    for Row { kind, name, place, bytes } in rows {
        stream.push(Chunk { kind: *kind, name, place: *place, bytes }).unwrap();
    }
    stream.finish().unwrap();
    bytes
}

/// A file as rows of a stream.
pub fn pieces(name: &str, path: &Path) -> Vec<Row> {
    let bytes = fs::read(path).unwrap();
    let pieces = bytes.chunks(CHUNK).zip(0..);
    let row = |(piece, place): (&[u8], u32)| Row {
        kind: Kind::File,
        name: name.to_owned(),
        place,
        bytes: piece.to_vec(),
    };
    pieces.map(row).collect()
}

/// Feeds a worker; what it wrote, or what it said.
pub fn fed(mut worker: Command, input: Vec<u8>) -> Result<Vec<u8>, String> {
    let mut worker = worker.spawn().unwrap();
    let mut to = worker.stdin.take().unwrap();
    // A worker that refuses what it reads ends early: what it says tells why.
    let feeding = std::thread::spawn(move || to.write_all(&input));
    let answer = worker.wait_with_output().unwrap();
    drop(feeding.join().unwrap());
    if answer.status.success() {
        return Ok(answer.stdout);
    }
    Err(String::from_utf8_lossy(&answer.stderr).into_owned())
}

impl Engine {
    /// A job for the settings of a fleet.
    pub fn of_settings(fleet: &Path) -> Engine {
        let folder = tempfile::tempdir().unwrap();
        let job = folder.path().join("job");
        let run =
            program().arg("cluster").arg(fleet.join("fleet.toml")).arg(&job).output().unwrap();
        assert!(run.status.success(), "{}", String::from_utf8_lossy(&run.stderr));
        let about = fs::read_to_string(job.join("job.json")).unwrap();
        let about: serde_json::Value = serde_json::from_str(&about).unwrap();
        let settings = about["metadata"]["motetrail_settings"].as_str().unwrap();
        let seal = Seal::of(settings);
        assert_eq!(about["metadata"]["motetrail_version"], seal.version);
        let with = vec![job.join("settings.stream")];
        Engine {
            seal,
            with,
            units: Vec::new(),
            tickets: Vec::new(),
            counts: Vec::new(),
            cells: Vec::new(),
            folder,
        }
    }

    /// A job on a store that is there.
    pub fn of_store(fleet: &Path) -> Engine {
        let mut engine = Engine::of_settings(fleet);
        let store = fleet.join("store");
        let mut files = pieces("store/manifest.json", &store.join("manifest.json"));
        for folder in ["parts", "dropped"] {
            for entry in fs::read_dir(store.join(folder)).unwrap() {
                let path = entry.unwrap().path();
                let name = path.file_name().unwrap().to_str().unwrap();
                files.extend(pieces(&format!("store/{folder}/{name}"), &path));
            }
        }
        engine.take_store(files);
        engine
    }

    /// Takes the files of a store, its manifest among them.
    pub fn take_store(&mut self, files: Vec<Row>) {
        let mut by_name: BTreeMap<String, Vec<Row>> = BTreeMap::new();
        for row in files {
            by_name.entry(row.name.clone()).or_default().push(row);
        }
        let manifest = stream_of(&by_name["store/manifest.json"], &self.seal);
        let wanted = self.run(&["files"], manifest).unwrap();
        let wanted: serde_json::Value = serde_json::from_slice(&wanted).unwrap();
        let named = |names: &serde_json::Value| -> Vec<Row> {
            let names = names.as_array().unwrap().iter();
            names.flat_map(|name| by_name[name.as_str().unwrap()].clone()).collect()
        };
        self.send("base", &stream_of(&named(&wanted["shared"]), &self.seal));
        self.units = wanted["units"].as_array().unwrap().iter().map(named).collect();
        self.tickets = wanted["tickets"].as_array().unwrap().iter().map(named).collect();
    }

    /// Hands a stream to every task from now on.
    pub fn send(&mut self, name: &str, bytes: &[u8]) {
        let path = self.put(name, bytes);
        self.with.push(path);
    }

    fn put(&self, name: &str, bytes: &[u8]) -> PathBuf {
        let path = self.folder.path().join(format!("{name}.stream"));
        File::create(&path).unwrap().write_all(bytes).unwrap();
        path
    }

    /// A worker, not yet fed.
    pub fn worker(&self, task: &[&str]) -> Command {
        let mut worker = program();
        worker.arg("worker").args(task).arg("--with").args(&self.with);
        let stage = task.get(1).and_then(|word| Stage::of(word));
        if task[0] == "report" {
            worker.args(&self.counts);
        } else if task[0] == "share" && stage.is_some_and(Stage::needs_counts) {
            worker.args(&self.cells);
        }
        worker.env("RAYON_NUM_THREADS", "1");
        worker.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
        worker
    }

    /// Runs a worker; what it wrote, or what it said.
    pub fn run(&self, task: &[&str], input: Vec<u8>) -> Result<Vec<u8>, String> {
        fed(self.worker(task), input)
    }

    /// The rows that a stage takes, shared out: what belongs together comes to one share.
    pub fn shares(&self, stage: Stage, made: &[Row], count: usize) -> Vec<Vec<Row>> {
        let mut shares: Vec<Vec<Row>> = vec![Vec::new(); count];
        if stage.is_one_task() {
            let rows = made.iter().filter(|row| stage.takes().contains(&row.kind));
            shares[count / 2] = rows.cloned().collect();
        } else if stage.takes() == [Kind::File] {
            let units = if stage.is_of_tickets() { &self.tickets } else { &self.units };
            for (number, unit) in units.iter().enumerate() {
                shares[number * 5 % count].extend(unit.iter().cloned());
            }
        } else {
            for row in made.iter().filter(|row| stage.takes().contains(&row.kind)) {
                shares[(row.place as usize * 5 + 3) % count].push(row.clone());
            }
        }
        // Whatever rows there are, a stage begins once; shares without a row are left as they are.
        let begin = Row { kind: Kind::Begin, name: String::new(), place: 0, bytes: Vec::new() };
        shares[count / 2].push(begin);
        shares
    }

    /// Runs every stage in so many shares, each by `task`, and joins what they hand on.
    pub fn derive(
        &mut self,
        count: usize,
        mut task: impl FnMut(&Engine, Stage, usize, Vec<u8>) -> Vec<u8>,
    ) {
        let mut made: Vec<Row> = Vec::new();
        for stage in Stage::ALL {
            let mut handed_on = Vec::new();
            // The last share is computed first, so that rows arrive in another order than they were written in.
            for (number, share) in self.shares(*stage, &made, count).into_iter().enumerate().rev() {
                let answer = task(self, *stage, number, stream_of(&share, &self.seal));
                handed_on.extend(rows_of(&answer, &self.seal));
            }
            let is_state = |row: &Row| matches!(row.kind, Kind::State | Kind::Counts);
            let (states, rows): (Vec<Row>, Vec<Row>) = handed_on.into_iter().partition(is_state);
            made.extend(rows);
            let joined = self.run(&["join", stage.word()], stream_of(&states, &self.seal)).unwrap();
            let mut apart: BTreeMap<Kind, Vec<Row>> = BTreeMap::new();
            for row in rows_of(&joined, &self.seal) {
                apart.entry(row.kind).or_default().push(row);
            }
            let mut of =
                |kind: Kind| stream_of(&apart.remove(&kind).unwrap_or_default(), &self.seal);
            let [states, cells, counts] = [Kind::State, Kind::Cells, Kind::Counts].map(&mut of);
            self.send(stage.word(), &states);
            self.cells.push(self.put(&format!("{}.cells", stage.word()), &cells));
            self.counts.push(self.put(&format!("{}.counts", stage.word()), &counts));
        }
    }

    /// The report of what the stages came to: its tables and findings.
    pub fn report(&self) -> BTreeMap<String, Vec<u8>> {
        let out = self.folder.path().join("reports");
        let out = out.to_str().unwrap();
        let tickets = self.put("tickets.files", &stream_of(&self.tickets.concat(), &self.seal));
        let mut worker = self.worker(&["report", "--out", out]);
        worker.arg(tickets);
        fed(worker, Vec::new()).unwrap();
        answers(Path::new(out))
    }
}

/// Tables and findings of the one report in a folder.
pub fn answers(reports: &Path) -> BTreeMap<String, Vec<u8>> {
    let period = fs::read_dir(reports).unwrap().next().unwrap().unwrap().path();
    let mut found = BTreeMap::from([(
        "findings.json".to_owned(),
        fs::read(period.join("findings.json")).unwrap(),
    )]);
    for entry in fs::read_dir(period.join("tables")).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_some_and(|extension| extension == "csv") {
            let name = path.file_name().unwrap().to_string_lossy().into_owned();
            found.insert(name, fs::read(path).unwrap());
        }
    }
    assert!(found.len() > 10, "{:?}", found.keys());
    found
}
