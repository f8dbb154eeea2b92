//! The commands of the README, run as they stand there.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use anyhow::{Context, Result, bail, ensure};

use crate::{cargo, tree};

/// Runs every `halfmicron` line of the README's shell blocks, in order, in an empty folder. Exit code 1, a rule or a check that fails, is
/// an answer like another; 2 is not.
pub fn check() -> Result<()> {
    let readme = std::fs::read_to_string(tree::root().join("README.md")).context("README.md cannot be read")?;
    let commands = commands(&readme);
    ensure!(!commands.is_empty(), "README.md shows no command");
    let program = cargo::halfmicron()?;
    let folder = program.with_file_name("readme-tour");
    if folder.exists() {
        std::fs::remove_dir_all(&folder)?;
    }
    std::fs::create_dir_all(&folder)?;
    for command in &commands {
        println!("$ halfmicron {}", command.join(" "));
        if command.first().is_some_and(|name| name == "serve") {
            serve(Command::new(&program).args(command).current_dir(&folder))?;
            continue;
        }
        let output = Command::new(&program).args(command).current_dir(&folder).output().context("halfmicron does not start")?;
        if !matches!(output.status.code(), Some(0 | 1)) {
            bail!("{}\n{}", output.status, String::from_utf8_lossy(&output.stderr));
        }
    }
    Ok(())
}

/// Starts the server, asks the address that it prints for the page, and stops it.
fn serve(command: &mut Command) -> Result<()> {
    let mut server = command.stdout(Stdio::piped()).spawn().context("halfmicron does not start")?;
    let seen = first_answer(&mut server);
    server.kill()?;
    server.wait()?;
    let answer = seen?;
    ensure!(answer.starts_with("HTTP/1.1 200"), "the page is not served: {}", answer.lines().next().unwrap_or("no answer"));
    Ok(())
}

fn first_answer(server: &mut Child) -> Result<String> {
    let lines = BufReader::new(server.stdout.take().context("the server says nothing")?).lines();
    let line = lines.map_while(Result::ok).find(|line| line.contains("http://")).context("the server prints no address")?;
    let address = line.split("http://").nth(1).unwrap_or_default();
    let address: String = address.chars().take_while(|letter| !letter.is_whitespace() && *letter != '/').collect();
    let mut stream = TcpStream::connect(&address).with_context(|| format!("{address} does not answer"))?;
    stream.set_read_timeout(Some(Duration::from_secs(20)))?;
    write!(stream, "GET / HTTP/1.1\r\nHost: {address}\r\nConnection: close\r\n\r\n")?;
    let mut answer = Vec::new();
    stream.read_to_end(&mut answer)?;
    Ok(String::from_utf8_lossy(&answer).into_owned())
}

/// Arguments of the `halfmicron` lines inside shell blocks.
fn commands(readme: &str) -> Vec<Vec<String>> {
    let blocks = readme.split("```sh\n").skip(1).filter_map(|after| after.split("```").next());
    blocks.flat_map(str::lines).filter_map(|line| line.strip_prefix("halfmicron ")).map(arguments).collect()
}

/// Words of a command line: double quotes hold words together, `#` begins a remark.
fn arguments(line: &str) -> Vec<String> {
    let mut words = vec![String::new()];
    let mut quoted = false;
    for letter in line.chars() {
        match letter {
            '"' => quoted = !quoted,
            '#' if !quoted => break,
            ' ' if !quoted => words.push(String::new()),
            other => words.last_mut().into_iter().for_each(|word| word.push(other)),
        }
    }
    words.retain(|word| !word.is_empty());
    words
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn takes_commands_out_of_shell_blocks() {
        let readme = "halfmicron no\n```sh\ncargo no\nhalfmicron solve a.toml --set \"duty.normal.temperature=60 degC\"   # what if\n```\n```text\nhalfmicron no\n```\n";
        assert_eq!(commands(readme), [["solve", "a.toml", "--set", "duty.normal.temperature=60 degC"]]);
    }
}
