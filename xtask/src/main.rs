//! `cargo xtask`: everything a developer or CI runs besides plain cargo.
//!
//! `cargo xtask ci` runs every step of [`steps::ALL`] in order and reports all failures together; each step is also a command of its own.
//! `cargo xtask generate` writes the generated files that the step `generated` compares.
#![allow(clippy::disallowed_methods, reason = "a developer's tool reads files, the environment and the clock")]

mod arrows;
mod cargo;
mod films;
mod fluids;
mod fuzz;
mod generate;
mod headers;
mod licences;
mod links;
mod page;
mod pictures;
mod purity;
mod spelling;
mod steps;
mod stress;
mod tour;
mod tree;
mod words;

use std::process::ExitCode;

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let outcome = match arguments.as_slice() {
        [command] if command == "ci" => steps::run(steps::ALL),
        [command] if command == "generate" => generate::write_all(),
        [command] if command == "picture" => pictures::write_all(),
        [command, rest @ ..] if command == "films" => films::run(tree::root(), rest),
        [command, rest @ ..] if command == "fluids" => fluids::run(tree::root(), rest),
        [command, rest @ ..] if command == "stress" => stress::run(rest),
        [command] => match steps::named(command) {
            Some(step) => steps::run(std::slice::from_ref(step)),
            None => return usage(),
        },
        _ => return usage(),
    };
    match outcome {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            println!("{error:#}");
            ExitCode::FAILURE
        }
    }
}

fn usage() -> ExitCode {
    println!(
        "cargo xtask COMMAND\n\n  ci         every step below, in this order: the whole of CI\n  generate   writes the generated files\n  picture    writes the pictures of the README; needs Chromium, Node.js and pdftoppm\n  films      writes the second solutions of two films, by an outside finite-element library\n  fluids     writes the fluids' coefficient files from the outside library\n  stress     random cases over the whole box: --cases N --seed S\n"
    );
    for step in steps::ALL {
        println!("  {:<10} {}", step.name, step.what);
    }
    ExitCode::from(2)
}
