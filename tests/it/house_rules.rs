//! The house stays as it was laid out: read off the sources, named by file and line.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

/// A file that is longer than this has become two.
const LONGEST: usize = 450;

/// A source file, with what the rules ask of it.
struct Source {
    path: String,
    lines: Vec<String>,
}

/// Every file under `folder` with this ending, by its path from the root of the project.
fn sources(folder: &str, ending: &str) -> Vec<Source> {
    let mut found = Vec::new();
    // Tests run in the project's own folder.
    walk(Path::new(folder), ending, &mut found);
    found.sort();
    let read = |path: PathBuf| Source {
        lines: fs::read_to_string(&path).unwrap().lines().map(ToOwned::to_owned).collect(),
        path: path.to_string_lossy().into_owned(),
    };
    found.into_iter().map(read).collect()
}

fn walk(folder: &Path, ending: &str, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            walk(&path, ending, found);
        } else if path.extension().is_some_and(|e| e == ending) {
            found.push(path);
        }
    }
}

impl Source {
    /// The room that the file belongs to: `src/block/web/index.rs` and `src/clock.rs` to `block` and `clock`.
    fn room(&self) -> &str {
        let rest = self.path.strip_prefix("src/").unwrap_or(&self.path);
        rest.split(['/', '.']).next().unwrap_or(rest)
    }

    fn is_test(&self) -> bool {
        self.path.starts_with("tests/") || self.path.ends_with("/tests.rs")
    }

    /// Numbered lines of code: no comments, and nothing from the file's own tests on.
    fn code(&self) -> Vec<(usize, String)> {
        let own_tests = self.lines.windows(2).position(|pair| {
            pair[0].trim() == "#[cfg(test)]"
                && pair[1].trim_start().starts_with("mod ")
                && pair[1].ends_with('{')
        });
        let end = own_tests.unwrap_or(self.lines.len());
        let code = self.lines[..end].iter().map(|line| without_comment(line));
        (1..).zip(code).filter(|(_, line)| !line.trim().is_empty()).collect()
    }

    /// Neither of the book, whose entry.rs joins the rules and the tables, nor a page that is called that.
    fn is_an_areas(&self) -> bool {
        self.room() != "book" && !self.path.contains("/web/")
    }

    fn is_in_db(&self) -> bool {
        self.path.ends_with("/db.rs") || self.path.contains("/db/")
    }

    /// What has no IO, no clock, no chance: measures, standards, every area's entries, and the walk of the trace.
    fn is_pure(&self) -> bool {
        let walk = ["balance", "flow", "layout", "parts"].map(|name| format!("src/trace/{name}.rs"));
        ["measure", "standards"].contains(&self.room())
            || (self.is_an_areas() && (self.path.ends_with("/entry.rs") || self.path.contains("/entry/")))
            || walk.contains(&self.path)
    }
}

fn without_comment(line: &str) -> String {
    let mut from = 0;
    while let Some(at) = line[from..].find("//").map(|at| at + from) {
        if at == 0 || !line[..at].ends_with(':') {
            return line[..at].to_owned();
        }
        from = at + 2;
    }
    line.to_owned()
}

/// Whether `word` stands in the line on its own: what it begins or ends with is not the middle of a longer word.
fn names(line: &str, word: &str) -> bool {
    let letter = |c: Option<char>| c.is_some_and(|c| c.is_alphanumeric() || c == '_');
    line.match_indices(word).any(|(at, _)| {
        let open = !letter(word.chars().next()) || !letter(line[..at].chars().next_back());
        let close = !letter(word.chars().next_back()) || !letter(line[at + word.len()..].chars().next());
        open && close
    })
}

/// The rooms, in the order of `lib.rs`.
fn rooms() -> Vec<String> {
    let lib = fs::read_to_string("src/lib.rs").unwrap();
    lib.lines()
        .filter_map(|line| line.strip_prefix("pub mod ").and_then(|rest| rest.strip_suffix(';')))
        .map(ToOwned::to_owned)
        .collect()
}

#[track_caller]
fn none(broken: &[String], rule: &str) {
    assert!(broken.is_empty(), "{rule}\n  {}", broken.join("\n  "));
}

#[test]
fn rules_measures_and_standards_know_no_io_no_clock_no_chance_and_no_float() {
    const FORBIDDEN: [&str; 18] = [
        "axum",
        "sqlx::query",
        "query!",
        "query_as!",
        "query_scalar!",
        "PgConnection",
        "now_utc",
        "Instant",
        "SystemTime",
        "f32",
        "f64",
        "rand",
        "getrandom",
        "now_v7",
        "new_v4",
        "std::fs",
        "std::net",
        "tokio",
    ];
    let mut broken = Vec::new();
    for source in sources("src", "rs").iter().filter(|source| source.is_pure() && !source.is_test()) {
        for (nr, line) in source.code() {
            for word in FORBIDDEN.iter().filter(|word| names(&line, word)) {
                broken.push(format!("{}:{nr} names {word}", source.path));
            }
        }
    }
    none(&broken, "A pure file takes time and person as arguments and asks nobody.");
}

#[test]
fn sql_stands_in_the_db_files_alone() {
    let mut broken = Vec::new();
    for source in sources("src", "rs").iter().filter(|source| !source.is_in_db()) {
        for (nr, line) in source.code() {
            if ["query!(", "query_as!(", "query_scalar!("].iter().any(|word| names(&line, word)) {
                broken.push(format!("{}:{nr}", source.path));
            }
        }
    }
    none(&broken, "A query belongs into its area's db.rs.");
}

/// Every `crate::room` that a file names, with what follows it: ("web", "form") of `crate::web::form::Path`. A list in
/// braces counts each of its members.
fn uses(source: &Source) -> Vec<(usize, String, String)> {
    let code = source.code();
    let text = code.iter().map(|(_, line)| line.as_str()).collect::<Vec<_>>().join("\n");
    let line_of = |at: usize| code.get(text[..at].matches('\n').count()).map_or(0, |(nr, _)| *nr);
    let word =
        |text: &str| -> String { text.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect() };
    let mut found = Vec::new();
    for (at, _) in text.match_indices("crate::") {
        if text[..at].ends_with('$') {
            continue;
        }
        let rest = &text[at + "crate::".len()..];
        let members = match rest.strip_prefix('{') {
            Some(inner) => members(inner),
            None => vec![rest],
        };
        for member in members {
            let room = word(member);
            let inner = member[room.len()..].strip_prefix("::").unwrap_or_default();
            let inner = match inner.strip_prefix('{') {
                Some(list) => self::members(list).into_iter().map(word).collect(),
                None => vec![word(inner)],
            };
            for inner in inner {
                found.push((line_of(at), room.clone(), inner));
            }
        }
    }
    found
}

/// The members of a list in braces, of which the opening one is already behind us.
fn members(list: &str) -> Vec<&str> {
    let mut depth = 0;
    let mut start = 0;
    let mut members = Vec::new();
    for (at, c) in list.char_indices() {
        match c {
            '{' => depth += 1,
            '}' if depth == 0 => {
                members.push(list[start..at].trim());
                break;
            }
            '}' => depth -= 1,
            ',' if depth == 0 => {
                members.push(list[start..at].trim());
                start = at + 1;
            }
            _ => {}
        }
    }
    members.retain(|member| !member.is_empty());
    members
}

/// Rooms that a room may use although they stand below it, each with its reason.
const UPWARD: [(&str, &str); 1] = [
    // The console's commands open the application, and `main` the commands.
    ("main", "command"),
];

#[test]
fn a_room_uses_none_that_stands_below_it() {
    let rooms = rooms();
    let mut broken = Vec::new();
    for source in &sources("src", "rs") {
        let Some(own) = rooms.iter().position(|room| room == source.room()) else { continue };
        for (nr, room, _) in uses(source) {
            let below = rooms.iter().position(|other| *other == room).is_some_and(|other| other > own);
            if below && !UPWARD.contains(&(source.room(), room.as_str())) {
                broken.push(format!(
                    "{}:{nr} uses {room}, which stands below {}",
                    source.path,
                    source.room()
                ));
            }
        }
    }
    none(&broken, "The rooms lean one way, in the order of lib.rs.");
}

/// What one room may use of another's inside, each with its reason.
const INSIDE: [(&str, &str, &str); 4] = [
    // The book has no pages: its reads are what it is for.
    ("*", "book", "db"),
    // The session and the shop are asked in one place for every page.
    ("*", "web", "db"),
    // A person is added and a password reset from the console as well as from a page.
    ("command", "people", "db"),
    ("demo", "people", "db"),
];

#[test]
fn an_area_uses_another_through_its_door() {
    let rooms: BTreeSet<String> = rooms().into_iter().collect();
    let mut broken = Vec::new();
    for source in &sources("src", "rs") {
        for (nr, room, inner) in uses(source) {
            let inside =
                ["db", "web"].contains(&inner.as_str()) && rooms.contains(&room) && room != source.room();
            let known = INSIDE.iter().any(|(who, whose, what)| {
                ["*", source.room()].contains(who) && *whose == room && *what == inner
            });
            if inside && !known {
                broken.push(format!("{}:{nr} reaches into {room}::{inner}", source.path));
            }
        }
    }
    none(&broken, "An area is used through what its mod.rs hands out.");
}

#[test]
fn a_template_has_no_style_no_script_of_its_own_and_does_no_sums() {
    let mut broken = Vec::new();
    for source in &sources("templates", "html") {
        for (nr, line) in (1..).zip(&source.lines) {
            let mut say = |what: &str| broken.push(format!("{}:{nr} {what}", source.path));
            if line.contains(" style=") || line.contains("<style") {
                say("has a style of its own");
            }
            if line.contains("<script") && !line.contains(" src=") {
                say("has a script of its own");
            }
            if ["onclick=", "onchange=", "onsubmit=", "onload=", "oninput="]
                .iter()
                .any(|on| line.contains(on))
            {
                say("has a script in an attribute");
            }
            if expressions(line).iter().any(|inner| sums(inner)) {
                say("does a sum");
            }
        }
    }
    none(&broken, "A template is handed what it prints.");
}

/// What stands between `{{` and `}}` or `{%` and `%}` on a line.
fn expressions(line: &str) -> Vec<&str> {
    let mut found = Vec::new();
    for (open, close) in [("{{", "}}"), ("{%", "%}")] {
        let mut rest = line;
        while let Some(at) = rest.find(open) {
            let inner = &rest[at + 2..];
            let end = inner.find(close).unwrap_or(inner.len());
            found.push(&inner[..end]);
            rest = &inner[end..];
        }
    }
    found
}

fn sums(inner: &str) -> bool {
    // Every second stretch between quotation marks is text.
    let code: String = inner.split('"').step_by(2).collect::<Vec<_>>().join("\"\"");
    [" + ", " - ", " * ", " / "].iter().any(|sign| code.contains(sign))
}

#[test]
fn no_file_is_longer_than_a_person_reads_at_once() {
    let mut broken = Vec::new();
    for (folder, ending) in
        [("src", "rs"), ("tests", "rs"), ("templates", "html"), ("static", "css"), ("static", "js")]
    {
        for source in sources(folder, ending) {
            if source.lines.len() > LONGEST {
                broken.push(format!("{} has {} lines", source.path, source.lines.len()));
            }
        }
    }
    none(&broken, "A file of more than 450 lines has become two.");
}

#[test]
fn nothing_is_left_for_later_and_nothing_is_taken_for_granted() {
    // Written in two halves, or this file would name them itself.
    let later = [concat!("TO", "DO"), concat!("FIX", "ME")];
    let granted = [".unwrap()", "todo!", "unimplemented!"];
    let mut broken = Vec::new();
    for (folder, ending) in
        [("src", "rs"), ("tests", "rs"), ("templates", "html"), ("static", "js"), ("migrations", "sql")]
    {
        for source in sources(folder, ending) {
            for (nr, line) in (1..).zip(&source.lines) {
                if later.iter().any(|word| names(line, word)) {
                    broken.push(format!("{}:{nr} leaves something for later", source.path));
                }
            }
            if folder == "src" && !source.is_test() {
                for (nr, line) in source.code() {
                    if granted.iter().any(|word| line.contains(word)) {
                        broken.push(format!("{}:{nr} takes something for granted", source.path));
                    }
                }
            }
        }
    }
    none(&broken, "What is written is whole.");
}

#[test]
fn the_rules_themselves_see_what_they_look_for() {
    assert!(names("let at = OffsetDateTime::now_utc();", "now_utc"));
    assert!(!names("the randomness of it", "rand"));
    assert_eq!(without_comment("let a = \"http://x\"; // says f64"), "let a = \"http://x\"; ");
    assert!(expressions("x {{ node.width - 4 }} y").iter().any(|inner| sums(inner)));
    assert!(!expressions("{%- if *one == \"a - b\" -%}").iter().any(|inner| sums(inner)));
    let source = Source {
        path: "src/block/web/index.rs".into(),
        lines: vec!["use crate::{".into(), "    book, recipes::db,".into(), "};".into()],
    };
    let found = uses(&source);
    assert_eq!(found[0], (1, "book".into(), String::new()));
    assert_eq!(found[1], (1, "recipes".into(), "db".into()));
    assert_eq!(source.room(), "block");
}
