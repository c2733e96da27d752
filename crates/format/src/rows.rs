//! Cuts a text into the rows of its layout.

use std::collections::HashMap;

use halfsplit_syntax::{Fact, Kind, Parse, StatementId, Tree, shape::Shape};

use crate::{
    Indentation,
    cells::{self, Line},
    faults::Faults,
};

/// One line of the layout.
pub(crate) struct Row<'t> {
    pub(crate) what: What<'t>,
    /// The statement whose block it stands in.
    pub(crate) block: Option<StatementId>,
    /// Blocks around it.
    pub(crate) depth: usize,
    /// How far it stands in, where that is kept as written.
    pub(crate) indent: Option<&'t str>,
    /// A comment: behind it, or all there is.
    pub(crate) comment: Option<&'t str>,
}

/// What a row is.
pub(crate) enum What<'t> {
    /// Nothing, or a comment.
    Bare,
    /// A statement's line.
    Fact {
        shape: &'static Shape,
        line: Line,
        /// Whether a block follows.
        opens: bool,
    },
    /// `}`
    Close,
    /// A line that is left as it is.
    AsWritten(&'t str),
}

/// The rows of a text; blank ones only where they part something.
pub(crate) fn rows<'t>(
    parse: &'t Parse,
    facts: &HashMap<StatementId, &'t Fact>,
    faults: &Faults,
    indentation: Indentation,
) -> Vec<Row<'t>> {
    let tree = &parse.tree;
    let tokens = tree.tokens();
    let statements = tree.statements().iter().enumerate();
    let starts = statements.map(|(number, statement)| (statement.items.start, StatementId(number as u32)));
    let mut cut = Cut {
        tree,
        facts,
        starts: starts.collect(),
        keep_indent: indentation == Indentation::AsWritten,
        blocks: Vec::new(),
        blank: false,
        rows: Vec::new(),
    };
    let mut first = 0;
    while (first as usize) < tokens.len() {
        let mut end = first;
        while (end as usize) < tokens.len() && tokens.kind(end) != Kind::Newline {
            end += 1;
        }
        cut.line(first, end, faults.touch(tokens.start(first)));
        first = end + 1;
    }
    cut.rows
}

struct Cut<'t, 'f> {
    tree: &'t Tree,
    facts: &'f HashMap<StatementId, &'t Fact>,
    /// Statements by their first token.
    starts: HashMap<u32, StatementId>,
    keep_indent: bool,
    /// The statements whose blocks are open; `None` for one that is not known.
    blocks: Vec<Option<StatementId>>,
    /// Whether blank lines have come since the last row.
    blank: bool,
    rows: Vec<Row<'t>>,
}

impl<'t> Cut<'t, '_> {
    /// Cuts one line of the text, which may be several rows.
    fn line(&mut self, first: u32, end: u32, faulty: bool) {
        let tokens = self.tree.tokens();
        let said: Vec<u32> = (first..end).filter(|token| tokens.kind(*token) != Kind::Space).collect();
        if said.is_empty() {
            self.blank = true;
            return;
        }
        if faulty || !self.is_known(&said) || self.keep_indent && has_inner_brace(self.tree, &said) {
            self.as_written(first, end, &said);
            return;
        }
        let indent = match tokens.kind(first) {
            Kind::Space => self.tree.token_text(first).trim_start_matches('\u{FEFF}'),
            _ => "",
        };
        let indent = Some(indent).filter(|_| self.keep_indent);
        let rows_before = self.rows.len();
        let mut statement = None;
        for token in said {
            match tokens.kind(token) {
                Kind::Comment => {
                    let comment = Some(self.tree.token_text(token).trim_end());
                    let started = self.rows.len() > rows_before;
                    match self.rows.last_mut().filter(|_| started) {
                        Some(row) => row.comment = comment,
                        None => {
                            self.push(What::Bare, indent);
                            self.rows.last_mut().into_iter().for_each(|row| row.comment = comment);
                        }
                    }
                }
                Kind::LBrace => {
                    if let Some(Row { what: What::Fact { opens, .. }, .. }) = self.rows.last_mut() {
                        *opens = true;
                    }
                    self.blocks.push(statement.take());
                }
                Kind::RBrace => {
                    self.blocks.pop();
                    self.blank = false;
                    self.push(What::Close, indent);
                }
                _ => {
                    // The rest of a statement that has begun has no entry here.
                    let Some(id) = self.starts.get(&token).copied() else { continue };
                    let Some(fact) = self.facts.get(&id) else { continue };
                    statement = Some(id);
                    let line = cells::line(self.tree, fact);
                    self.push(What::Fact { shape: fact.shape, line, opens: false }, indent);
                }
            }
        }
    }

    /// Whether every statement that begins in a line has been understood.
    fn is_known(&self, said: &[u32]) -> bool {
        let mut known = false;
        said.iter().all(|token| match self.tree.tokens().kind(*token) {
            Kind::Comment | Kind::LBrace | Kind::RBrace => {
                known = false;
                true
            }
            _ => {
                known |= self.starts.get(token).is_some_and(|id| self.facts.contains_key(id));
                known
            }
        })
    }

    fn as_written(&mut self, first: u32, end: u32, said: &[u32]) {
        let tokens = self.tree.tokens();
        let written =
            self.tree.text().get(tokens.start(first) as usize..tokens.start(end) as usize).unwrap_or("");
        let written = if first == 0 { written.trim_start_matches('\u{FEFF}') } else { written };
        self.push(What::AsWritten(written), None);
        let mut statement = None;
        for token in said {
            match tokens.kind(*token) {
                Kind::LBrace => self.blocks.push(statement.take()),
                Kind::RBrace => drop(self.blocks.pop()),
                _ => statement = self.starts.get(token).copied().or(statement),
            }
        }
    }

    fn push(&mut self, what: What<'t>, indent: Option<&'t str>) {
        let row = |what, indent, blocks: &[Option<StatementId>]| Row {
            what,
            block: blocks.last().copied().flatten(),
            depth: blocks.len(),
            indent,
            comment: None,
        };
        let parts =
            !matches!(self.rows.last(), None | Some(Row { what: What::Fact { opens: true, .. }, .. }));
        if std::mem::take(&mut self.blank) && parts {
            self.rows.push(row(What::Bare, None, &self.blocks));
        }
        self.rows.push(row(what, indent, &self.blocks));
    }
}

/// Whether a line has a brace other than one that opens its block at its end or stands alone.
fn has_inner_brace(tree: &Tree, said: &[u32]) -> bool {
    let kind = |token: &u32| tree.tokens().kind(*token);
    let said = match said {
        [rest @ .., last] if kind(last) == Kind::Comment => rest,
        all => all,
    };
    let brace = |token: &u32| matches!(kind(token), Kind::LBrace | Kind::RBrace);
    match said {
        [only] if kind(only) == Kind::RBrace => false,
        [rest @ .., last] if kind(last) == Kind::LBrace => rest.is_empty() || rest.iter().any(brace),
        all => all.iter().any(brace),
    }
}
