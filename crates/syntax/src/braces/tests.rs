use crate::testing::{findings, mended};

/// Findings of a text, which its own fixes must mend.
fn mends(text: &str) -> String {
    let mended = mended(text);
    assert_eq!(findings(&mended), "", "{mended}");
    findings(text)
}

const AFTER: &str = "wire W7 SP10 to X34:2 GY/RD 0.5 mm2 2.2 m\nsensor B5 {\n  suspicion 1\n}\n";

#[test]
fn an_unclosed_block_ends_before_what_it_cannot_hold() {
    let text = format!("halfsplit 1\nsensor B4 \"A/C pressure\" {{\n  suspicion 3\n{AFTER}");
    insta::assert_snapshot!(mends(&text), @r#"
    2 | sensor B4 "A/C pressure" {
      unclosed-brace: the `{` of `sensor B4` is never closed
         its `}` most likely belongs before the line that begins with `wire`
         fix: close it before this line
    "#);
}

#[test]
fn an_unclosed_inner_block_ends_where_its_owner_goes_on() {
    let text = format!(
        "halfsplit 1\nsensor B4 {{\n  connector X34 3 cavities {{\n    2 GY/RD\n  draws 8 mA X34:2 -> X34:1\n  suspicion 3\n}}\n{AFTER}"
    );
    insta::assert_snapshot!(mends(&text), @r#"
    3 |   connector X34 3 cavities {
      unclosed-brace: the `{` of `connector X34` is never closed
         its `}` most likely belongs before the line that begins with `draws`
         fix: close it before this line
    "#);
}

#[test]
fn an_unclosed_inner_block_ends_at_its_owners_brace() {
    let text = format!("halfsplit 1\nsensor B4 {{\n  connector X34 3 cavities {{\n    2 GY/RD\n}}\n{AFTER}");
    insta::assert_snapshot!(mends(&text), @r#"
    3 |   connector X34 3 cavities {
      unclosed-brace: the `{` of `connector X34` is never closed
         its `}` most likely belongs before the next one
         fix: close it before this line
    "#);
}

#[test]
fn an_unclosed_inner_block_ends_where_its_owner_goes_on_with_a_shared_word() {
    let text = format!(
        "halfsplit 1\nsensor B4 {{\n  connector X34 3 cavities {{\n    2 GY/RD\n  suspicion 3\n}}\n{AFTER}"
    );
    insta::assert_snapshot!(mends(&text), @r#"
    3 |   connector X34 3 cavities {
      unclosed-brace: the `{` of `connector X34` is never closed
         its `}` most likely belongs before the line that begins with `suspicion`
         fix: close it before this line
    "#);
}

#[test]
fn an_unclosed_block_at_the_end() {
    insta::assert_snapshot!(mends("halfsplit 1\nsensor B4 {\n  suspicion 3"), @r#"
    2 | sensor B4 {
      unclosed-brace: the `{` of `sensor B4` is never closed
         write its `}` on a line of its own, where the block ends
         fix: close it at the end of the file
    "#);
}

#[test]
fn without_indentation_the_table_alone_decides() {
    let text = format!("halfsplit 1\nsensor B4 {{\nsuspicion 3\n{AFTER}");
    insta::assert_snapshot!(mends(&text), @r#"
    2 | sensor B4 {
      unclosed-brace: the `{` of `sensor B4` is never closed
         its `}` most likely belongs before the line that begins with `wire`
         fix: close it before this line
    "#);
}

#[test]
fn stray_braces() {
    insta::assert_snapshot!(mends("halfsplit 1\n}\nsplice SP1\n}}\n"), @r#"
    2 | }
      stray-brace: this `}` closes nothing: no block is open here
         take it out, or look above for a `{` that was lost
         fix: take the } out
    4 | }}
      stray-brace: this `}` closes nothing: no block is open here
         take it out, or look above for a `{` that was lost
         fix: take the } out
    "#);
}

#[test]
fn a_stray_brace_inside_a_block_stands_out_by_its_place() {
    let text =
        "halfsplit 1\nsensor B4 {\n  connector X34 3 cavities {\n    2 GY/RD\n  }\n  }\n  suspicion 3\n}\n";
    insta::assert_snapshot!(mends(text), @r#"
    6 |   }
      stray-brace: this `}` is one too many inside `sensor B4`, whose own `}` comes later
         take it out, or look above for a `{` that was lost
         fix: take the } out
    "#);
}

#[test]
fn a_missing_opening_brace() {
    let closed = "halfsplit 1\nsensor B4 \"A/C pressure\"\n  suspicion 3\n  signal X34:3\n}\nsplice SP1\n";
    insta::assert_snapshot!(mends(closed), @r#"
    2 | sensor B4 "A/C pressure"
      missing-brace: `sensor B4 "A/C pressure"` has a block below it but no `{`
         the `{` stands at the end of the line that the block belongs to
         fix: put { at the end of the line
    "#);
    let open = "halfsplit 1\nsensor B4 \"A/C pressure\"\n  suspicion 3\n  signal X34:3\nsplice SP1\n";
    insta::assert_snapshot!(findings(open), @r#"
    2 | sensor B4 "A/C pressure"
      missing-brace: `sensor B4 "A/C pressure"` has a block below it but no `{`
         the `{` stands at the end of the line that the block belongs to
         fix: put { at the end of the line
    "#);
}

#[test]
fn a_brace_below_its_line() {
    insta::assert_snapshot!(mends("halfsplit 1\nsensor B4\n{\n  suspicion 3\n}\nsplice SP1\n"), @r#"
    3 | {
      brace-below: this `{` stands below the line that its block belongs to
         it belongs to the end of that line
         fix: put { at the end of the line above
    "#);
}

#[test]
fn a_block_of_nothing_and_text_behind_a_block() {
    insta::assert_snapshot!(findings("halfsplit 1\n{\n}\nsensor B4 { suspicion 3 } splice SP1\n"), @r#"
    2 | {
      unexpected-text: this `{` opens a block that belongs to nothing
         write what the block describes before the `{`, on the same line: `sensor B4 "A/C pressure" {`
    4 | sensor B4 { suspicion 3 } splice SP1
      unexpected-text: text follows a `}` on the same line
         a closing brace ends its line; write the next fact on a line of its own
         fix: start a new line here
    "#);
}

#[test]
fn a_second_opening_brace() {
    insta::assert_snapshot!(findings("halfsplit 1\nsensor B4 { {\n  suspicion 3\n}\n"), @r#"
    2 | sensor B4 { {
      unclosed-brace: the `{` of `sensor B4` is never closed
         write its `}` on a line of its own, where the block ends
         fix: close it at the end of the file
      unexpected-text: this `{` opens a block that belongs to nothing
         write what the block describes before the `{`, on the same line: `sensor B4 "A/C pressure" {`
    "#);
}

#[test]
fn sloppy_indentation_is_no_fault() {
    let text = "halfsplit 1\n  sensor B4 {\nsuspicion 3\n      connector X34 3 cavities {\n1 GY/RD\n}\n }\nsplice SP1\n";
    assert_eq!(findings(text), "");
}

#[test]
fn ten_thousand_nested_braces() {
    let text = "{".repeat(10_000);
    insta::assert_snapshot!(findings(&format!("halfsplit 1\nsensor B4 {text}\n")).replace(&text, "{…"), @r#"
    2 | sensor B4 {…
      unclosed-brace: the `{` of `sensor B4` is never closed
         write its `}` on a line of its own, where the block ends
         fix: close it at the end of the file
      unexpected-text: this `{` opens a block that belongs to nothing
         write what the block describes before the `{`, on the same line: `sensor B4 "A/C pressure" {`
      too-deep: blocks stand more than 32 deep in one another here
         a circuit needs four at most; braces deeper than that are not read
    "#);
    let closed =
        format!("halfsplit 1\n{}{}\nsplice SP1\n", "sensor B4 {\n".repeat(10_000), "}\n".repeat(10_000));
    let parse = crate::parse(closed.as_str());
    assert_eq!(parse.errors.iter().filter(|error| error.rule == "too-deep").count(), 1);
    assert!(parse.facts.iter().any(|fact| fact.keyword() == "splice"));
}

#[test]
fn twenty_thousand_unclosed_blocks_are_each_closed() {
    let text = format!("halfsplit 1\n{}", "sensor B4 {\n  suspicion 3\n".repeat(20_000));
    let parse = crate::parse(text.as_str());
    assert_eq!(parse.facts.len(), 20_001);
    assert!(parse.facts.iter().skip(1).all(|fact| fact.facts.len() == 1));
    assert_eq!(parse.errors.len(), crate::MOST_ERRORS + 1);
}
