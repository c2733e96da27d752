//! The reference under `grammar/reference/` says what the table says: its pages are written out of it.
//!
//! Run with `UPDATE_GRAMMAR=1` to write the pages anew.

use std::{collections::BTreeMap, fs, path::Path};

use halfsplit_syntax::shape;

fn lay_out(example: &str) -> String {
    let whole = halfsplit_format::format(&format!("halfsplit 1\n{example}\n")).unwrap();
    whole.strip_prefix("halfsplit 1\n").unwrap_or(&whole).to_owned()
}

#[test]
fn the_reference_says_what_the_table_says() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../grammar/reference");
    let mut wanted = BTreeMap::from([(shape::INDEX.to_owned(), shape::index())]);
    for word in shape::words() {
        wanted.insert(format!("{word}.md"), shape::page(word, &lay_out).unwrap());
    }
    let update = std::env::var_os("UPDATE_GRAMMAR").is_some();
    if update {
        fs::create_dir_all(&folder).unwrap();
        for (name, text) in &wanted {
            fs::write(folder.join(name), text).unwrap();
        }
    }
    for entry in fs::read_dir(&folder).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        if update && !wanted.contains_key(&name) {
            fs::remove_file(folder.join(&name)).unwrap();
        } else {
            assert!(wanted.contains_key(&name), "grammar/reference/{name} is a page of no statement");
        }
    }
    let stale: Vec<&String> = wanted
        .iter()
        .filter(|(name, text)| fs::read_to_string(folder.join(name)).unwrap_or_default() != **text)
        .map(|(name, _)| name)
        .collect();
    assert!(stale.is_empty(), "stale pages, run this test with UPDATE_GRAMMAR=1: {stale:?}");
}
