//! Questions of a folder's exports, gathered: asked once where several exports raise them.

use super::code::list_name;

/// What is not certain about a line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Question {
    pub question: String,
    pub evidence: String,
}

/// Questions that stand at the top of the settings instead of where their answers are used.
#[derive(Debug, Default)]
pub struct Lifted {
    /// The source that is being written.
    pub source: String,
    /// Where its files stand.
    pub folder: String,
    /// Whether a site of its files is that of their folder.
    pub is_site_of_folder: bool,
    /// Answers that the settings have already, each key with its value.
    pub before: Vec<(String, String)>,
    /// What was gathered.
    pub asked: Vec<LiftedQuestion>,
}

/// A question whose answer is referred to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LiftedQuestion {
    /// Key of the answer; none where no line of the settings is one.
    pub answer: Option<String>,
    /// What the answer would be, as TOML; of no use where nothing is likely.
    pub value: String,
    /// Whether that stands until there is an answer.
    pub stands: bool,
    /// The sources that ask it; none: the fleet.
    pub sources: Vec<String>,
    /// The folder of the first source's files.
    pub folder: String,
    /// From the source down, without the places of records.
    pub path: String,
    /// The key there.
    pub key: String,
    /// What is asked, and why.
    pub asked: Question,
}

impl LiftedQuestion {
    /// Notes that another source asks it too; yields the key of its answer.
    fn also_of(&mut self, source: &str) -> String {
        if !self.sources.iter().any(|one| one == source) {
            self.sources.push(source.to_owned());
        }
        self.answer.clone().unwrap_or_default()
    }
}

/// Stands for what nobody knows, in a line that is a comment until somebody says it.
pub const UNKNOWN: &str = "...";
/// Keys of a source whose answers all sources share while they are the same.
const SHARED: [&str; 5] =
    ["end_face_names", "finding_default", "two_digit_years_from", "nulls", "encoding"];
/// Of these the ones that another answer than the proposed one does not hold for.
const OF_FILES: [&str; 2] = ["nulls", "encoding"];

impl Lifted {
    /// Gathers a question that no line of the settings answers.
    pub fn note(&mut self, path: &str, name: &str, asked: &Question) {
        self.asked.push(LiftedQuestion {
            answer: None,
            value: String::new(),
            stands: false,
            sources: vec![self.source.clone()],
            folder: self.folder.clone(),
            path: path.to_owned(),
            key: name.to_owned(),
            asked: asked.clone(),
        });
    }

    /// Gathers a question about a key with its value at `path`; yields the key of its answer. One that has the same key and
    /// the same proposal, of another source or another part, is the same.
    pub fn lift(
        &mut self,
        path: &str,
        (name, value): (&str, &str),
        open: bool,
        asked: &Question,
    ) -> String {
        let path = path.split_once(']').map_or(path, |(_, path)| path);
        let path = path.trim_start_matches('.').to_owned();
        let source = self.source.clone();
        let wanted = match path.split_once('.') {
            Some(("values", column)) => format!("{} {name}", list_name(column)),
            _ if path.is_empty() && SHARED.contains(&name) => name.to_owned(),
            // The files of one folder are mostly of one site.
            _ if path.is_empty()
                && name == "site"
                && self.is_site_of_folder
                && !self.folder.is_empty() =>
            {
                site_of(&self.folder)
            }
            _ if path.is_empty() || path == "columns" => format!("{source} {name}"),
            _ => format!("{source} {name} {path}"),
        };
        // What is open counts as left out until somebody answers, but for times: without a pattern nothing can be read.
        let stands = (!open || path == "dates") && !value.contains(UNKNOWN);
        // Exports of one folder that call a column alike mean the same by it.
        let is_of_folder = |one: &LiftedQuestion| {
            path == "columns"
                && one.path == path
                && one.key == name
                && (&one.folder, &one.asked.question) == (&self.folder, &asked.question)
        };
        let is_same = |one: &LiftedQuestion| one.value == value && one.stands == stands;
        if let Some(place) = self.asked.iter().position(|one| is_same(one) && is_of_folder(one)) {
            return self.asked[place].also_of(&source);
        }
        let is_other = |answer: &str| {
            OF_FILES.contains(&name)
                && self.before.iter().any(|(key, known)| key == answer && known != value)
        };
        let mut answer = wanted.clone();
        for more in 2.. {
            let place = self.asked.iter().position(|one| one.answer.as_ref() == Some(&answer));
            match place {
                Some(place) if is_same(&self.asked[place]) => {
                    return self.asked[place].also_of(&source);
                }
                None if !is_other(&answer) => break,
                _ if answer == wanted => answer = format!("{source} {wanted}"),
                _ => answer = format!("{source} {wanted} {more}"),
            }
        }
        let folder = self.folder.clone();
        self.asked.push(LiftedQuestion {
            answer: Some(answer.clone()),
            value: value.to_owned(),
            stands,
            sources: vec![source],
            folder,
            path,
            key: name.to_owned(),
            asked: asked.clone(),
        });
        answer
    }
}

/// The key of the answer that says the site of a folder's files.
pub fn site_of(folder: &str) -> String {
    format!("{folder} site")
}
