//! The fenced code blocks of a Markdown text.

/// One fenced block.
#[derive(Clone, PartialEq, Debug)]
pub struct Block {
    /// The line of its opening fence, from 1.
    pub line: usize,
    /// The first word behind the fence; empty where there is none.
    pub language: String,
    /// What else stands behind the fence.
    pub info: String,
    /// What stands in it, each line with its line end.
    pub text: String,
    /// By how many spaces the fence stands in.
    pub indent: usize,
}

impl Block {
    /// The words behind the language.
    pub fn words(&self) -> Vec<&str> {
        self.info.split_whitespace().collect()
    }
}

/// All fenced blocks of a text, by place. A fence that is never closed is an error.
pub fn blocks(markdown: &str) -> Result<Vec<Block>, String> {
    let mut found = Vec::new();
    let mut open: Option<(String, Block)> = None;
    for (number, line) in (1..).zip(markdown.lines()) {
        let bare = line.trim_start_matches(' ');
        let indent = line.len() - bare.len();
        match &mut open {
            Some((fence, block)) => {
                let rest = bare.trim_end();
                if rest.starts_with(fence.as_str()) && rest.trim_start_matches(&fence[..1]).is_empty() {
                    found.extend(open.take().map(|(_, block)| block));
                } else {
                    let inside = indent.min(block.indent);
                    block.text += &line[inside..];
                    block.text.push('\n');
                }
            }
            None => {
                let Some(letter) = bare.chars().next().filter(|letter| "`~".contains(*letter)) else {
                    continue;
                };
                let info = bare.trim_start_matches(letter);
                let length = bare.len() - info.len();
                if length < 3 || info.contains(letter) {
                    continue;
                }
                let (language, info) =
                    info.trim().split_once(char::is_whitespace).unwrap_or((info.trim(), ""));
                let block = Block {
                    line: number,
                    language: language.to_owned(),
                    info: info.trim().to_owned(),
                    text: String::new(),
                    indent,
                };
                open = Some((letter.to_string().repeat(length), block));
            }
        }
    }
    match open {
        Some((_, block)) => Err(format!("line {}: the block is never closed", block.line)),
        None => Ok(found),
    }
}

/// The text with another inside of one block.
pub fn replaced(markdown: &str, block: &Block, inside: &str) -> String {
    let mut out = String::new();
    let lines = block.text.lines().count();
    for (number, line) in (1..).zip(markdown.lines()) {
        if number <= block.line || number > block.line + lines {
            out += line;
            out.push('\n');
        }
        if number == block.line {
            for line in inside.lines() {
                out += format!("{}{line}", " ".repeat(block.indent)).trim_end();
                out.push('\n');
            }
        }
    }
    out
}

#[test]
fn blocks_are_found_with_what_stands_behind_their_fence() {
    let text = "a `b` c\n```circuit finds no-title\nx\n  y\n```\n- item\n\n  ~~~~\n  ```\n  z\n  ~~~~\n";
    let found = blocks(text).unwrap();
    assert_eq!(found.len(), 2);
    assert_eq!((found[0].line, &*found[0].language, &*found[0].info), (2, "circuit", "finds no-title"));
    assert_eq!(found[0].text, "x\n  y\n");
    assert_eq!((found[1].line, &*found[1].language), (8, ""));
    assert_eq!(found[1].text, "```\nz\n");
    assert!(blocks("```sh\nls\n").unwrap_err().contains("never closed"));
    let other = replaced(text, &found[1], "q\n");
    assert!(other.ends_with("  ~~~~\n  q\n  ~~~~\n") && other.starts_with("a `b` c\n```circuit"), "{other}");
}
