//! Says of each file whether the parser accepts it, or by which rules not: for the tests of the other grammars.
//!
//! `cargo run -p halfsplit-syntax --example accepts -- < list-of-files`

use std::io::{BufRead as _, Error, Write as _};

fn main() -> Result<(), Error> {
    let mut out = std::io::stdout().lock();
    for path in std::io::stdin().lock().lines() {
        let path = path?;
        let parse = halfsplit_syntax::parse(std::fs::read_to_string(&path)?);
        let rules: Vec<&str> = parse.errors.iter().map(|error| error.rule).collect();
        writeln!(out, "{path}\t{}", rules.join(" "))?;
    }
    Ok(())
}
