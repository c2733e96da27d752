//! A page of headings, lines, lists and tables, and how it is laid out as text and as Markdown.

use std::fmt::Write as _;

/// A piece of a page.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Block {
    /// The page's title.
    Title(String),
    /// A section's heading.
    Heading(String),
    /// Running words.
    Words(String),
    /// Lines with a mark before each.
    List(Vec<String>),
    /// Lines with a box to tick before each.
    Boxes(Vec<String>),
    /// A numbered step: its number, what to do, what it costs, and lines under it.
    Step {
        /// The number.
        number: usize,
        /// What to do.
        words: String,
        /// What it costs.
        minutes: String,
        /// Lines under it.
        lines: Vec<String>,
        /// Outcomes: what is read, and where it leads.
        outcomes: Vec<(String, String)>,
    },
    /// A table with a head.
    Table {
        /// Column heads.
        head: Vec<String>,
        /// Rows, as many cells as the head.
        rows: Vec<Vec<String>>,
    },
    /// Words behind a label, which stands out.
    Note {
        /// The label.
        label: String,
        /// The words.
        words: String,
    },
    /// Things to be found out, each with its blank, behind a label.
    Blanks {
        /// The label.
        label: String,
        /// Words behind the label; with none the blanks themselves run on from it.
        words: String,
        /// The things.
        items: Vec<String>,
    },
    /// A numbered step with a blank for what is read, a line to an outcome.
    Brief(Brief),
    /// An empty line on paper.
    Gap,
}

/// A step in few lines.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Brief {
    /// The number.
    pub number: usize,
    /// Dangers, to be read before it.
    pub dangers: Vec<String>,
    /// What to do.
    pub words: String,
    /// What it costs; left out where it would take a line more.
    pub minutes: String,
    /// Where the answer is written: `read ______`.
    pub blank: String,
    /// What can be read, and what it means: in full, and the same in fewer and fewer words. The first that fits a line
    /// is taken, the last if none does.
    pub rows: Vec<(String, Vec<String>)>,
    /// How its outcomes are laid out as text.
    pub layout: Layout,
}

/// How the outcomes of a [`Brief`] are laid out as text.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Layout {
    /// An outcome a line, the blank at the end of what to do.
    Rows,
    /// Outcomes share lines where they fit, the blank before them.
    Beside,
    /// As [`Layout::Beside`], on from what to do where its last line has room.
    RunOn,
}

/// Lays a page out for a terminal of `width` columns.
pub fn text(blocks: &[Block], width: usize) -> String {
    let mut out = String::new();
    for block in blocks {
        match block {
            Block::Title(words) => {
                wrapped(&mut out, "", "", words, width);
            }
            Block::Heading(words) => {
                let _ = writeln!(out, "\n{words}");
            }
            Block::Words(words) => wrapped(&mut out, "  ", "  ", words, width),
            Block::List(items) => {
                items.iter().for_each(|item| wrapped(&mut out, "  - ", "    ", item, width))
            }
            Block::Boxes(items) => {
                items.iter().for_each(|item| wrapped(&mut out, "  [ ] ", "      ", item, width))
            }
            Block::Step { number, words, minutes, lines, outcomes } => {
                let _ = writeln!(out);
                wrapped(
                    &mut out,
                    &format!("{number:>3}  "),
                    "     ",
                    &format!("{words}  ({minutes})"),
                    width,
                );
                lines.iter().for_each(|line| wrapped(&mut out, "     ", "     ", line, width));
                let widest = outcomes.iter().map(|(read, _)| columns(read)).max().unwrap_or(0).min(width / 3);
                for (read, leads) in outcomes {
                    let rest = " ".repeat(widest + 9);
                    // What is wider than its column has a line to itself, so that the columns stay.
                    let first = if columns(read) > widest {
                        let _ = writeln!(out, "       {read}");
                        rest.clone()
                    } else {
                        format!("       {read:widest$}  ")
                    };
                    wrapped(&mut out, &first, &rest, leads, width);
                }
            }
            Block::Table { head, rows } => {
                out.push('\n');
                table(&mut out, head, rows, width);
            }
            Block::Note { label, words } => wrapped(&mut out, &format!("{label}  "), "  ", words, width),
            Block::Blanks { label, words, items } => blanks(&mut out, label, words, items, width),
            Block::Brief(step) => brief(&mut out, step, width),
            Block::Gap => out.push('\n'),
        }
    }
    out
}

/// Things with a blank each: two in a row below the label's words, or run on from the label.
fn blanks(out: &mut String, label: &str, words: &str, items: &[String], width: usize) {
    let cells: Vec<String> = items.iter().map(|item| format!("[ ] {item}")).collect();
    if words.is_empty() {
        let mut line = label.to_owned();
        for cell in &cells {
            if columns(&line) + 2 + columns(cell) > width {
                let _ = writeln!(out, "{line}");
                line.clear();
            }
            line.push_str("  ");
            line.push_str(cell);
        }
        let _ = writeln!(out, "{line}");
        return;
    }
    wrapped(out, &format!("{label}  "), "  ", words, width);
    let half = width.saturating_sub(4) / 2;
    for pair in cells.chunks(2) {
        match pair {
            [one, other] if columns(one) <= half && columns(other) + 2 <= half => {
                let _ = writeln!(out, "  {one:half$}  {other}");
            }
            _ => pair.iter().for_each(|cell| wrapped(out, "  ", "      ", cell, width)),
        }
    }
}

/// What stands between two outcomes that share a line.
const BETWEEN: &str = " | ";

fn brief(out: &mut String, step: &Brief, width: usize) {
    step.dangers.iter().for_each(|danger| wrapped(out, "  ! ", "    ", danger, width));
    let first = format!("{:>2}  ", step.number);
    // Where outcomes share lines the blank stands before them.
    let rows = step.layout == Layout::Rows;
    let fits = |lines: &[String]| {
        !rows || lines.last().is_some_and(|last| columns(last) + 2 + columns(&step.blank) <= width)
    };
    let plain = lines(&first, &step.words, width);
    let timed = lines(&first, &format!("{} ({})", step.words, step.minutes), width);
    let timed_fits = timed.len() == plain.len() && (fits(&timed) || !fits(&plain));
    let mut lines = if timed_fits { timed } else { plain.clone() };
    if !fits(&lines) {
        lines.push(String::new());
    }
    if let Some(last) = lines.last_mut().filter(|_| rows) {
        let pad = width.saturating_sub(columns(last) + columns(&step.blank));
        last.push_str(&format!("{}{}", " ".repeat(pad), step.blank));
    }
    if !rows {
        let below = |lines: &[String]| {
            let mut text: String = lines.iter().map(|line| line.clone() + "\n").collect();
            side_by_side(&mut text, &format!("    {}", step.blank), step, width);
            text
        };
        let run_on = || {
            let (last, before) = plain.split_last()?;
            let mut text: String = before.iter().map(|line| line.clone() + "\n").collect();
            side_by_side(&mut text, &format!("{last}  {}", step.blank), step, width);
            runs_on(step, last, width).then_some(text)
        };
        let below = below(&lines);
        // On from what to do only where that takes a line less.
        let run_on = Some(()).filter(|()| step.layout == Layout::RunOn).and_then(|()| run_on());
        let shorter = run_on.filter(|text| text.lines().count() < below.lines().count());
        return out.push_str(&shorter.unwrap_or(below));
    }
    lines.iter().for_each(|line| {
        let _ = writeln!(out, "{line}");
    });
    let widest = step.rows.iter().map(|(read, _)| columns(read)).max().unwrap_or(0).min(width / 3);
    for (read, meanings) in &step.rows {
        let lead = format!("      {read:widest$}  ");
        let room = width.saturating_sub(columns(&lead));
        wrapped(out, &lead, &" ".repeat(widest + 8), shortened(meanings, room), width);
    }
}

/// Words behind a number, as lines.
fn lines(first: &str, words: &str, width: usize) -> Vec<String> {
    let mut text = String::new();
    wrapped(&mut text, first, "    ", words, width);
    text.lines().map(str::to_owned).collect()
}

/// Whether the blank and the first outcome fit behind what was said.
fn runs_on(step: &Brief, line: &str, width: usize) -> bool {
    let first = step
        .rows
        .first()
        .map_or(0, |(read, meanings)| columns(read) + 1 + meanings.last().map_or(0, |words| columns(words)));
    columns(line) + 2 + columns(&step.blank) + 3 + first <= width
}

/// The first of these words that fits so many columns, else the last.
fn shortened(meanings: &[String], room: usize) -> &str {
    let fitting = meanings.iter().find(|words| columns(words) <= room);
    fitting.or(meanings.last()).map_or("", String::as_str)
}

/// A line's begin with the blank, and the outcomes behind it, one after the other; none is broken that fits a line.
fn side_by_side(out: &mut String, begun: &str, step: &Brief, width: usize) {
    const INDENT: &str = "      ";
    let mut line = begun.to_owned();
    let mut between = "   ";
    for (at, (read, meanings)) in step.rows.iter().enumerate() {
        let room = |before: usize| width.saturating_sub(before + columns(read) + 1);
        let left = room(columns(&line) + columns(between));
        let whole = shortened(meanings, room(columns(INDENT)));
        // In the room that is left the same may be said in fewer words.
        let fewer = at == 0 || step.layout == Layout::RunOn;
        let here = if fewer { shortened(meanings, left) } else { whole };
        if columns(here) <= left {
            line.push_str(&format!("{between}{read} {here}"));
        } else {
            flushed(out, &line, width);
            line = format!("{INDENT}{read} {whole}");
        }
        between = BETWEEN;
    }
    flushed(out, &line, width);
}

/// A line as it stands, or wrapped where not even one outcome fits it.
fn flushed(out: &mut String, line: &str, width: usize) {
    if columns(line) > width {
        wrapped(out, "      ", "        ", line, width);
    } else {
        let _ = writeln!(out, "{}", line.trim_end());
    }
}

fn table(out: &mut String, head: &[String], rows: &[Vec<String>], width: usize) {
    let all = || std::iter::once(head).chain(rows.iter().map(Vec::as_slice));
    let widths: Vec<usize> =
        (0..head.len()).map(|i| all().map(|row| columns(&row[i])).max().unwrap_or(0)).collect();
    for row in all() {
        let mut line = String::from("  ");
        for (cell, width) in row.iter().zip(&widths).take(head.len().saturating_sub(1)) {
            let _ = write!(line, "{cell:width$}  ");
        }
        let rest = " ".repeat(columns(&line));
        wrapped(out, &line, &rest, row.last().map_or("", String::as_str), width);
    }
}

/// Lays a page out as Markdown.
pub fn markdown(blocks: &[Block]) -> String {
    let mut out = String::new();
    for block in blocks {
        let _ = match block {
            Block::Title(words) => writeln!(out, "# {}\n", escaped(words)),
            Block::Heading(words) => writeln!(out, "\n## {}\n", escaped(words)),
            Block::Words(words) => writeln!(out, "{}\n", escaped(words)),
            Block::List(items) => items.iter().try_for_each(|item| writeln!(out, "- {}", escaped(item))),
            Block::Boxes(items) => items.iter().try_for_each(|item| writeln!(out, "- [ ] {}", escaped(item))),
            Block::Step { number, words, minutes, lines, outcomes } => {
                let mut step = format!("\n### Step {number}: {} ({minutes})\n\n", escaped(words));
                for line in lines {
                    let _ = writeln!(step, "{}\n", escaped(line));
                }
                let head = ["Reading", "Then", "Read"].map(String::from);
                let rows =
                    outcomes.iter().map(|(read, leads)| vec![read.clone(), leads.clone(), String::new()]);
                markdown_table(&mut step, &head, &rows.collect::<Vec<_>>());
                out.push_str(&step);
                Ok(())
            }
            Block::Note { label, words } => writeln!(out, "\n**{}** {}\n", escaped(label), escaped(words)),
            Block::Blanks { label, words, items } => {
                let _ = writeln!(out, "\n**{}** {}\n", escaped(label), escaped(words));
                items.iter().try_for_each(|item| writeln!(out, "- [ ] {}", escaped(item)))
            }
            Block::Brief(step) => {
                markdown_brief(&mut out, step);
                Ok(())
            }
            Block::Gap => Ok(()),
            Block::Table { head, rows } => {
                out.push('\n');
                markdown_table(&mut out, head, rows);
                Ok(())
            }
        };
    }
    out
}

fn markdown_brief(out: &mut String, step: &Brief) {
    let Brief { number, dangers, words, minutes, blank, rows, .. } = step;
    out.push('\n');
    for danger in dangers {
        let _ = writeln!(out, "> {}\n", escaped(danger));
    }
    let _ = writeln!(out, "**{number}.** {} ({minutes}) {}\n", escaped(words), escaped(blank));
    for (read, meanings) in rows {
        let meaning = meanings.first().map_or("", String::as_str);
        let _ = writeln!(out, "- **{}** {}", escaped(read), escaped(meaning));
    }
}

fn markdown_table(out: &mut String, head: &[String], rows: &[Vec<String>]) {
    let line = |cells: &[String]| {
        let cells: Vec<String> = cells.iter().map(|c| escaped(c).replace('|', "\\|")).collect();
        format!("| {} |\n", cells.join(" | "))
    };
    out.push_str(&line(head));
    out.push_str(&format!("|{}\n", " --- |".repeat(head.len())));
    rows.iter().for_each(|row| out.push_str(&line(row)));
}

/// Words that Markdown would take for marks.
fn escaped(words: &str) -> String {
    let mut out = String::with_capacity(words.len());
    for c in words.chars() {
        if matches!(c, '*' | '_' | '`' | '<' | '[' | ']' | '#') {
            out.push('\\');
        }
        out.push(c);
    }
    out
}

/// Writes words behind `first`, and behind `rest` on the lines after it.
fn wrapped(out: &mut String, first: &str, rest: &str, words: &str, width: usize) {
    let mut line = first.to_owned();
    let mut empty = true;
    for word in words.split_whitespace() {
        if !empty && columns(&line) + 1 + columns(word) > width {
            let _ = writeln!(out, "{}", line.trim_end());
            line = rest.to_owned();
            empty = true;
        }
        if !empty {
            line.push(' ');
        }
        line.push_str(word);
        empty = false;
    }
    let _ = writeln!(out, "{}", line.trim_end());
}

fn columns(text: &str) -> usize {
    text.chars().count()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn page() -> Vec<Block> {
        vec![
            Block::Title("X35:1 reads 0.235 V".into()),
            Block::Heading("Steps".into()),
            Block::Step {
                number: 1,
                words: "part X35 and leave it out".into(),
                minutes: "0.2 min".into(),
                lines: vec![],
                outcomes: vec![
                    ("4.99 V".into(), "B5: a path inside it, supply to ground".into()),
                    ("0.235 V".into(), "step 2".into()),
                ],
            },
            Block::Table {
                head: vec!["black lead".into(), "sound".into()],
                rows: vec![vec!["body".into(), "OL".into()], vec!["X35:2".into(), "OL | more".into()]],
            },
        ]
    }

    #[test]
    fn text_keeps_to_the_width_and_hangs_what_follows() {
        insta::assert_snapshot!(text(&page(), 40));
    }

    #[test]
    fn a_step_is_laid_out_in_rows_beside_each_other_or_run_on() {
        let row = |reads: &str, means: &[&str]| {
            (reads.to_owned(), means.iter().map(|words| (*words).to_owned()).collect::<Vec<_>>())
        };
        let step = |layout| {
            Block::Brief(Brief {
                number: 2,
                dangers: vec!["HOT: the valve stays hot".into()],
                words: "Part X43, leave it out.".into(),
                minutes: "3.0 min".into(),
                blank: "read ______".into(),
                rows: vec![
                    row("0.085 to 0.761 V", &["→ 3"]),
                    row("4.90 to 5.11 V", &["B23: shorted inside, X43:1 to X43:2", "B23"]),
                ],
                layout,
            })
        };
        insta::assert_snapshot!(text(&[Layout::Rows, Layout::Beside, Layout::RunOn].map(step), 68));
    }

    #[test]
    fn markdown_escapes_what_it_would_take_for_marks() {
        insta::assert_snapshot!(markdown(&page()));
    }
}
