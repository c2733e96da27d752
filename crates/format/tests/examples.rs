//! The example library stands in its layout already; but for the mistakes, of which the layout would mend some.

use std::{
    fs,
    path::{Path, PathBuf},
};

use halfsplit_format::format;

/// All circuit files below a folder.
fn circuits(folder: &Path, into: &mut Vec<PathBuf>) {
    for path in fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()) {
        if path.is_dir() && !path.ends_with("mistakes") {
            circuits(&path, into);
        } else if path.extension().is_some_and(|extension| extension == "circuit") {
            into.push(path);
        }
    }
}

/// Run with `FORMAT_EXAMPLES=1` to lay them out.
#[test]
fn every_example_is_laid_out() {
    let mut files = Vec::new();
    for folder in ["../../examples", "../model/std"] {
        circuits(&Path::new(env!("CARGO_MANIFEST_DIR")).join(folder), &mut files);
    }
    assert!(files.len() >= 3, "{} examples found", files.len());
    for path in files {
        let text = fs::read_to_string(&path).unwrap();
        let tidy = format(&text).unwrap();
        if std::env::var_os("FORMAT_EXAMPLES").is_some() {
            fs::write(&path, &tidy).unwrap();
        } else {
            let first = text.lines().zip(tidy.lines()).find(|(before, after)| before != after);
            assert!(text == tidy, "{} is not laid out: {first:?}", path.display());
        }
    }
}
