//! The one layout of a text, as the fewest changes of lines.

use halfsplit_base::{Edit, FileId, Span};
use similar::{DiffOp, TextDiff};

use crate::scene::Scene;

/// The changes that lay a text out; those only that touch the lines of a range, where one is given.
///
/// # Errors
/// In plain words, when the text has more faults than can be kept track of.
pub(crate) fn layout(scene: Scene, range: Option<Span>) -> Result<Vec<Edit>, String> {
    let text = scene.text();
    let laid_out = halfsplit_format::format(text).map_err(|error| error.to_string())?;
    let lines = |range: Span| {
        let (start, end) = (range.start as usize, range.end as usize);
        let from = text[..start].rfind('\n').map_or(0, |at| at + 1);
        let to = text[end..].find('\n').map_or(text.len(), |at| end + at);
        Span::new(from as u32, to as u32)
    };
    Ok(changes(scene.file, text, &laid_out, range.map(lines)))
}

fn changes(file: FileId, text: &str, laid_out: &str, range: Option<Span>) -> Vec<Edit> {
    let old: Vec<&str> = text.split_inclusive('\n').collect();
    let new: Vec<&str> = laid_out.split_inclusive('\n').collect();
    let mut starts = Vec::with_capacity(old.len() + 1);
    let mut at = 0;
    for line in &old {
        starts.push(at);
        at += line.len() as u32;
    }
    starts.push(at);
    let diff = TextDiff::from_slices(&old, &new);
    let mut edits = Vec::new();
    for op in diff.ops() {
        let (from, to) = (op.old_range(), op.new_range());
        // Lines that answer each other are changed one by one, so that a range takes its own and no more.
        if matches!(op, DiffOp::Replace { .. }) && from.len() == to.len() {
            for (before, after) in from.zip(to) {
                let start = starts[before];
                push(&mut edits, file, old[before], Span::new(start, starts[before + 1]), new[after]);
            }
        } else if !matches!(op, DiffOp::Equal { .. }) {
            let span = Span::new(starts[from.start], starts[from.end]);
            push(&mut edits, file, &old[from].concat(), span, &new[to].concat());
        }
    }
    let touches = |edit: &Edit| match range {
        None => true,
        Some(range) => edit.span.start < range.end.max(range.start + 1) && range.start <= edit.span.end,
    };
    edits.retain(touches);
    edits
}

/// One change, without what both sides begin and end with.
fn push(edits: &mut Vec<Edit>, file: FileId, old: &str, span: Span, new: &str) {
    let same = |a: &mut dyn Iterator<Item = (char, char)>| -> usize {
        a.take_while(|(one, other)| one == other).map(|(one, _)| one.len_utf8()).sum()
    };
    let head = same(&mut old.chars().zip(new.chars()));
    let (rest, other) = (&old[head..], &new[head..]);
    let tail = same(&mut rest.chars().rev().zip(other.chars().rev()));
    let span = Span::new(span.start + head as u32, span.end - tail as u32);
    let text = new[head..new.len() - tail].to_owned();
    if !(span.is_empty() && text.is_empty()) {
        edits.push(Edit { file, span, text });
    }
}

/// What is laid out when a line or a block was ended at an offset: the line or block before, and nothing that
/// is still being written.
pub(crate) fn ended(scene: Scene, offset: u32) -> Result<Vec<Edit>, String> {
    let text = scene.text();
    let before = &text[..offset as usize];
    let closed = before.trim_end_matches([' ', '\t']).ends_with('}');
    let line = before.rfind('\n').map_or(0, |at| at + 1);
    let here = Span::new(line as u32, text[line..].find('\n').map_or(text.len(), |at| line + at) as u32);
    let range = if closed {
        let statement = scene.tree().statement_at(offset).and_then(|id| scene.tree().statement(id));
        statement.map_or(here, |statement| statement.span)
    } else {
        let previous = before[..line.saturating_sub(1)].rfind('\n').map_or(0, |at| at + 1);
        Span::new(previous as u32, line.saturating_sub(1) as u32)
    };
    let mut edits = layout(scene, Some(range))?;
    // The line with the cursor stays as it is, so that nothing moves under it.
    edits.retain(|edit| closed || edit.span.end < here.start);
    Ok(edits)
}

#[cfg(test)]
mod tests {
    use halfsplit_base::Span;

    use crate::testing::{edited, marked, open};

    const UNTIDY: &str = "halfsplit 1\ncircuit   \"20 °C 🔧\"\n\n\n\nsplice   SP1 \"中\"\nwire W1 SP1 to stub gy 0.5mm² 1 m # 🔧\n\
        sensor B4 {\n note \"°\"\n}\n";

    #[test]
    fn the_changes_make_the_one_layout() {
        let (analysis, file) = open(UNTIDY);
        let edits = analysis.layout(file, None).unwrap();
        assert_eq!(edited(&analysis, file, &edits), halfsplit_format::format(UNTIDY).unwrap());
        let (tidy, file) = open(&halfsplit_format::format(UNTIDY).unwrap());
        assert_eq!(tidy.layout(file, None).unwrap(), []);
    }

    #[test]
    fn a_range_changes_its_own_lines_only() {
        let (analysis, file) = open(UNTIDY);
        let at = UNTIDY.find("splice").unwrap() as u32;
        let after = edited(&analysis, file, &analysis.layout(file, Some(Span::new(at, at + 3))).unwrap());
        assert!(after.contains("splice SP1") && after.contains("circuit   \"20"), "{after}");
        assert!(after.contains(" note"), "{after}");
    }

    #[test]
    fn what_was_ended_is_laid_out_and_the_line_with_the_cursor_is_not() {
        let (analysis, at) =
            marked("halfsplit 1\ncircuit \"°🔧\"\nsplice   SP1   \"中\"\n   $0\nsplice   SP2\n");
        let after = edited(&analysis, at.file, &analysis.layout_ended(at).unwrap());
        assert!(after.contains("splice SP1") && after.contains("\n   \nsplice   SP2"), "{after}");
        let (analysis, at) = marked("halfsplit 1\ncircuit \"°🔧\"\nsensor B4 \"中\" {\nnote   \"🔧\"\n}$0\n");
        let after = edited(&analysis, at.file, &analysis.layout_ended(at).unwrap());
        assert!(after.contains("{\n  note  \"🔧\"\n}"), "{after}");
    }
}
