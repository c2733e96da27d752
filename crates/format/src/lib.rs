//! The one layout of circuit files.
//!
//! Text to tree to the same text in its usual shape: two spaces a block, values in columns, units spelt one way.
//! The crate changes no token but for its spelling, drops no comment, does no I/O, and hands out nothing that it has
//! not held against the original ([`verify`]). What it cannot read it leaves as it stands.
//!
//! ```
//! let text = "halfsplit 1\nsplice SP1\nsensor B4 {\n suspicion 3 # often\n   reach 5min\n}\n";
//! let tidy = halfsplit_format::format(text).unwrap_or_default();
//! assert!(tidy.ends_with("sensor B4 {\n  suspicion  3  # often\n  reach      5 min\n}\n"));
//! assert_eq!(halfsplit_format::format(&tidy), Ok(tidy));
//! ```
//!
//! # The layout
//!
//! * A block's lines stand two spaces further in; its `{` ends its line, its `}` stands alone.
//! * A line is a row of cells. A cell is a value with the words that belong to it: `8 mA at 5 V`, `to X34:2`,
//!   `X1:1 -> X1:2`. Which words open a cell follows from the table of statements.
//! * Two spaces part cells; one space parts them in a line that only names a thing, and before the text behind a name.
//! * The first words of all facts of a block stand in one column with what follows them; so do the cells of neighbouring lines of the same
//!   kind. Blank lines and comment lines end such a group, blocks between its lines do not, so a change
//!   moves no line beyond the next blank line or comment.
//! * A column is as wide as its widest cell, but cells that are more than [`ODD`] characters wider than the middle one
//!   do not count: they push what follows them on their own line only. Nor does a cell count that ends its line.
//! * Numbers and units are parted by one space and spelt `mm2`, `ohm`, `u`, `C`; colours in capitals; quotation marks plain.
//! * Comments keep their place: on a line of their own as far in as their block, or two spaces behind what they follow.
//! * Several blank lines become one; at the edge of a block or of the file they go.
//! * Line ends stay as most of them are written; a byte-order mark goes.
//! * A line with a fault stays as it is, byte for byte. Where braces or places of statements are at fault, or
//!   faulty lines leave it open what belongs where, all lines keep how far they stand in.

mod cells;
mod columns;

mod error;
mod faults;
mod groups;
mod rows;
mod spelling;
mod verify;
mod write;

use std::collections::HashMap;

use halfsplit_syntax::{Fact, StatementId, parse};

pub use self::{columns::ODD, error::FormatError, verify::verify};

/// Puts a text into its layout. Faults in it are no error: their lines are left as they are.
///
/// # Errors
/// When the laid-out text does not say the same as the original, which would be a fault of this crate, or when the text has more faults
/// than are kept. Nothing is to be written then.
pub fn format(text: &str) -> Result<String, FormatError> {
    let parse = parse(text);
    if parse.errors.len() > halfsplit_syntax::MOST_ERRORS {
        return Err(FormatError::TooManyFaults);
    }
    let mut facts = HashMap::new();
    gather(&parse.facts, &mut facts);
    let faults = faults::Faults::of(&parse);
    let lay_out = |indentation| {
        let rows = rows::rows(&parse, &facts, &faults, indentation);
        let out = write::text(&parse.tree, &rows, &groups::places(&rows));
        if out == text { Ok(out) } else { verify::compare(&parse, &out).map(|()| out) }
    };
    if faults.blocks_in_doubt {
        return lay_out(Indentation::AsWritten);
    }
    match lay_out(Indentation::ByBlock) {
        // How far a faulty line stands in may have told the parser where a block ends.
        Err(_) if !parse.errors.is_empty() => lay_out(Indentation::AsWritten),
        done => done,
    }
}

/// How far lines stand in.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Indentation {
    ByBlock,
    AsWritten,
}

/// Every fact by its statement.
fn gather<'p>(facts: &'p [Fact], into: &mut HashMap<StatementId, &'p Fact>) {
    for fact in facts {
        into.insert(fact.statement, fact);
        gather(&fact.facts, into);
    }
}
