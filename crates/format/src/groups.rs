//! Which rows stand in columns together, and where the columns are.

use std::collections::HashMap;

use halfsplit_syntax::{StatementId, shape::Shape};

use crate::{
    cells::{Cell, Line, is_thing},
    columns::width,
    rows::{Row, What},
};

/// For each row, by its number, where its cells start, counted from its first word; no entry where it has none.
pub(crate) type Places = HashMap<usize, Vec<usize>>;

/// A row with a statement.
#[derive(Clone, Copy)]
struct Member<'r> {
    number: usize,
    shape: &'static Shape,
    line: &'r Line,
    opens: bool,
    in_block: bool,
}

impl Member<'_> {
    /// Whether it states a fact of a block's owner: these share the column of their first words.
    fn is_fact(&self) -> bool {
        self.in_block && !is_thing(self.shape)
    }

    /// Whether it heads a block of its own, and so has no neighbours to stand in columns with.
    fn is_heading(&self) -> bool {
        !self.is_fact() && self.line.names && self.opens
    }
}

/// Finds the places of all cells.
pub(crate) fn places(rows: &[Row<'_>]) -> Places {
    let mut places = Places::new();
    let mut open: HashMap<Option<StatementId>, Vec<Member<'_>>> = HashMap::new();
    for (number, row) in rows.iter().enumerate() {
        match &row.what {
            What::Bare => {
                if let Some(group) = open.remove(&row.block) {
                    lay(&group, &mut places);
                }
            }
            What::Fact { shape, line, opens } => {
                let in_block = row.depth > 0;
                open.entry(row.block).or_default().push(Member {
                    number,
                    shape,
                    line,
                    opens: *opens,
                    in_block,
                });
            }
            What::Close | What::AsWritten(_) => {}
        }
    }
    for group in open.values() {
        lay(group, &mut places);
    }
    places
}

/// Lays out the rows of one block between two blank or comment lines.
fn lay(group: &[Member<'_>], places: &mut Places) {
    let first = |member: &Member<'_>| member.line.first.chars().count();
    let facts = group.iter().filter(|member| member.is_fact() && !member.line.cells.is_empty());
    let facts = width(facts.map(first).collect());
    let mut rest = group;
    while let Some(member) = rest.first() {
        let (run, behind) = rest.split_at(run(rest));
        rest = behind;
        let own = if member.is_fact() { facts + 2 } else { width(run.iter().map(first).collect()) + 1 };
        lay_run(run, own, places);
    }
}

/// How many of the first rows share columns.
fn run(rows: &[Member<'_>]) -> usize {
    let Some(first) = rows.first().filter(|first| !first.is_heading()) else {
        return rows.len().min(1);
    };
    let mut widest = first;
    let mut length = 1;
    for next in rows.iter().skip(1) {
        let same = next.shape == widest.shape;
        let akin = !next.line.names && !widest.line.names && next.is_fact() == first.is_fact();
        if next.is_heading() || !(same || akin && related(&widest.line.slots, &next.line.slots)) {
            break;
        }
        if next.line.slots.len() > widest.line.slots.len() {
            widest = next;
        }
        length += 1;
    }
    length
}

/// Whether all slots of one are among those of the other, in the same order, and both begin with the same.
fn related(one: &[&str], other: &[&str]) -> bool {
    if one.first() != other.first() {
        return false;
    }
    let (short, long) = if one.len() <= other.len() { (one, other) } else { (other, one) };
    let mut long = long.iter();
    short.iter().all(|slot| long.any(|other| other == slot))
}

/// Lays out rows that share their columns.
fn lay_run(run: &[Member<'_>], own: usize, places: &mut Places) {
    let columns = columns(run);
    // Where each column starts: behind the one before it, of which only cells count that something follows.
    let mut starts = Vec::with_capacity(columns.len());
    let mut start = own;
    let mut previous: Option<usize> = None;
    for column in &columns {
        let gaps = cells_of(run, *column).map(|(cell, _)| cell.gap);
        if let Some(width) = previous.filter(|width| *width > 0) {
            start += width + gaps.max().unwrap_or(2);
        }
        starts.push(start);
        let followed = cells_of(run, *column).filter(|(_, last)| !last);
        previous = Some(width(followed.map(|(cell, _)| cell.text.chars().count()).collect()));
    }
    for member in run {
        let mut end = member.line.first.chars().count();
        let mut found = Vec::with_capacity(member.line.cells.len());
        for (number, cell) in member.line.cells.iter().enumerate() {
            let gap = if number > 0 {
                cell.gap
            } else if member.is_fact() {
                2
            } else {
                1
            };
            let column = columns.iter().position(|column| *column == cell.column);
            let place = column.and_then(|column| starts.get(column)).copied().unwrap_or(0).max(end + gap);
            found.push(place);
            end = place + cell.text.chars().count();
        }
        places.insert(member.number, found);
    }
}

type Column = (&'static str, usize);

/// The columns of a run, in the order of the pattern that has most of them.
fn columns(run: &[Member<'_>]) -> Vec<Column> {
    let order = run.iter().map(|member| &member.line.slots).max_by_key(|slots| slots.len());
    let place = |name: &str| order.and_then(|order| order.iter().position(|slot| *slot == name)).unwrap_or(0);
    let mut columns: Vec<Column> = Vec::new();
    for cell in run.iter().flat_map(|member| &member.line.cells) {
        if !columns.contains(&cell.column) {
            columns.push(cell.column);
        }
    }
    columns.sort_by_key(|(name, time)| (*time, place(name)));
    columns
}

/// The cells of a column, and whether each ends its line.
fn cells_of<'r>(run: &'r [Member<'r>], column: Column) -> impl Iterator<Item = (&'r Cell, bool)> {
    run.iter().filter_map(move |member| {
        let cells = &member.line.cells;
        let at = cells.iter().position(|cell| cell.column == column)?;
        Some((cells.get(at)?, at + 1 == cells.len()))
    })
}
