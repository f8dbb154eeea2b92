//! Commands, their arguments and their help.

mod cases;
mod charts;
mod draw;
mod film;
mod generate;
mod influences;
mod library;
mod motion;
mod prove;
pub mod report;
mod ring;
mod serve;
mod solve;
mod sweep;
mod table;
mod why;
mod write;

use std::ffi::OsString;
use std::path::PathBuf;

use clap::{Args, CommandFactory, Parser, Subcommand, ValueEnum};
use halfmicron::model::RingRole;
use halfmicron::sheet::UnitSet;

use crate::{Answer, Terminal};

const ABOUT: &str = "\
Mechanical face seals: film, contact, heat and ring distortion, coupled.

A case is a text file (TOML) that states machine, fluid, duties, seal and rings, every quantity with its unit. Local codes and
licensed practice come before every number that this program prints.";

const EXIT_CODES: &str = "\
Exit codes: 0 acceptable, 1 computed but a rule fails, 2 not computed.

First steps:
  halfmicron new my-pump           writes my-pump.toml, a commented starter that solves
  halfmicron solve my-pump.toml    every duty: operating point, verdicts, notices";

#[derive(Debug, Parser)]
#[command(name = "halfmicron", version, about = "Mechanical face seals, computed", long_about = ABOUT, after_help = EXIT_CODES)]
struct Cli {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Write a commented starter case that solves
    #[command(after_help = "Example:\n  halfmicron new my-pump\n  writes my-pump.toml; change it and run `halfmicron solve my-pump.toml`")]
    New {
        /// Name of the case; the file is NAME.toml
        name: String,
        /// Replace a file of that name
        #[arg(long)]
        force: bool,
    },
    /// Solve every duty: operating points, verdicts, notices
    #[command(
        after_help = "Examples:\n  halfmicron solve my-pump.toml\n  halfmicron solve my-pump.toml --duty normal --set duty.normal.pressure=\"14 bar(g)\"\n  halfmicron solve cases/*.toml --format json\n  halfmicron solve my-pump.toml --duty normal --spread\n  halfmicron solve my-pump.toml --duty normal --sweep duty.temperature=\"40 degC..120 degC/41\" --chart sweep.svg\n  halfmicron solve my-pump.toml --duty normal --influences\n  halfmicron solve my-pump.toml --duty normal --influences=leakage --format json"
    )]
    Solve {
        /// Solve every duty again with each other law that can matter, and show what the choice of law leaves open
        #[arg(long)]
        spread: bool,
        /// Sweep one number instead: its film is followed from value to value, and folds are shown between them; units stand at both
        /// ends, and pressures say (g) or (a)
        #[arg(long, value_name = "PATH=FROM..TO/COUNT", value_parser = sweep::request, conflicts_with = "spread")]
        sweep: Option<sweep::Asked>,
        /// Show how far 1 % (1 K) of every input moves least film, leakage, power, hottest face and boiling margin of one duty, ranked by
        /// film, leakage, power, face or boiling
        #[arg(long, value_name = "RANKED BY", num_args = 0..=1, require_equals = true, default_missing_value = "film", value_parser = influences::ranked, conflicts_with_all = ["spread", "sweep"])]
        influences: Option<String>,
        /// Write charts too, into one SVG file: of a sweep its curves with their folds, else the curves over the band of every duty and
        /// where its heat goes; of one case only
        #[arg(long, value_name = "FILE.svg", value_parser = charts::file, conflicts_with = "influences")]
        chart: Option<PathBuf>,
        #[command(flatten)]
        arguments: SolveArguments,
    },
    /// Why a result is what it is: equation, inputs with their sources, models with range and proof, rules
    #[command(
        after_help = "Examples:\n  halfmicron why my-pump.toml --duty normal\n  halfmicron why my-pump.toml minimum_film_m --duty normal\n  halfmicron why my-pump.toml hand.balance_ratio --duty normal --format json\n  halfmicron why my-pump.toml leak.liquid --duty normal"
    )]
    Why(why::WhyArguments),
    /// The film alone at a prescribed gap between rigid faces
    #[command(
        after_help = "The case states the gap: [gap] thickness = \"1 um\", coning = \"0.5 um\".\n\nExample:\n  halfmicron film my-pump.toml --duty normal --set gap.thickness=\"0.8 um\""
    )]
    Film {
        /// How fine a film is resolved that is not the same at every angle; the error by the grid is shown
        #[arg(long, value_enum, default_value = "normal")]
        grid: film::Grid,
        #[command(flatten)]
        solving: SolveArguments,
    },
    /// How the floating ring follows: stiffness and damping of the film, run-out, stability, and time
    #[command(
        after_help = "The case states the run-out: [machine] face_runout = \"0.03 mm\", total indicator reading at the outer edge of the band. Mass and inertia come from the section; seal.spring_rate and seal.secondary_seal.stiffness should be stated.\n\nExamples:\n  halfmicron motion my-pump.toml --duty normal\n  halfmicron motion my-pump.toml --duty normal --time --chart motion.svg\n  halfmicron motion my-pump.toml --duty normal --set machine.face_runout=\"0.1 mm\""
    )]
    Motion {
        /// Follow the ring in time too, step by step with the whole film: orbit and least film over some turns
        #[arg(long)]
        time: bool,
        /// Leave out following over speed, which solves the seal anew at every speed
        #[arg(long)]
        no_curve: bool,
        /// Write charts into one SVG file; of one case only
        #[arg(long, value_name = "FILE.svg", value_parser = charts::file)]
        chart: Option<PathBuf>,
        #[command(flatten)]
        arguments: SolveArguments,
    },
    /// One ring alone under its loads: temperature, deflection, coning, stress
    #[command(after_help = "Example:\n  halfmicron ring my-pump.toml --ring stationary --duty normal")]
    Ring {
        /// Which ring
        #[arg(long, value_enum)]
        ring: WhichRing,
        #[command(flatten)]
        arguments: SolveArguments,
    },
    /// The cross-section to scale, as a drawing in SVG or DXF
    #[command(
        after_help = "Examples:\n  halfmicron draw my-pump.toml -o my-pump.svg\n  halfmicron draw my-pump.toml -o my-pump.dxf\n  halfmicron draw my-pump.toml -o face.svg --view face\n  halfmicron draw my-pump.toml -o hot.svg --duty normal --temperature --deformed auto"
    )]
    Draw(draw::DrawArguments),
    /// The report that is signed: every duty with drawing, results, verdicts, assumptions and sources, as PDF or HTML
    #[command(
        after_help = "Ends as solve does: 0 acceptable, 1 a rule fails, 2 not computed. The report is written where a rule fails, too.\n\nExamples:\n  halfmicron report my-pump.toml -o my-pump.pdf --project \"Salt ponds\" --revision A --author \"A. Writer\"\n  halfmicron report my-pump.toml -o my-pump.html\n  halfmicron report my-pump.toml -o my-pump.pdf --paper letter --units us --duty normal"
    )]
    Report(report::ReportArguments),
    /// What is known of fluids, with source and range
    #[command(after_help = "Examples:\n  halfmicron fluids\n  halfmicron fluids \"sea water, salinity 70 g/kg\"")]
    Fluids {
        /// Name of a fluid, with its composition where it needs one
        name: Option<String>,
        /// Units to write
        #[arg(long, value_enum, default_value = "si")]
        units: Units,
    },
    /// What is known of materials, with source and scatter
    #[command(after_help = "Examples:\n  halfmicron materials\n  halfmicron materials \"silicon carbide, sintered\"")]
    Materials {
        /// Name of a material
        name: Option<String>,
        /// Units to write
        #[arg(long, value_enum, default_value = "si")]
        units: Units,
    },
    /// Rerun the published checks: expected, computed, difference, verdict
    #[command(
        after_help = "Ends with 1 where a proof or arithmetic disagrees; a comparison with a coarser theory only shows its difference.\n\nExamples:\n  halfmicron prove\n  halfmicron prove F1 R1 --format json"
    )]
    Prove {
        /// Ids of checks; all without any
        ids: Vec<String>,
        /// How to write
        #[arg(long, value_enum, default_value = "table")]
        format: Format,
    },
    /// Every rule with its limit and source
    #[command(after_help = "Example:\n  halfmicron rules film.contact-share")]
    Rules {
        /// Id of a rule or the beginning of one
        id: Option<String>,
    },
    /// The page over a folder of cases, for a browser on this machine
    #[command(
        after_help = "Listens on 127.0.0.1 unless told otherwise; elsewhere whoever asks must hold the token. Ctrl-C ends it; nothing is lost, for \
                      the case files are all that it keeps.\n\nExamples:\n  halfmicron serve cases\n  halfmicron serve --listen 0.0.0.0:4096 --host pumps.local"
    )]
    Serve(serve::ServeArguments),
    /// Description of the HTTP interface of `serve` (OpenAPI)
    #[command(after_help = "Example:\n  halfmicron api > openapi.json")]
    Api,
    /// JSON Schema of the case file
    #[command(after_help = "Example:\n  halfmicron schema > case.schema.json")]
    Schema,
    /// Completions for a shell
    #[command(after_help = "Example:\n  halfmicron completions bash > ~/.local/share/bash-completion/completions/halfmicron")]
    Completions {
        /// Shell
        shell: clap_complete::Shell,
    },
    /// Manual page in roff
    #[command(after_help = "Example:\n  halfmicron man > halfmicron.1")]
    Man,
}

#[derive(Debug, Clone, Args)]
struct SolveArguments {
    /// Case files
    #[arg(required = true, value_name = "CASE")]
    cases: Vec<PathBuf>,
    /// Only this duty; may be repeated
    #[arg(long = "duty", value_name = "NAME")]
    duties: Vec<String>,
    /// How to write the result
    #[arg(long, value_enum, default_value = "table")]
    format: Format,
    /// Units of the table; JSON is always SI
    #[arg(long, value_enum, default_value = "si")]
    units: Units,
    /// Replace one value, e.g. duty.normal.pressure="14 bar(g)"; may be repeated; the file stays as it is
    #[arg(long = "set", value_name = "PATH=VALUE", value_parser = setting)]
    settings: Vec<(String, String)>,
    /// Which notices to show: those that matter, or all
    #[arg(long, value_enum, default_value = "main")]
    notices: Shown,
    /// Which verdicts to show: those that matter, or all
    #[arg(long, value_enum, default_value = "main")]
    verdicts: Shown,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Format {
    /// For reading
    Table,
    /// For programs, SI with the unit in every key
    Json,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Units {
    /// um, MPa, degC, mL/h
    Si,
    /// uin, psi, degF
    Us,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Shown {
    /// Those that matter
    Main,
    /// All
    All,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum WhichRing {
    /// The ring that turns
    Rotating,
    /// The ring that stands
    Stationary,
}

impl Units {
    fn set(self) -> UnitSet {
        match self {
            Units::Si => UnitSet::Si,
            Units::Us => UnitSet::Us,
        }
    }
}

impl WhichRing {
    fn role(self) -> RingRole {
        match self {
            WhichRing::Rotating => RingRole::Rotating,
            WhichRing::Stationary => RingRole::Stationary,
        }
    }
}

fn setting(text: &str) -> Result<(String, String), String> {
    match text.split_once('=') {
        Some((path, value)) if !path.trim().is_empty() && !value.trim().is_empty() => Ok((path.trim().to_owned(), value.trim().to_owned())),
        _ => Err("write PATH=VALUE, e.g. duty.normal.pressure=\"14 bar(g)\"".to_owned()),
    }
}

/// Run the command.
pub fn run(arguments: impl IntoIterator<Item = OsString>, terminal: Terminal) -> Answer {
    match Cli::try_parse_from(arguments) {
        Ok(cli) => answer(cli.command, terminal),
        Err(error) if error.use_stderr() => Answer::error(rendered(&error, terminal)),
        Err(help) => Answer::result(rendered(&help, terminal)),
    }
}

fn rendered(error: &clap::Error, terminal: Terminal) -> String {
    let text = error.render();
    if terminal.colour { text.ansi().to_string() } else { text.to_string() }
}

fn answer(command: Command, terminal: Terminal) -> Answer {
    match command {
        Command::New { name, force } => cases::new(&name, force),
        Command::Solve { chart: Some(_), arguments, .. } if arguments.cases.len() > 1 => Answer::error(charts::ONE_CASE.to_owned()),
        Command::Solve { sweep: Some(asked), chart, arguments, .. } => sweep::sweep(&asked, chart.as_deref(), &arguments, terminal),
        Command::Solve { influences: Some(by), arguments, .. } => influences::influences(&by, &arguments, terminal),
        Command::Why(arguments) => why::why(&arguments, terminal),
        Command::Solve { spread, chart, arguments, .. } => solve::solve(&arguments, spread, chart.as_deref(), terminal),
        Command::Film { grid, solving } => film::film(&solving, grid, terminal),
        Command::Motion { time, no_curve, chart, arguments } => {
            let request = halfmicron::motion::Request { curve: !no_curve, in_time: time };
            motion::motion(&arguments, request, chart.as_deref(), terminal)
        }
        Command::Ring { ring, arguments } => ring::ring(ring.role(), &arguments, terminal),
        Command::Draw(arguments) => draw::draw(&arguments, terminal),
        Command::Report(arguments) => report::report(&arguments, terminal),
        Command::Fluids { name, units } => library::fluids(name.as_deref(), units.set(), terminal),
        Command::Materials { name, units } => library::materials_known(name.as_deref(), units.set(), terminal),
        Command::Prove { ids, format } => prove::prove(&ids, format, terminal),
        Command::Rules { id } => generate::rules(id.as_deref(), terminal),
        Command::Serve(arguments) => serve::serve(&arguments),
        Command::Api => Answer::result(crate::http::document_text()),
        Command::Schema => Answer::result(halfmicron::case::schema()),
        Command::Completions { shell } => generate::completions(shell, Cli::command()),
        Command::Man => generate::manual(Cli::command()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_command_line_is_consistent() {
        Cli::command().debug_assert();
    }

    #[test]
    fn every_command_has_an_example() {
        let command = Cli::command();
        for sub in command.get_subcommands() {
            let help = sub.get_after_help().map(ToString::to_string).unwrap_or_default();
            assert!(help.contains("halfmicron "), "{} has no example", sub.get_name());
        }
    }

    #[test]
    fn settings_are_path_and_value() {
        assert_eq!(setting("duty.normal.pressure=14 bar(g)"), Ok(("duty.normal.pressure".to_owned(), "14 bar(g)".to_owned())));
        for wrong in ["pressure", "=3", "a=", ""] {
            assert!(setting(wrong).is_err(), "{wrong}");
        }
    }
}
