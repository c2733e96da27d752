//! What findings look like to the person who gets them: the text beside the words.

use halfsplit_base::Files;
use halfsplit_check::check;
use halfsplit_render::findings::{Look, text};

/// The file with its findings as the command line prints them.
fn shown(name: &str) -> String {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/mistakes").join(name);
    let mut files = Files::default();
    let file = files.set(name.into(), &std::fs::read_to_string(path).unwrap());
    text(&files, &check(&files, file).findings, Look::default())
}

#[test]
fn names() {
    insta::assert_snapshot!(shown("names.circuit"));
}

#[test]
fn connectors() {
    insta::assert_snapshot!(shown("connectors.circuit"));
}

#[test]
fn colours() {
    insta::assert_snapshot!(shown("colours.circuit"));
}

#[test]
fn feeds() {
    insta::assert_snapshot!(shown("feeds.circuit"));
}

#[test]
fn shorts() {
    insta::assert_snapshot!(shown("shorts.circuit"));
}

#[test]
fn fuses() {
    insta::assert_snapshot!(shown("fuses.circuit"));
}

#[test]
fn values() {
    insta::assert_snapshot!(shown("values.circuit"));
}

#[test]
fn meter() {
    insta::assert_snapshot!(shown("meter.circuit"));
}

#[test]
fn allows() {
    insta::assert_snapshot!(shown("allows.circuit"));
}
