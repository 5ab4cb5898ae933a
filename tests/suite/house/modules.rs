//! Which file of a part uses which, read from the paths that stand in it.
//!
//! The rule. A file uses another where a path in it (of a `use`, or within a line) that begins with `crate`, `self`,
//! `super`, a module of its own or a name it imported leads to something of that file. What a module re-exports counts
//! as of the file that it comes from. `mod` lines and `pub use` are no use: a `mod.rs` that only declares and re-exports
//! closes no circle; one that has something of its own, which its files use while it uses them, does. Not seen: methods
//! called on a value, whose type some path named anyway; comments and visibilities do not count.

use std::collections::{BTreeMap, BTreeSet, VecDeque};
use std::path::Path;

/// A path, a name a step: `super`, `b`, `Right`; the last is `*` where a `use` takes everything.
type Names = Vec<String>;

/// What one file says.
#[derive(Default)]
struct File {
    /// Name here -> path that it stands for, of every `use`.
    imported: BTreeMap<String, Names>,
    /// Modules of which everything is imported.
    starred: Vec<Names>,
    /// Paths that count as use.
    used: Vec<Names>,
    /// Names after `fn`, `struct`, `enum`, `trait`, `type`, `const`, `static`.
    declared: BTreeSet<String>,
}

/// The files of a part.
pub struct Modules {
    /// Module path from the crate on -> name of its file in the part, and what it says.
    files: BTreeMap<Names, (String, File)>,
}

impl Modules {
    /// The files of a part of the program.
    pub fn of(part: &str) -> Self {
        let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src").join(part);
        let named = |(path, text): (std::path::PathBuf, String)| {
            let inside = path.strip_prefix(&root).unwrap();
            let steps: Vec<&str> = inside.iter().map(|step| step.to_str().unwrap()).collect();
            (steps.join("/"), text)
        };
        Self::read(part, super::files_of(part).into_iter().map(named).collect())
    }

    /// The files of a part with their texts; names are given from the part's folder on.
    pub fn read(part: &str, texts: Vec<(String, String)>) -> Self {
        let module = |name: &str| -> Names {
            let inside = name.strip_suffix(".rs").unwrap();
            let steps = inside.split('/').filter(|step| *step != "mod");
            std::iter::once(part).chain(steps).map(str::to_owned).collect()
        };
        let files = texts.into_iter().map(|(name, text)| (module(&name), (name, read(&text))));
        Self { files: files.collect() }
    }

    /// The shortest circle through every file that leads back to itself and stands in none of those before it, as
    /// `a.rs -> b.rs -> a.rs`.
    pub fn circles(&self) -> Vec<String> {
        let used: BTreeMap<&Names, BTreeSet<&Names>> =
            self.files.keys().map(|module| (module, self.used_by(module))).collect();
        let mut seen = BTreeSet::new();
        let mut found = Vec::new();
        for start in self.files.keys() {
            let Some(circle) = way_back(&used, start).filter(|_| !seen.contains(start)) else {
                continue;
            };
            seen.extend(circle.iter().copied());
            let names: Vec<&str> =
                circle.iter().map(|module| self.files[*module].0.as_str()).collect();
            found.push(names.join(" -> "));
        }
        found
    }

    /// Modules of the part whose files a module uses.
    fn used_by(&self, module: &Names) -> BTreeSet<&Names> {
        let used = &self.files[module].1.used;
        used.iter()
            .filter_map(|path| self.place(path, module, 0))
            .filter(|at| *at != module)
            .collect()
    }

    /// The module in whose file that stands to which `path` leads from `here`; none outside the part.
    fn place(&self, path: &[String], here: &Names, depth: usize) -> Option<&Names> {
        let (mut at, mut rest): (Names, &[String]) = match path.first()?.as_str() {
            "crate" => (Vec::new(), &path[1..]),
            "self" => (here.clone(), &path[1..]),
            "super" => (here[..here.len() - 1].to_vec(), &path[1..]),
            _ => (here.clone(), path),
        };
        while rest.first().is_some_and(|step| step == "super") {
            at.pop()?;
            rest = &rest[1..];
        }
        let relative = rest.len() == path.len();
        if relative && !self.files.contains_key(&step(&at, &path[0])) {
            // A name that this file imported, or nothing of the part.
            return self.follow(&at, rest, depth);
        }
        while let Some(next) = rest.first().map(|name| step(&at, name)) {
            if at.is_empty() || self.files.contains_key(&next) {
                (at, rest) = (next, &rest[1..]);
            } else {
                break;
            }
        }
        let (module, _) = self.files.get_key_value(&at)?;
        if rest.is_empty() || rest[0] == "*" {
            return Some(module);
        }
        self.follow(&at, rest, depth).or(Some(module))
    }

    /// Where `rest` leads if the module `at` imported its first name.
    fn follow(&self, at: &Names, rest: &[String], depth: usize) -> Option<&Names> {
        let file = &self.files.get(at)?.1;
        if depth > 8 || file.declared.contains(&rest[0]) {
            return None;
        }
        if let Some(path) = file.imported.get(&rest[0]) {
            let whole: Names = path.iter().chain(&rest[1..]).cloned().collect();
            return self.place(&whole, at, depth + 1);
        }
        file.starred.iter().find_map(|star| {
            let from = self.place(star, at, depth + 1)?;
            let declares = self.files[from].1.declared.contains(&rest[0]);
            if declares { Some(from) } else { self.follow(from, rest, depth + 1) }
        })
    }
}

fn step(at: &[String], name: &str) -> Names {
    at.iter().cloned().chain([name.to_owned()]).collect()
}

/// The shortest way from a module over others back to itself.
fn way_back<'a>(
    used: &BTreeMap<&'a Names, BTreeSet<&'a Names>>,
    start: &'a Names,
) -> Option<Vec<&'a Names>> {
    let mut ways = VecDeque::from([vec![start]]);
    let mut seen = BTreeSet::new();
    while let Some(way) = ways.pop_front() {
        for next in &used[way[way.len() - 1]] {
            let longer: Vec<&Names> = way.iter().copied().chain([*next]).collect();
            if *next == start {
                return Some(longer);
            }
            if seen.insert(*next) {
                ways.push_back(longer);
            }
        }
    }
    None
}

/// Names, `::` and single signs of a text without its comments and literals.
fn tokens(text: &str) -> Vec<String> {
    let mut tokens = Vec::new();
    let mut rest = text.trim_start();
    while let Some(first) = rest.chars().next() {
        let long = |c: char| c.is_alphanumeric() || c == '_';
        let skipped = if rest.starts_with("//") {
            rest.find('\n')
        } else if let Some(raw) = rest.strip_prefix('r').filter(|raw| raw.starts_with(['"', '#'])) {
            let marks = raw.len() - raw.trim_start_matches('#').len();
            let end = format!("\"{}", "#".repeat(marks));
            rest[2 + marks..].find(&end).map(|close| 2 + marks + close + end.len())
        } else if first == '"' {
            let mut escaped = false;
            let closes = |c: char| {
                let closes = c == '"' && !escaped;
                escaped = c == '\\' && !escaped;
                closes
            };
            rest[1..].find(closes).map(|close| close + 2)
        } else if rest.starts_with("'\\") {
            rest[3..].find('\'').map(|close| close + 4)
        } else if first == '\'' && rest.chars().nth(2) == Some('\'') {
            rest.char_indices().nth(3).map(|(end, _)| end)
        } else {
            Some(0)
        };
        let end = match skipped {
            None => break,
            Some(0) if long(first) => rest.find(|c| !long(c)).unwrap_or(rest.len()),
            Some(0) if rest.starts_with("::") => 2,
            Some(0) => first.len_utf8(),
            Some(end) => end,
        };
        if skipped == Some(0) {
            tokens.push(rest[..end].to_owned());
        }
        rest = rest[end..].trim_start();
    }
    tokens
}

/// What a file says.
fn read(text: &str) -> File {
    let tokens = tokens(text);
    let is = |at: usize, sign: &str| tokens.get(at).is_some_and(|token| token == sign);
    let mut file = File::default();
    let mut at = 0;
    let mut public = false;
    while at < tokens.len() {
        match tokens[at].as_str() {
            "pub" => {
                public = true;
                at += 1;
                if is(at, "(") {
                    at += tokens[at..].iter().position(|token| token == ")").unwrap_or(0) + 1;
                }
                continue;
            }
            "use" => {
                let mut paths = Vec::new();
                at = tree(&tokens, at + 1, &[], &mut paths);
                for (name, path) in paths {
                    if !public {
                        file.used.push(path.clone());
                    }
                    if name == "*" {
                        file.starred.push(path[..path.len() - 1].to_vec());
                    } else {
                        file.imported.insert(name, path);
                    }
                }
            }
            "const" if is(at + 1, "fn") => at += 1,
            "fn" | "struct" | "enum" | "trait" | "type" | "const" | "static"
                if at + 1 < tokens.len() =>
            {
                file.declared.insert(tokens[at + 1].clone());
                at += 2;
            }
            word if is(at + 1, "::")
                && word.starts_with(|c: char| c.is_alphabetic() || c == '_') =>
            {
                let mut path = vec![tokens[at].clone()];
                while is(at + 1, "::") && tokens.get(at + 2).is_some_and(|token| token != "<") {
                    path.push(tokens[at + 2].clone());
                    at += 2;
                }
                file.used.push(path);
                at += 1;
            }
            _ => at += 1,
        }
        public = false;
    }
    file
}

/// Reads one tree of a `use` from `at` on: every name that it brings, with its path. Returns where it ends.
fn tree(
    tokens: &[String],
    mut at: usize,
    before: &[String],
    found: &mut Vec<(String, Names)>,
) -> usize {
    let mut path = before.to_vec();
    while at < tokens.len() {
        match tokens[at].as_str() {
            "::" => at += 1,
            "{" => {
                at += 1;
                while tokens.get(at).is_some_and(|token| token != "}" && token != ";") {
                    at = tree(tokens, at, &path, found);
                    at += usize::from(tokens.get(at).is_some_and(|token| token == ","));
                }
                return at + 1;
            }
            "," | "}" | ";" => break,
            "as" => {
                found.push((tokens[at + 1].clone(), path));
                return at + 2;
            }
            "self" if !path.is_empty() => at += 1,
            name => {
                path.push(name.to_owned());
                at += 1;
            }
        }
    }
    if let Some(last) = path.last().cloned() {
        found.push((last, path));
    }
    at
}
