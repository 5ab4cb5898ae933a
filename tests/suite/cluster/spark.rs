//! The job on Apache Spark itself, on this machine alone: where a Python with PySpark and a Java runtime are.

use std::path::Path;
use std::process::{Command, Stdio};

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

/// Runs the job with so many tasks a stage; what it leaves as answers.
fn on_spark(python: &str, master: &str, source: [&str; 2], partitions: &str) {
    let folder = tempfile::tempdir().unwrap();
    let job = folder.path().join("job");
    let run = program().arg("cluster").arg(fleet().join("fleet.toml")).arg(&job).output().unwrap();
    assert!(run.status.success(), "{}", String::from_utf8_lossy(&run.stderr));
    let out = folder.path().join("reports");
    let key = folder.path().join("people.key");
    std::fs::write(&key, [5; 32]).unwrap();
    let options = format!(
        "--master {master} --driver-memory 768m --conf spark.executor.memory=512m \
         --conf spark.driver.bindAddress=127.0.0.1 --conf spark.driver.host=127.0.0.1 \
         --conf spark.ui.enabled=false --conf spark.local.dir={} pyspark-shell",
        folder.path().display()
    );
    let end = Command::new(python)
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
        .unwrap();
    assert!(end.status.success(), "{}", String::from_utf8_lossy(&end.stderr));
    agrees(&answers(Path::new(&out)));
}

#[test]
fn a_job_on_spark_gives_the_review_of_one_machine_from_a_store_and_from_exports() {
    let Some(python) = python() else { return };
    let (store, demo) = (fleet().join("store"), fleet());
    let store = ["--store", store.to_str().unwrap()];
    on_spark(&python, "local-cluster[2,1,1024]", store, "2");
    on_spark(&python, "local[2]", store, "1");
    on_spark(&python, "local[2]", ["--exports", demo.to_str().unwrap()], "7");
}
