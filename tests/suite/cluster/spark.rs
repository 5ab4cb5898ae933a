//! The job on Apache Spark itself, on this machine alone: where a Python with PySpark and a Java runtime are.

use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

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
    let end = run_job((python, master), folder.path(), source, partitions);
    assert!(end.status.success(), "{}", String::from_utf8_lossy(&end.stderr));
    agrees(&answers(&folder.path().join("reports")));
}

/// Runs the job of a folder; reports go beside it.
fn run_job(
    (python, master): (&str, &str),
    folder: &Path,
    source: &[&str],
    partitions: &str,
) -> Output {
    let job = folder.join("job");
    let out = folder.join("reports");
    let key = folder.join("people.key");
    std::fs::write(&key, [5; 32]).unwrap();
    let options = format!(
        "--master {master} --driver-memory 768m --conf spark.executor.memory=512m \
         --conf spark.driver.bindAddress=127.0.0.1 --conf spark.driver.host=127.0.0.1 \
         --conf spark.ui.enabled=false --conf spark.local.dir={} pyspark-shell",
        folder.display()
    );
    Command::new(python)
        .arg(job.join("job.py"))
        .args(source)
        .args(["--partitions", partitions, "--today", "2026-07-05", "--out"])
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
    // Some of the demo's exports are longer than this, and some are not.
    on_spark(&python, "local[2]", &[&exports[..], &["--stream-above", "20000"]].concat(), "2");
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

#[test]
fn a_job_on_spark_whose_tasks_and_executors_are_killed_gives_the_review_of_one_machine() {
    let Some(python) = python() else { return };
    let folder = tempfile::tempdir().unwrap();
    let job = written(folder.path());
    let marks = folder.path().join("marks");
    std::fs::create_dir(&marks).unwrap();
    let [real, program] = ["real", "motetrail"].map(|name| job.join(name));
    std::fs::rename(&program, &real).unwrap();
    let script = UNLUCKY.replace("MARKS", marks.to_str().unwrap());
    std::fs::write(&program, script.replace("PROGRAM", real.to_str().unwrap())).unwrap();
    let store = fleet().join("store");
    let source = ["--store", store.to_str().unwrap()];
    let end = run_job((&python, "local-cluster[2,1,1024]"), folder.path(), &source, "2");
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
    let source = ["--store", store.to_str().unwrap()];
    let end = run_job((&python, "local[1]"), folder.path(), &source, "1");
    assert!(!end.status.success());
    let said = String::from_utf8_lossy(&end.stderr);
    let named = said.contains("motetrail worker share words: ended with 4: ")
        && said.contains("it was handed ")
        && said.contains("files: store/");
    assert!(named && said.contains("exports/"), "{said}");
}
