//! `motetrail init`: the settings of a fleet from a folder of exports.

use std::fs;
use std::io::{self, BufRead, IsTerminal, Write};
use std::path::{Path, PathBuf};

use clap::Args;

use super::log::Log;
use super::needs::needs_text;
use super::outcome::{Outcome, WrongArgument};
use super::peek::look::look;
use super::printable::printable;
use super::say::say;
use crate::draft::{
    AskedOfFleet, Exported, FleetAsked, FleetDraft, answer, asked, first, more, typed,
};
use crate::settings::{self, Plan, SettingsError};
use crate::tabular::Room;

/// Deepest folder that is looked into.
const DEEPEST: usize = 8;
/// Most files that are looked at.
const MOST_FILES: usize = 5_000;

/// Draft the settings of a fleet from a folder of exports.
///
/// Looks at every file of the folder, groups those of one shape, says which table each group holds, and writes
/// settings with a map for each. What the files do not tell is asked at the top of the settings, what changes most
/// first, with the evidence and what stands until there is an answer. Where the settings are there already, only what
/// is new is added and no answer is changed.
#[derive(Args, Debug)]
#[command(after_help = "Example:\n  motetrail init exports --ask\n  motetrail review fleet.toml")]
pub struct Init {
    /// Folder of the exports.
    #[arg(value_name = "FOLDER")]
    folder: PathBuf,
    /// The settings to write, or to add to.
    #[arg(long, value_name = "FLEET.TOML", default_value = "fleet.toml")]
    settings: PathBuf,
    /// Name of the fleet, as the report prints it; without it, that of the folder.
    #[arg(long)]
    name: Option<String>,
    /// Ask the questions on the terminal, one at a time, and write the answers into the settings.
    #[arg(long)]
    ask: bool,
    /// Answers to write into the settings: a TOML file with a line `"KEY" = value` for each.
    #[arg(long, value_name = "ANSWERS.TOML")]
    answers: Option<PathBuf>,
}

impl Init {
    /// Runs the command.
    ///
    /// # Errors
    /// A folder that cannot be read, settings that are wrong or cannot be written, an answer to no question.
    pub fn run(self, log: &Log) -> anyhow::Result<Outcome> {
        let text = match fs::read_to_string(&self.settings) {
            Ok(text) => Some(text),
            Err(error) if error.kind() == io::ErrorKind::NotFound => None,
            Err(error) => return Err(named(&self.settings, error)),
        };
        let known =
            text.map(|text| Ok::<_, anyhow::Error>((settings::read(&self.settings)?, text)));
        let known = known.transpose()?;
        let room = known.as_ref().map(|(plan, _)| Room::of_mib(plan.rules.memory_mib));
        let base = self.settings.parent().unwrap_or(Path::new(""));
        let mut paths = Vec::new();
        files(&self.folder, 0, &mut paths)?;
        paths.sort();
        let (mut exports, mut unread) = (Vec::new(), Vec::new());
        for path in &paths {
            match exported(path, base, room.unwrap_or_default()) {
                Ok(export) => exports.push(export),
                Err(error) => unread.push((below(path, base), format!("{error:#}"))),
            }
        }
        let name = self.name.clone().unwrap_or_else(|| name_of(&self.folder));
        let files = paths.iter().map(|path| below(path, base)).collect();
        let is_new = known.is_none();
        let asked_for = FleetAsked { name, files, known };
        let draft = if is_new { first(&asked_for, exports) } else { more(&asked_for, exports) };
        if is_new && draft.sources.is_empty() {
            let found = format!("{} files", paths.len());
            let expected = "a folder with at least one export of inspections, cleanings, matings, faults or end faces";
            tell_left_out(&draft, &unread, log);
            return Err(
                WrongArgument { argument: "FOLDER", found, expected: expected.into() }.into()
            );
        }
        let mut toml = draft.toml.clone();
        if let Some(path) = &self.answers {
            toml = answered_from(&toml, path)?;
            self.checked(&toml)?;
        }
        write(&self.settings, &toml)?;
        self.tell(&draft, &unread, log);
        if self.ask {
            self.ask(&mut toml)?;
        }
        let plan = settings::read(&self.settings)?;
        let open = plan.open.len();
        say!("{}", needs_text(&plan, false));
        let settings = printable(&self.settings.display().to_string());
        let open = match open {
            0 => "no question is open".to_owned(),
            1 => "1 question is open".to_owned(),
            many => format!("{many} questions are open"),
        };
        say!("{settings}: {open}; next: motetrail review {settings}");
        Ok(Outcome::Done)
    }

    fn tell(&self, draft: &FleetDraft, unread: &[(String, String)], log: &Log) {
        for line in &draft.sources {
            say!("{}", printable(line));
        }
        if draft.sources.is_empty() {
            say!("nothing new in {}", printable(&self.folder.display().to_string()));
        }
        tell_left_out(draft, unread, log);
    }

    /// Whether the settings can be read with these answers.
    fn checked(&self, toml: &str) -> Result<Plan, SettingsError> {
        let folder = self.settings.parent().unwrap_or(Path::new(""));
        settings::read_text(toml, folder, &self.settings.display().to_string())
    }

    /// Asks one question after the other; the settings are written after each, and never with an answer that cannot be
    /// read.
    fn ask(&self, toml: &mut String) -> anyhow::Result<()> {
        if !io::stdin().is_terminal() {
            return Ok(());
        }
        say!("\nEnter takes what stands in brackets; ? leaves a question open.");
        let mut lines = io::stdin().lock().lines();
        for question in asked(toml) {
            loop {
                let Some(given) = ask_one(&question, &mut lines)? else { return Ok(()) };
                if given.is_empty() {
                    break;
                }
                let answered = answer(toml, &given).map_err(|key| no_question(&key))?;
                match self.checked(&answered) {
                    Ok(_) => {
                        write(&self.settings, &answered)?;
                        *toml = answered;
                        break;
                    }
                    Err(error) => {
                        say!("  That cannot be: {}", printable(&error.to_string()));
                    }
                }
            }
        }
        Ok(())
    }
}

/// Asks one question; the answers that were given, none where nobody answers any more.
fn ask_one(
    question: &AskedOfFleet,
    lines: &mut dyn Iterator<Item = io::Result<String>>,
) -> io::Result<Option<Vec<(String, String)>>> {
    say!("\n{}", printable(&question.question));
    // What is likely stands in brackets.
    for remark in question.remarks.iter().filter(|remark| !remark.starts_with("Likely: ")) {
        say!("  {}", printable(remark));
    }
    let mut given = Vec::new();
    for answer in &question.answers {
        if !answer.remark.is_empty() {
            say!("  {}", printable(&answer.remark));
        }
        let likely = match (answer.stands, answer.value.contains("from = ")) {
            (true, _) => format!(" [{}]", printable(&answer.value)),
            (false, true) => " (two days, such as 2025-07-01 to 2026-06-30)".to_owned(),
            (false, false) => String::new(),
        };
        let mut out = io::stdout();
        write!(out, "  {}{likely} > ", printable(&answer.key))?;
        out.flush()?;
        let Some(line) = lines.next().transpose()? else { return Ok(None) };
        match line.trim() {
            "?" => {}
            "" if answer.stands => given.push((answer.key.clone(), answer.value.clone())),
            "" => {}
            text => given.push((answer.key.clone(), typed(text, &answer.value))),
        }
    }
    Ok(Some(given))
}

/// Every file below a folder; hidden ones and those of the program's own stores are no exports.
fn files(folder: &Path, depth: usize, found: &mut Vec<PathBuf>) -> anyhow::Result<()> {
    let entries = fs::read_dir(folder).map_err(|error| named(folder, error))?;
    for entry in entries {
        let entry = entry.map_err(|error| named(folder, error))?;
        let path = entry.path();
        let hidden = entry.file_name().to_string_lossy().starts_with(['.', '~']);
        let kind = fs::metadata(&path).map_err(|error| named(&path, error))?;
        if hidden || found.len() >= MOST_FILES {
            continue;
        }
        // A store of this program, or a report.
        let ours = ["store.json", "run.json"].iter().any(|mark| path.join(mark).exists());
        if kind.is_dir() && depth < DEEPEST && !ours {
            files(&path, depth + 1, found)?;
        } else if kind.is_file() && path.extension().is_none_or(|ending| ending != "toml") {
            found.push(path);
        }
    }
    Ok(())
}

fn exported(path: &Path, base: &Path, room: Room) -> anyhow::Result<Exported> {
    let looked = look(path, room)?;
    if looked.columns.is_empty() {
        anyhow::bail!("no table in it");
    }
    Ok(Exported {
        file: below(path, base),
        format: looked.facts.format.clone(),
        columns: looked.columns,
        dialect: looked.dialect,
        rows: looked.rows,
        guessed_encoding: looked.guessed_encoding,
    })
}

/// The path as the settings in `base` would name it.
fn below(path: &Path, base: &Path) -> String {
    let relative = path.strip_prefix(base).unwrap_or(path);
    if relative.is_absolute() {
        return relative.display().to_string();
    }
    let names = relative.iter().map(|name| name.to_string_lossy()).filter(|name| name != ".");
    names.collect::<Vec<_>>().join("/")
}

fn name_of(folder: &Path) -> String {
    let whole = fs::canonicalize(folder).unwrap_or_else(|_| folder.to_owned());
    whole.file_name().map_or("Fleet".to_owned(), |name| name.to_string_lossy().into_owned())
}

/// The settings with the answers of a file.
fn answered_from(toml: &str, path: &Path) -> anyhow::Result<String> {
    let text = fs::read_to_string(path).map_err(|error| named(path, error))?;
    // One answer a line, its key whole: `"end_face_names" = "site"`.
    let document = toml_edit::Document::parse(text.as_str())
        .map_err(|error| anyhow::anyhow!("{}: {}", path.display(), error.message()))?;
    let values = document.iter().filter_map(|(key, item)| Some((key, item.as_value()?)));
    let given: Vec<(String, String)> = values
        .filter_map(|(key, value)| Some((key.to_owned(), text.get(value.span()?)?.to_owned())))
        .collect();
    answer(toml, &given).map_err(|key| no_question(&key))
}

fn no_question(key: &str) -> anyhow::Error {
    let expected = "a key under a question that is open".into();
    WrongArgument { argument: "--answers", found: key.to_owned(), expected }.into()
}

fn write(path: &Path, toml: &str) -> anyhow::Result<()> {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty());
    let mut file = tempfile::NamedTempFile::new_in(folder.unwrap_or(Path::new(".")))
        .map_err(|error| named(path, error))?;
    file.write_all(toml.as_bytes()).map_err(|error| named(path, error))?;
    file.persist(path).map_err(|error| named(path, error.error))?;
    Ok(())
}

fn tell_left_out(draft: &FleetDraft, unread: &[(String, String)], log: &Log) {
    for (file, why) in draft.left_out.iter().chain(unread) {
        log.warn(&printable(&format!("{file}: not read: {why}")));
    }
}

fn named(path: &Path, error: io::Error) -> anyhow::Error {
    anyhow::Error::new(error).context(path.display().to_string())
}
