//! `motetrail cluster`: writes a job that computes the review on a cluster.

use std::path::PathBuf;

use clap::Args;

use super::log::Log;
use super::outcome::Outcome;
use super::printable::printable;
use super::say::say;
use crate::cluster::write_job;
use crate::settings;

/// Write a job for an Apache Spark cluster that computes the review where the data are.
///
/// OUT gets a PySpark script, this program and the checked settings, and nothing secret. See "When one
/// machine is not enough" in README.md for how it is run.
#[derive(Args, Debug)]
#[command(
    after_help = "Example:\n  motetrail cluster data-demo/fleet.toml job\n  spark-submit job/job.py --store data-demo/store --out reports"
)]
pub struct Cluster {
    /// The fleet's settings.
    #[arg(value_name = "FLEET.TOML")]
    settings: PathBuf,
    /// Folder of the job, made if it is not there.
    #[arg(value_name = "OUT")]
    out: PathBuf,
}

impl Cluster {
    /// Runs the command.
    ///
    /// # Errors
    /// Settings, or a folder that cannot be written.
    pub fn run(self, log: &Log) -> anyhow::Result<Outcome> {
        let plan = settings::read(&self.settings)?;
        let program = std::env::current_exe()?;
        write_job(&plan, &self.settings, &program, &self.out)?;
        log.note(&format!("cluster: {} holds the job", self.out.display()));
        say!("{}", printable(&self.out.join("job.py").display().to_string()));
        Ok(Outcome::Done)
    }
}
