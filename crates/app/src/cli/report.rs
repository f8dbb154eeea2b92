//! The report as a file.

use std::io::ErrorKind;
use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};
use halfmicron::rules::exit_code;
use halfmicron::sheet::{UnitSet, sheet};
use halfmicron_report::report::{Kind, Paper, Subject, TitleBlock, report as written};

use super::cases::{self, Opened};
use super::{Format, Shown, SolveArguments, Units, setting};
use crate::{Answer, Terminal};

/// What to report, and where.
#[derive(Debug, Clone, Args)]
pub struct ReportArguments {
    /// Case file
    #[arg(value_name = "CASE")]
    case: PathBuf,
    /// File to write; its ending says which kind: .pdf or .html
    #[arg(short, long, value_name = "FILE")]
    output: PathBuf,
    /// Project, for the title block; a line to write on without it
    #[arg(long, value_name = "TEXT", default_value = "", hide_default_value = true)]
    project: String,
    /// Revision of the report
    #[arg(long, value_name = "TEXT", default_value = "", hide_default_value = true)]
    revision: String,
    /// Who answers for it
    #[arg(long, value_name = "TEXT", default_value = "", hide_default_value = true)]
    author: String,
    /// Paper to print on
    #[arg(long, value_enum, default_value = "a4")]
    paper: PaperSize,
    /// Only this duty; may be repeated
    #[arg(long = "duty", value_name = "NAME")]
    duties: Vec<String>,
    /// Units of every number
    #[arg(long, value_enum, default_value = "si")]
    units: Units,
    /// Replace one value, e.g. seal.balance_diameter="53 mm"; may be repeated; the file stays as it is
    #[arg(long = "set", value_name = "PATH=VALUE", value_parser = setting)]
    settings: Vec<(String, String)>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum PaperSize {
    /// 210 mm by 297 mm
    A4,
    /// 8.5 in by 11 in
    Letter,
}

impl PaperSize {
    fn paper(self) -> Paper {
        match self {
            Self::A4 => Paper::A4,
            Self::Letter => Paper::Letter,
        }
    }
}

/// Solve a case and write its report.
pub fn report(arguments: &ReportArguments, terminal: Terminal) -> Answer {
    let kind = match kind_of(&arguments.output) {
        Ok(kind) => kind,
        Err(message) => return Answer::error(format!("error: {message}\n")),
    };
    if same_file(&arguments.case, &arguments.output) {
        return Answer::error(format!("error: {} is the case itself: give the report another name\n", arguments.output.display()));
    }
    let opened = match cases::open(&arguments.case, &solving(arguments)) {
        Ok(opened) => opened,
        Err(problem) => return Answer::error(cases::draw(&problem, terminal)),
    };
    match made(&opened, arguments, kind) {
        Ok((bytes, code)) => write(&arguments.output, &bytes, code),
        Err(message) => Answer::error(format!("error: {}: {message}\n", opened.path.display())),
    }
}

/// The report with the exit code that `solve` would give.
fn made(opened: &Opened, arguments: &ReportArguments, kind: Kind) -> Result<(Vec<u8>, u8), String> {
    cases::duties(&opened.model, &arguments.duties)?;
    let outcome = halfmicron::solve(&opened.model, &arguments.duties).map_err(|error| error.to_string())?;
    let sheet = sheet(&opened.model, &outcome, arguments.units.set());
    let subject = Subject { model: &opened.model, outcome: &outcome, sheet: &sheet, case_text: &opened.text };
    let title = TitleBlock {
        project: arguments.project.clone(),
        revision: arguments.revision.clone(),
        author: arguments.author.clone(),
        file: file_name(&arguments.case),
        command: command_of(arguments, kind),
    };
    let bytes = written(&subject, &title, kind, arguments.paper.paper()).map_err(|error| error.to_string())?;
    Ok((bytes, exit_code(&outcome)))
}

fn file_name(path: &Path) -> String {
    path.file_name().unwrap_or_default().to_string_lossy().into_owned()
}

/// What a command that makes a report says.
#[derive(Debug)]
pub struct Words<'a> {
    /// Name of the case file.
    pub file: &'a str,
    /// Kind of report.
    pub kind: Kind,
    /// Fields of the title block with their options.
    pub title: [(&'static str, &'a str); 3],
    /// Paper.
    pub paper: Paper,
    /// Units.
    pub units: UnitSet,
    /// Duties named.
    pub duties: &'a [String],
    /// Values set.
    pub settings: &'a [(String, String)],
}

/// The command that makes the same report, with the name of the case file alone: where files lie is nobody's business, and a report of
/// another name has the same bytes.
pub fn command(said: &Words) -> String {
    let ending = match said.kind {
        Kind::Pdf => "pdf",
        Kind::Html => "html",
    };
    let output = file_name(&Path::new(said.file).with_extension(ending));
    let mut words = vec!["halfmicron report".to_owned(), quoted(said.file), format!("-o {}", quoted(&output))];
    words.extend(said.title.iter().filter(|(_, text)| !text.is_empty()).map(|(name, text)| format!("--{name} {}", quoted(text))));
    if said.paper == Paper::Letter {
        words.push("--paper letter".to_owned());
    }
    if said.units == UnitSet::Us {
        words.push("--units us".to_owned());
    }
    words.extend(said.duties.iter().map(|duty| format!("--duty {}", quoted(duty))));
    words.extend(said.settings.iter().map(|(path, value)| format!("--set {}", quoted(&format!("{path}={value}")))));
    words.join(" ")
}

fn command_of(arguments: &ReportArguments, kind: Kind) -> String {
    command(&Words {
        file: &file_name(&arguments.case),
        kind,
        title: [("project", &arguments.project), ("revision", &arguments.revision), ("author", &arguments.author)],
        paper: arguments.paper.paper(),
        units: arguments.units.set(),
        duties: &arguments.duties,
        settings: &arguments.settings,
    })
}

/// A word of a POSIX shell.
fn quoted(word: &str) -> String {
    let plain = |letter: char| letter.is_ascii_alphanumeric() || "-_./+,:@%".contains(letter);
    if !word.is_empty() && word.chars().all(plain) { word.to_owned() } else { format!("'{}'", word.replace('\'', "'\\''")) }
}

fn kind_of(path: &Path) -> Result<Kind, String> {
    let ending = path.extension().map(|ending| ending.to_string_lossy().to_lowercase());
    match ending.as_deref() {
        Some("pdf") => Ok(Kind::Pdf),
        Some("html" | "htm") => Ok(Kind::Html),
        _ => Err(format!(
            "{} ends in neither .pdf nor .html: name the file so, e.g. {}",
            path.display(),
            path.with_extension("pdf").display()
        )),
    }
}

/// Whether both names lead to one file, through links, too.
fn same_file(case: &Path, output: &Path) -> bool {
    case == output || matches!((case.canonicalize(), output.canonicalize()), (Ok(case), Ok(output)) if case == output)
}

fn solving(arguments: &ReportArguments) -> SolveArguments {
    SolveArguments {
        cases: vec![arguments.case.clone()],
        duties: arguments.duties.clone(),
        format: Format::Table,
        units: arguments.units,
        settings: arguments.settings.clone(),
        notices: Shown::All,
        verdicts: Shown::All,
    }
}

fn write(path: &Path, bytes: &[u8], code: u8) -> Answer {
    let shown = path.display();
    match std::fs::write(path, bytes) {
        Ok(()) => {
            let judged = match code {
                0 => "no rule fails",
                1 => "a rule fails: see its summary",
                _ => "not everything was computed: see its summary",
            };
            Answer { out: format!("{shown} written; {judged}\n"), code, ..Answer::default() }
        }
        Err(error) if error.kind() == ErrorKind::NotFound => {
            Answer::error(format!("error: there is no folder for {shown}: make it first\n"))
        }
        Err(error) => Answer::error(format!("error: {shown} cannot be written: {error}\n")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_quoted_for_a_shell() {
        assert_eq!(quoted("brine-booster.toml"), "brine-booster.toml");
        assert_eq!(quoted("suction lost"), "'suction lost'");
        assert_eq!(quoted("it's $5"), "'it'\\''s $5'");
        assert_eq!(quoted(""), "''");
    }

    #[test]
    fn endings_say_which_kind() {
        assert_eq!(kind_of(Path::new("a/b.PDF")), Ok(Kind::Pdf));
        assert_eq!(kind_of(Path::new("b.html")), Ok(Kind::Html));
        assert!(kind_of(Path::new("b.toml")).is_err_and(|message| message.contains("b.pdf")));
    }
}
