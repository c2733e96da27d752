//! The grammar as EBNF, written out of the table.

/// The grammar file's text.
pub fn ebnf() -> String {
    String::new()
}
