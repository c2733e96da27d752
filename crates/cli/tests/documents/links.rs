//! Links between documents.

use std::path::Path;

use crate::blocks::Block;

/// The links of a text that lead to no file. Links to other places on the network are not followed.
pub fn broken(markdown: &str, blocks: &[Block], folder: &Path) -> Vec<String> {
    let in_block = |number: usize| {
        blocks.iter().any(|block| (block.line..=block.line + block.text.lines().count()).contains(&number))
    };
    let mut broken = Vec::new();
    for (number, line) in (1..).zip(markdown.lines()).filter(|(number, _)| !in_block(*number)) {
        for (_, rest) in line.match_indices("](").map(|(at, mark)| line.split_at(at + mark.len())) {
            let target = rest.split(')').next().unwrap_or_default();
            let file = target.split('#').next().unwrap_or_default();
            if !target.contains("://") && !file.is_empty() && !folder.join(file).exists() {
                broken.push(format!("{number}: `{target}` leads to no file"));
            }
        }
    }
    broken
}

#[test]
fn a_link_to_no_file_is_wrong() {
    let text =
        "[a](Cargo.toml#x) [b](nowhere.md)\n[c](https://example.org)\n```sh\n[d](nothing)\n```\n[e](#x)\n";
    let blocks = crate::blocks::blocks(text).unwrap();
    let found = broken(text, &blocks, Path::new(env!("CARGO_MANIFEST_DIR")));
    assert_eq!(found, ["1: `nowhere.md` leads to no file"]);
}
