//! Texts made from the program itself: completions, manual page, list of rules.

use clap::Command;
use halfmicron::rules::{self, Breach, Source};

use super::write::Page;
use crate::{Answer, Terminal};

/// Completions of a shell.
pub fn completions(shell: clap_complete::Shell, mut command: Command) -> Answer {
    let mut bytes = Vec::new();
    clap_complete::generate(shell, &mut command, "halfmicron", &mut bytes);
    Answer::result(String::from_utf8_lossy(&bytes).into_owned())
}

/// The manual page, commands included.
pub fn manual(command: Command) -> Answer {
    let mut bytes = Vec::new();
    let mut render = |command: Command| clap_mangen::Man::new(command).render(&mut bytes);
    let subcommands: Vec<Command> = command.get_subcommands().cloned().collect();
    let written = render(command).and_then(|()| subcommands.into_iter().try_for_each(&mut render));
    match written {
        Ok(()) => Answer::result(String::from_utf8_lossy(&bytes).into_owned()),
        Err(error) => Answer::error(format!("error: the manual page cannot be written: {error}\n")),
    }
}

/// The rules, or those that begin with `id`.
pub fn rules(id: Option<&str>, terminal: Terminal) -> Answer {
    let chosen: Vec<_> = rules::registry().iter().filter(|rule| id.is_none_or(|id| rule.id.starts_with(id))).collect();
    if chosen.is_empty() {
        return Answer::error(format!("error: no rule begins with {}: `halfmicron rules` lists all\n", id.unwrap_or_default()));
    }
    let mut page = Page::new(terminal);
    let mut group = "";
    for rule in chosen {
        if rule.group != group {
            group = rule.group;
            page.heading(group);
        }
        let breach = match rule.breach {
            Breach::Fail => "fails",
            Breach::Caution => "watch",
            Breach::Note => "note",
        };
        page.paragraph("  ", "      ", &format!("{}: {}", rule.id, rule.statement));
        page.paragraph("      ", "      ", &format!("limit {}; a breach: {breach}; {}", rule.limit, Source::meaning(rule.source.tag())));
    }
    Answer::result(page.finish())
}
