//! The report as one HTML file: print style, no script, nothing from outside.

use std::fmt::Write;

use super::Paper;
use super::content::{Cell, Column, Content, Entry, Field, Figure, Part, Section, Table, Tone};

const STYLE: &str = include_str!("../../pages/report.css");

/// The report as HTML.
pub fn html(content: &Content, paper: Paper) -> String {
    let size = match paper {
        Paper::A4 => "A4",
        Paper::Letter => "letter",
    };
    let mut page = String::new();
    let _ = write!(
        page,
        "<!doctype html>\n<html lang=\"en-GB\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<meta name=\"color-scheme\" content=\"light dark\">\n\
         <meta name=\"generator\" content=\"halfmicron\">\n<meta name=\"author\" content=\"{author}\">\n<title>{title}</title>\n\
         <style>\n{STYLE}@page {{ size: {size}; }}\n@page turned {{ size: {size} landscape; }}\n</style>\n</head>\n<body>\n",
        author = escaped(&content.author),
        title = escaped(&content.title),
    );
    write_title_block(&mut page, content);
    write_list_of_sections(&mut page, content);
    page.push_str("<main>\n");
    for (index, section) in content.sections.iter().enumerate() {
        write_section(&mut page, section, index + 1);
    }
    let _ = write!(
        page,
        "</main>\n<footer><span>{}</span> <span>{}</span></footer>\n</body>\n</html>\n",
        escaped(&content.foot),
        escaped(&content.identity)
    );
    page
}

fn write_title_block(page: &mut String, content: &Content) {
    let _ = write!(page, "<header>\n<h1>{}</h1>\n<p class=\"soft\">{}</p>\n<dl>\n", escaped(&content.title), escaped(&content.subtitle));
    for Field { label, text } in &content.title_block {
        let class = if text.is_empty() { " class=\"blank\"" } else { "" };
        let _ = writeln!(page, "<div{class}><dt>{}</dt><dd>{}</dd></div>", escaped(label), escaped(text));
    }
    page.push_str("</dl>\n</header>\n");
}

fn write_list_of_sections(page: &mut String, content: &Content) {
    page.push_str("<nav aria-label=\"Sections\"><ol>\n");
    for section in &content.sections {
        let _ = writeln!(page, "<li><a href=\"#{}\">{}</a></li>", section.key, escaped(section.title));
    }
    page.push_str("</ol></nav>\n");
}

fn write_section(page: &mut String, section: &Section, number: usize) {
    let turned = if section.turned { " class=\"turned\"" } else { "" };
    let _ = writeln!(page, "<section id=\"{}\"{turned}>\n<h2><span>{number}</span> {}</h2>", section.key, escaped(section.title));
    section.parts.iter().for_each(|part| write_part(page, part));
    page.push_str("</section>\n");
}

fn write_part(page: &mut String, part: &Part) {
    let _ = match part {
        Part::Heading { text } => writeln!(page, "<h3>{}</h3>", escaped(text)),
        Part::Paragraph { text, tone } => writeln!(page, "<p{}>{}</p>", class(*tone), escaped(text)),
        Part::Lines { lines } => writeln!(page, "<pre>{}</pre>", escaped(&lines.join("\n"))),
        Part::Table(table) => {
            write_table(page, table);
            Ok(())
        }
        Part::Entries { items } => {
            items.iter().for_each(|item| write_entry(page, item));
            Ok(())
        }
        Part::Figure(figure) => {
            write_figure(page, figure);
            Ok(())
        }
    };
}

fn write_table(page: &mut String, table: &Table) {
    let kind = if table.columns.len() > 3 { "many" } else { "few" };
    let _ = writeln!(page, "<div class=\"wide\" tabindex=\"0\" role=\"group\" aria-label=\"Table\"><table class=\"{kind}\">");
    if table.columns.iter().any(|column| !column.head.is_empty()) {
        page.push_str("<thead><tr>");
        for column in &table.columns {
            let side = if column.numbers { " class=\"number\"" } else { "" };
            let tag = if column.head.is_empty() { "td" } else { "th" };
            let scope = if column.head.is_empty() { "" } else { " scope=\"col\"" };
            let _ = write!(page, "<{tag}{scope}{side}>{}</{tag}>", escaped(&column.head));
        }
        page.push_str("</tr></thead>\n");
    }
    for group in &table.groups {
        page.push_str("<tbody>\n");
        if !group.title.is_empty() {
            let span = table.columns.len();
            let _ = writeln!(page, "<tr class=\"group\"><th scope=\"rowgroup\" colspan=\"{span}\">{}</th></tr>", escaped(&group.title));
        }
        for row in &group.rows {
            page.push_str("<tr>");
            for (index, (column, cell)) in table.columns.iter().zip(row).enumerate() {
                write_cell(page, cell, index == 0, column);
            }
            page.push_str("</tr>\n");
        }
        page.push_str("</tbody>\n");
    }
    page.push_str("</table></div>\n");
}

fn write_cell(page: &mut String, cell: &Cell, first: bool, column: &Column) {
    let head = first && !cell.text.is_empty();
    let tag = if head { "th" } else { "td" };
    let scope = if head { " scope=\"row\"" } else { "" };
    let set = |is: bool, name: &'static str| if is { name } else { "" };
    let classes = [set(column.numbers, "number"), set(column.share == 0.0, "tight"), set(cell.inset, "inset"), name(cell.tone)];
    let classes: Vec<&str> = classes.into_iter().filter(|class| !class.is_empty()).collect();
    let class = if classes.is_empty() { String::new() } else { format!(" class=\"{}\"", classes.join(" ")) };
    let below = if cell.below.is_empty() { String::new() } else { format!(" <small>{}</small>", escaped(&cell.below)) };
    let text = escaped(&cell.text);
    let text = if first && !text.contains(' ') { breakable(&text) } else { text };
    let _ = write!(page, "<{tag}{scope}{class}>{text}{below}</{tag}>");
}

/// A path of the case may break after each of its parts.
fn breakable(path: &str) -> String {
    path.replace('_', "_<wbr>").replace('.', ".<wbr>")
}

fn write_entry(page: &mut String, entry: &Entry) {
    let _ = write!(page, "<div class=\"entry\">");
    if !entry.word.is_empty() {
        let _ = write!(page, "<p class=\"word {}\">{}</p>", name(entry.tone), escaped(&entry.word));
    }
    page.push_str("<div>");
    if !entry.title.is_empty() {
        let _ = write!(page, "<h4>{}</h4>", escaped(&entry.title));
    }
    for line in &entry.lines {
        let label = if line.label.is_empty() { String::new() } else { format!("<span class=\"soft\">{}:</span> ", escaped(&line.label)) };
        let _ = write!(page, "<p>{label}{}</p>", escaped(&line.text));
    }
    for remark in &entry.remarks {
        let _ = write!(page, "<p class=\"remark\"><b>{}:</b> {}</p>", escaped(&remark.label), escaped(&remark.text));
    }
    page.push_str("</div></div>\n");
}

fn write_figure(page: &mut String, figure: &Figure) {
    let svg = with_own_ids(&figure.svg, figure.name.trim_end_matches(".svg"));
    let _ =
        writeln!(page, "<figure>\n<div class=\"picture\">{svg}</div>\n<figcaption>{}</figcaption>\n</figure>", escaped(&figure.caption));
}

/// Ids of a picture made its own, so that several stand in one page.
fn with_own_ids(svg: &str, name: &str) -> String {
    let own = svg.replace(" id=\"", &format!(" id=\"{name}-")).replace("url(#", &format!("url(#{name}-"));
    own.replace("aria-labelledby=\"title description\"", &format!("aria-labelledby=\"{name}-title {name}-description\""))
}

fn class(tone: Tone) -> String {
    match name(tone) {
        "" => String::new(),
        name => format!(" class=\"{name}\""),
    }
}

fn name(tone: Tone) -> &'static str {
    match tone {
        Tone::Plain => "",
        Tone::Soft => "soft",
        Tone::Strong => "strong",
        Tone::Fails => "fails",
        Tone::Watch => "watch",
        Tone::Holds => "holds",
        Tone::Unknown => "unknown",
    }
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}
