//! Writes rows as text.

use halfsplit_syntax::{Kind, Tree};

use crate::{
    groups::Places,
    rows::{Row, What},
};

/// The text of the rows, with the line ends that most lines of the original have.
pub(crate) fn text(tree: &Tree, rows: &[Row<'_>], places: &Places) -> String {
    let end = line_end(tree);
    let mut out = String::with_capacity(tree.text().len() + tree.text().len() / 8);
    for (number, row) in rows.iter().enumerate() {
        let said = !matches!(row.what, What::Bare) || row.comment.is_some();
        if let What::AsWritten(line) = row.what {
            out.push_str(line);
        } else if said {
            match row.indent {
                Some(indent) => out.push_str(indent),
                None => pad(&mut out, row.depth * 2),
            }
            write_row(&mut out, row, places.get(&number).map_or(&[][..], Vec::as_slice));
        }
        out.push_str(end);
    }
    out
}

fn write_row(out: &mut String, row: &Row<'_>, places: &[usize]) {
    let mut comment_gap = 2;
    match &row.what {
        What::Fact { line, opens, .. } => {
            out.push_str(&line.first);
            let mut written = line.first.chars().count();
            for (cell, place) in line.cells.iter().zip(places) {
                pad(out, place.saturating_sub(written));
                out.push_str(&cell.text);
                written = place + cell.text.chars().count();
            }
            out.push_str(if *opens { " {" } else { "" });
        }
        What::Close => out.push('}'),
        What::Bare | What::AsWritten(_) => comment_gap = 0,
    }
    if let Some(comment) = row.comment {
        pad(out, comment_gap);
        out.push_str(comment);
    }
}

fn pad(out: &mut String, spaces: usize) {
    out.extend(std::iter::repeat_n(' ', spaces));
}

/// The line end of most lines.
fn line_end(tree: &Tree) -> &'static str {
    let tokens = tree.tokens();
    let ends = (0..tokens.len() as u32).filter(|token| tokens.kind(*token) == Kind::Newline);
    let (mut all, mut carriage) = (0_usize, 0_usize);
    for end in ends {
        all += 1;
        carriage += usize::from(tree.token_text(end) == "\r\n");
    }
    if carriage * 2 > all { "\r\n" } else { "\n" }
}
