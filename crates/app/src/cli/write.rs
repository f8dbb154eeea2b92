//! Text of a terminal: headings, wrapped lines, words that colour supports.

use comfy_table::presets::NOTHING;
use comfy_table::{Attribute, Cell, Color, ColumnConstraint, ContentArrangement, Table};
use halfmicron::outcome::Word;

use crate::Terminal;

/// Width of wrapped prose where there is no terminal.
const PIPE_WIDTH: usize = 120;

/// Text under construction.
#[derive(Debug)]
pub struct Page {
    text: String,
    terminal: Terminal,
}

impl Page {
    /// An empty page.
    pub fn new(terminal: Terminal) -> Self {
        Self { text: String::new(), terminal }
    }

    /// Columns for prose.
    pub fn width(&self) -> usize {
        self.terminal.width.unwrap_or(PIPE_WIDTH).max(40)
    }

    /// A heading after an empty line.
    pub fn heading(&mut self, text: &str) {
        if !self.text.is_empty() {
            self.text.push('\n');
        }
        let text = if self.terminal.colour { format!("\u{1b}[1m{text}\u{1b}[0m") } else { text.to_owned() };
        self.text.push_str(&text);
        self.text.push('\n');
    }

    /// A line as it is.
    pub fn line(&mut self, text: &str) {
        self.text.push_str(text.trim_end());
        self.text.push('\n');
    }

    /// A paragraph, wrapped; later lines are indented.
    pub fn paragraph(&mut self, first: &str, indent: &str, text: &str) {
        let options = textwrap::Options::new(self.width()).initial_indent(first).subsequent_indent(indent).break_words(false);
        for line in textwrap::wrap(text, options) {
            self.line(&line);
        }
    }

    /// A paragraph that begins with the word of a verdict.
    pub fn verdict(&mut self, word: Word, text: &str) {
        let said = format!("{:<13}", words(word));
        let before = self.text.len();
        self.paragraph(&format!("  {said}"), &" ".repeat(15), text);
        if let (true, Some(code)) = (self.terminal.colour, colour_code(word)) {
            let coloured = format!("\u{1b}[{code}m{}\u{1b}[0m", words(word));
            let rest = self.text.split_off(before);
            self.text.push_str(&rest.replacen(words(word), &coloured, 1));
        }
    }

    /// A table without lines; trailing blanks removed.
    pub fn table(&mut self, mut table: Table) {
        table.load_style(NOTHING);
        if let Some(width) = self.terminal.width {
            table.set_content_arrangement(ContentArrangement::Dynamic).set_width(u16::try_from(width.max(40)).unwrap_or(u16::MAX));
        }
        if self.terminal.colour {
            table.enforce_styling();
        } else {
            table.force_no_tty();
        }
        // A number broken over two lines is another number: only words give way.
        for column in 0..table.column_count() {
            let numbers = table.column_cells_iter(column).flatten().all(|cell| !cell.content().trim().contains(' '));
            if let (true, Some(column)) = (numbers, table.column_mut(column)) {
                column.set_constraint(ColumnConstraint::ContentWidth);
            }
        }
        for line in table.lines() {
            let line = line.trim_end().to_owned();
            self.line(&line);
        }
    }

    /// The text.
    pub fn finish(self) -> String {
        self.text
    }
}

/// The word of a verdict.
pub fn words(word: Word) -> &'static str {
    match word {
        Word::Holds => "holds",
        Word::Watch => "watch",
        Word::Fails => "fails",
        Word::NotComputed => "not computed",
    }
}

fn colour_code(word: Word) -> Option<u8> {
    match word {
        Word::Holds => None,
        Word::Watch => Some(33),
        Word::Fails => Some(31),
        Word::NotComputed => Some(2),
    }
}

/// A plain cell.
pub fn cell(text: &str) -> Cell {
    Cell::new(text)
}

/// A heading cell.
pub fn strong(text: &str) -> Cell {
    Cell::new(text).add_attribute(Attribute::Bold)
}

/// A cell with a verdict's colour; the word itself says it all.
pub fn judged(text: &str, word: Option<Word>) -> Cell {
    match word {
        Some(Word::Fails) => Cell::new(text).fg(Color::Red),
        Some(Word::Watch) => Cell::new(text).fg(Color::DarkYellow),
        _ => Cell::new(text),
    }
}

/// `1 duty`, `2 duties`.
pub fn counted(count: usize, one: &str, many: &str) -> String {
    if count == 1 { format!("1 {one}") } else { format!("{count} {many}") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pipes_carry_no_escape_codes() {
        let mut page = Page::new(Terminal::pipe());
        page.heading("Verdicts");
        page.verdict(Word::Fails, "too hot");
        let mut table = Table::new();
        table.add_row(vec![strong("a"), judged("fails", Some(Word::Fails))]);
        page.table(table);
        let text = page.finish();
        assert!(!text.contains('\u{1b}'), "{text:?}");
        assert!(text.lines().all(|line| line.trim_end() == line));
    }

    #[test]
    fn terminals_may_colour_the_word_only() {
        let mut page = Page::new(Terminal { width: Some(60), colour: true });
        page.verdict(Word::Fails, "the film fails");
        assert!(page.finish().starts_with("  \u{1b}[31mfails\u{1b}[0m"));
    }
}
