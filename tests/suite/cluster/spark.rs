//! The job on Apache Spark itself, on this machine alone: where a Python with PySpark and a Java runtime are.

use std::net::TcpListener;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};

use motetrail::derive::Stage;

use super::engine::{answers, program};
use super::shares::{agrees, fleet};

/// The Python that has PySpark: of the environment variable, else the system's. None where there is none, which is a
/// failure where CI must have installed it.
fn python() -> Option<String> {
    let python = std::env::var("MOTETRAIL_SPARK_PYTHON").unwrap_or_else(|_| "python3".into());
    let works = |command: &mut Command| {
        command.stdout(Stdio::null()).stderr(Stdio::null()).status().is_ok_and(|end| end.success())
    };
    let has_spark = works(Command::new(&python).args(["-c", "import pyspark, pyarrow, pandas"]));
    let has_java = works(Command::new("java").arg("-version"));
    if has_spark && has_java {
        return Some(python);
    }
    assert!(
        std::env::var_os("MOTETRAIL_SPARK_PYTHON").is_none(),
        "MOTETRAIL_SPARK_PYTHON names {python}: has PySpark {has_spark}, Java {has_java}"
    );
    eprintln!("the job was not run on Spark: {python} has PySpark: {has_spark}, Java: {has_java}");
    None
}

/// A job in a folder.
fn written(folder: &Path) -> PathBuf {
    let job = folder.join("job");
    let run = program().arg("cluster").arg(fleet().join("fleet.toml")).arg(&job).output().unwrap();
    assert!(run.status.success(), "{}", String::from_utf8_lossy(&run.stderr));
    job
}

/// Runs the job with so many tasks a stage; what it leaves as answers.
fn on_spark(python: &str, master: &str, source: &[&str], partitions: &str) {
    let folder = tempfile::tempdir().unwrap();
    written(folder.path());
    let end = run_job(
        (python, master),
        folder.path(),
        &[source, &["--partitions", partitions]].concat(),
        "",
    );
    assert!(end.status.success(), "{}", String::from_utf8_lossy(&end.stderr));
    agrees(&answers(&folder.path().join("reports")));
}

/// Runs the job of a folder; reports go beside it.
fn run_job(
    (python, master): (&str, &str),
    folder: &Path,
    arguments: &[&str],
    conf: &str,
) -> Output {
    let job = folder.join("job");
    let out = folder.join("reports");
    let key = folder.join("people.key");
    std::fs::write(&key, [5; 32]).unwrap();
    let options = format!(
        "--master {master} --driver-memory 768m --conf spark.executor.memory=512m \
         --conf spark.driver.bindAddress=127.0.0.1 --conf spark.driver.host=127.0.0.1 \
         --conf spark.ui.enabled=false --conf spark.local.dir={} {conf} pyspark-shell",
        folder.display()
    );
    Command::new(python)
        .arg(job.join("job.py"))
        .args(arguments)
        .args(["--today", "2026-07-05", "--out"])
        .arg(&out)
        .env("PYSPARK_SUBMIT_ARGS", options)
        .env("PYSPARK_PYTHON", python)
        .env("SPARK_LOCAL_IP", "127.0.0.1")
        .env("MOTETRAIL_PEOPLE_KEY", &key)
        .env("RAYON_NUM_THREADS", "1")
        .output()
        .unwrap()
}

#[test]
fn a_job_on_spark_gives_the_review_of_one_machine_from_a_store_and_from_exports() {
    let Some(python) = python() else { return };
    let (store, demo) = (fleet().join("store"), fleet());
    let store = ["--store", store.to_str().unwrap()];
    on_spark(&python, "local-cluster[2,1,1024]", &store, "2");
    on_spark(&python, "local[2]", &store, "1");
    let exports = ["--exports", demo.to_str().unwrap()];
    on_spark(&python, "local[2]", &exports, "7");
    // Some of the demo's exports are longer than these, and some are not.
    let long = ["--stream-above", "20000", "--range-above", "12000"];
    on_spark(&python, "local[2]", &[&exports[..], &long].concat(), "3");
}

/// Stands in the program's place, and the first time that a stage begins takes a way out that a cluster may: ends before it
/// reads, ends when it has read some, takes the whole executor with it.
const UNLUCKY: &str = r#"#!/bin/sh
marks=MARKS
if [ "$2" = share ] && mkdir "$marks/$3" 2>/dev/null; then
  case $(($(printf %s "$3" | cksum | cut -d' ' -f1) % 4)) in
    0) kill -9 $$ ;;
    1) head -c 5000 >/dev/null; kill -9 $$ ;;
    2) # Of the worker of Python, the process that made it, and the executor that made that.
       forked=$(cut -d' ' -f4 /proc/$PPID/stat)
       executor=$(cut -d' ' -f4 /proc/$forked/stat)
       mkdir "$marks/executor-$3"
       case $(cat /proc/$executor/comm) in java) kill -9 $executor ;; esac
       kill -9 $$ ;;
  esac
fi
exec PROGRAM "$@"
"#;

/// Puts a script in the program's place; gives the folder where it leaves marks.
fn stand_in(job: &Path, script: &str) -> PathBuf {
    let [real, program, marks] = ["real", "motetrail", "marks"].map(|name| job.join(name));
    std::fs::create_dir(&marks).unwrap();
    std::fs::rename(&program, &real).unwrap();
    let script = script.replace("MARKS", marks.to_str().unwrap());
    std::fs::write(&program, script.replace("PROGRAM", real.to_str().unwrap())).unwrap();
    marks
}

#[test]
fn a_job_on_spark_whose_tasks_and_executors_are_killed_gives_the_review_of_one_machine() {
    let Some(python) = python() else { return };
    let folder = tempfile::tempdir().unwrap();
    let job = written(folder.path());
    let marks = stand_in(&job, UNLUCKY);
    let store = fleet().join("store");
    let arguments = ["--store", store.to_str().unwrap(), "--partitions", "2"];
    let end = run_job((&python, "local-cluster[2,1,1024]"), folder.path(), &arguments, "");
    let said = String::from_utf8_lossy(&end.stderr);
    assert!(end.status.success(), "{said}");
    let met = std::fs::read_dir(&marks).unwrap().map(|mark| mark.unwrap().file_name());
    let met: Vec<String> = met.map(|name| name.to_string_lossy().into_owned()).collect();
    assert!(Stage::ALL.iter().all(|stage| met.iter().any(|mark| mark == stage.word())), "{met:?}");
    assert!(met.iter().any(|mark| mark.starts_with("executor-")), "{met:?}");
    assert!(said.contains("Lost executor") && said.contains("ended with -9"), "{said}");
    agrees(&answers(&folder.path().join("reports")));
}

#[test]
fn a_job_on_spark_that_fails_names_the_input_that_its_worker_was_handed() {
    let Some(python) = python() else { return };
    let folder = tempfile::tempdir().unwrap();
    written(folder.path());
    let store = folder.path().join("store");
    std::fs::create_dir(&store).unwrap();
    std::fs::copy(fleet().join("store/manifest.json"), store.join("manifest.json")).unwrap();
    for kept in ["parts", "dropped"] {
        std::fs::create_dir(store.join(kept)).unwrap();
        for entry in std::fs::read_dir(fleet().join("store").join(kept)).unwrap() {
            let path = entry.unwrap().path();
            let mut bytes = std::fs::read(&path).unwrap();
            let middle = bytes.len() / 2;
            bytes[middle] ^= u8::from(kept == "parts");
            std::fs::write(store.join(kept).join(path.file_name().unwrap()), bytes).unwrap();
        }
    }
    let arguments = ["--store", store.to_str().unwrap(), "--partitions", "1"];
    let end = run_job((&python, "local[1]"), folder.path(), &arguments, "");
    assert!(!end.status.success());
    let said = String::from_utf8_lossy(&end.stderr);
    let named = said.contains("motetrail worker share words: ended with 4: ")
        && said.contains("it was handed ")
        && said.contains("files: store/");
    assert!(named && said.contains("exports/"), "{said}");
    assert!(said.contains(" of its records)"), "{said}");
}

#[test]
fn a_job_on_spark_whose_typing_worker_is_killed_names_the_line_that_it_had_read() {
    let Some(python) = python() else { return };
    let folder = tempfile::tempdir().unwrap();
    let job = written(folder.path());
    // Does what it is asked, and is killed before anybody hears of it.
    stand_in(
        &job,
        "#!/bin/sh\n[ \"$2\" = type ] || exec PROGRAM \"$@\"\nPROGRAM \"$@\" >/dev/null\nkill -9 $$\n",
    );
    let demo = fleet();
    let arguments = ["--exports", demo.to_str().unwrap(), "--partitions", "1"];
    let end = run_job((&python, "local[1]"), folder.path(), &arguments, "");
    assert!(!end.status.success());
    let said = String::from_utf8_lossy(&end.stderr);
    let (_, at) = said.split_once("ended with -9: it said nothing; it had read up to ").unwrap();
    let at = at.lines().next().unwrap();
    let (file, line) = at.split_once(" (").unwrap().0.rsplit_once(':').unwrap();
    let text = std::fs::read_to_string(fleet().join(file)).unwrap_or_default();
    assert!(line.parse::<usize>().is_ok_and(|line| line > 1), "{at}");
    assert!(text.is_empty() || line.parse::<usize>().unwrap() <= text.lines().count(), "{at}");
}

/// A cluster of one machine whose workers have different hosts, as the engine asks of a copy of a task: a master and two
/// workers on addresses of the loopback interface. Gone when dropped.
struct Hosts {
    master: String,
    processes: Vec<Child>,
}

impl Hosts {
    fn start(python: &str, folder: &Path) -> Hosts {
        let asked = ["-c", "import pyspark; print(pyspark.__path__[0], end='')"];
        let place = Command::new(python).args(asked).output().unwrap().stdout;
        let place = String::from_utf8(place).unwrap();
        let port = TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap().port();
        let master = format!("spark://127.0.0.1:{port}");
        let mut hosts = Hosts { master: master.clone(), processes: Vec::new() };
        let mut run = |host: &str, arguments: &[&str]| {
            let mut process = Command::new(format!("{place}/bin/spark-class"));
            process.args(arguments).args(["--host", host, "--webui-port", "0"]);
            process.env("SPARK_HOME", &place).env("SPARK_LOCAL_IP", host);
            process.env("SPARK_DAEMON_MEMORY", "256m").env("PYSPARK_PYTHON", python);
            process.stdout(Stdio::null()).stderr(Stdio::null());
            hosts.processes.push(process.spawn().unwrap());
        };
        let port = port.to_string();
        run("127.0.0.1", &["org.apache.spark.deploy.master.Master", "--port", &port]);
        for host in ["127.0.0.2", "127.0.0.3"] {
            let work = folder.join(host);
            let worker = ["org.apache.spark.deploy.worker.Worker", &master, "--cores", "1"];
            let own = ["--memory", "1g", "--work-dir", work.to_str().unwrap()];
            run(host, &[&worker[..], &own].concat());
        }
        hosts
    }
}

impl Drop for Hosts {
    fn drop(&mut self) {
        for process in &mut self.processes {
            // It may have ended by itself.
            let _ = process.kill();
            let _ = process.wait();
        }
    }
}

/// Stands in the program's place: of each stage the first worker takes a long time before it begins.
const SLOW: &str = r#"#!/bin/sh
if [ "$2" = share ]; then
  : > "MARKS/$3.$$"
  if [ "$3" = scan ] || [ "$3" = pass-one ]; then
    mkdir "MARKS/slow-$3" 2>/dev/null && sleep 30
  fi
fi
exec PROGRAM "$@"
"#;

#[test]
fn a_job_on_spark_of_which_slow_tasks_are_run_twice_gives_the_review_of_one_machine() {
    let Some(python) = python() else { return };
    let folder = tempfile::tempdir().unwrap();
    let job = written(folder.path());
    let marks = stand_in(&job, SLOW);
    let hosts = Hosts::start(&python, folder.path());
    let store = fleet().join("store");
    let arguments = ["--store", store.to_str().unwrap(), "--partitions", "2"];
    let conf = "--conf spark.speculation=true --conf spark.speculation.interval=100ms \
                --conf spark.speculation.quantile=0.5 --conf spark.speculation.multiplier=1.1";
    let end = run_job((&python, &hosts.master), folder.path(), &arguments, conf);
    let said = String::from_utf8_lossy(&end.stderr);
    assert!(end.status.success(), "{said}");
    let met = std::fs::read_dir(&marks).unwrap().map(|mark| mark.unwrap().file_name());
    let met: Vec<String> = met.map(|name| name.to_string_lossy().into_owned()).collect();
    for stage in ["scan.", "pass-one."] {
        // Two tasks, and a copy of the slow one.
        let workers = met.iter().filter(|mark| mark.starts_with(stage)).count();
        assert!(workers > 2, "{stage} {workers} {met:?} {said}");
    }
    agrees(&answers(&folder.path().join("reports")));
}
