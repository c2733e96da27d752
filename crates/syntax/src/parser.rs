//! The grammar of lines and blocks, over tokens whose braces are already in balance.
//!
//! A line is a run of items, perhaps followed by a block; what the items mean is not this
//! module's matter but the table's ([`crate::shape`]). Since [`crate::braces`] has put every brace in
//! order, only two things can still go wrong here: a block that no line announces, and text that goes on
//! behind a closing brace.

use chumsky::prelude::*;

use crate::{
    braces::Balanced,
    error::{Errors, SyntaxError},
    lexer::Kind,
    span::Span,
    tree::{Block, StatementId, Tree},
};

/// One line as the grammar sees it: positions in the balanced tokens.
#[derive(Clone, Debug)]
struct Line {
    first: u32,
    end: u32,
    block: Option<Body>,
}

#[derive(Clone, Debug)]
struct Body {
    open: u32,
    close: u32,
    lines: Vec<Line>,
}

/// What can still be wrong once the braces balance.
#[derive(Clone, Copy, PartialEq, Debug)]
enum Slip {
    BlockWithoutLine,
    TextBehindBlock,
}

type Fault<'a> = Rich<'a, Kind, SimpleSpan, Slip>;
type Rule<'a, O> = Boxed<'a, 'a, &'a [Kind], O, extra::Err<Fault<'a>>>;

fn lines<'a>() -> Rule<'a, Vec<Line>> {
    recursive(
        |lines: Recursive<dyn chumsky::Parser<'a, &'a [Kind], Vec<Line>, extra::Err<Fault<'a>>> + 'a>| {
            let item: Rule<'a, Kind> = none_of([Kind::Newline, Kind::LBrace, Kind::RBrace]).boxed();
            let items: Rule<'a, (u32, u32)> =
                item.clone().repeated().at_least(1).map_with(|(), extra| place(extra.span())).boxed();
            let behind: Rule<'a, ()> = item
                .rewind()
                .ignored()
                .or_not()
                .validate(|found, extra, emitter| {
                    if found.is_some() {
                        emitter.emit(Rich::custom(extra.span(), Slip::TextBehindBlock));
                    }
                })
                .boxed();
            let block: Rule<'a, Body> = just(Kind::LBrace)
                .ignore_then(lines)
                .then_ignore(just(Kind::RBrace))
                .map_with(|lines, extra| {
                    let (open, end) = place(extra.span());
                    Body { open, close: end.saturating_sub(1), lines }
                })
                .then_ignore(behind)
                .boxed();
            let announced: Rule<'a, Line> = items
                .then(block.clone().or_not())
                .map(|((first, end), block)| Line { first, end, block })
                .boxed();
            let unannounced: Rule<'a, Line> = block
                .validate(|body, extra, emitter| {
                    let start = extra.span().start;
                    emitter.emit(Rich::custom((start..start + 1).into(), Slip::BlockWithoutLine));
                    Line { first: body.open, end: body.open, block: Some(body) }
                })
                .boxed();
            let line: Rule<'a, Line> = announced.or(unannounced).boxed();
            let gap: Rule<'a, ()> = just(Kind::Newline).repeated().boxed();
            gap.clone().ignore_then(line.then_ignore(gap).repeated().collect()).boxed()
        },
    )
    .boxed()
}

fn place(span: SimpleSpan) -> (u32, u32) {
    (span.start as u32, span.end as u32)
}

/// Reads the statements of balanced tokens into the tree.
pub(crate) fn statements(tree: &mut Tree, balanced: &Balanced, errors: &mut Errors) {
    let (read, faults) = lines().parse(balanced.kinds()).into_output_errors();
    for fault in faults {
        let start = fault.span().start;
        let brace = |back: usize| {
            start.checked_sub(back).and_then(|at| balanced.kinds().get(at)) == Some(&Kind::LBrace)
        };
        if brace(0) && brace(1) && brace(2) {
            // A heap of braces is one slip, reported at its first; a first one may belong to its line.
            continue;
        }
        let at = balanced.place(tree.tokens(), start as u32);
        errors.push_with(|| explain(&fault, at));
    }
    place_lines(tree, balanced, None, &read.unwrap_or_default());
}

/// Puts lines into the tree. Returns where the last of them ends.
fn place_lines(tree: &mut Tree, balanced: &Balanced, parent: Option<StatementId>, lines: &[Line]) -> u32 {
    let mut reached = 0;
    for line in lines {
        let first = balanced.token(line.first);
        let end = if line.first == line.end { first } else { balanced.token(line.end - 1) + 1 };
        let body = line.block.as_ref();
        let block =
            body.map(|body| Block { open: balanced.written(body.open), close: balanced.written(body.close) });
        let id = tree.open(parent, first..end, block);
        // Depth is capped when braces are balanced, so this does not run away.
        let inside = body.map_or(0, |body| place_lines(tree, balanced, Some(id), &body.lines));
        reached = tree.close(id, inside);
    }
    reached
}

fn explain(fault: &Fault<'_>, at: Span) -> SyntaxError {
    match fault.reason() {
        chumsky::error::RichReason::Custom(Slip::BlockWithoutLine) => SyntaxError::new(
            "unexpected-text",
            at,
            "this `{` opens a block that belongs to nothing",
        )
        .help(
            "write what the block describes before the `{`, on the same line: `sensor B4 \"A/C pressure\" {`",
        ),
        chumsky::error::RichReason::Custom(Slip::TextBehindBlock) => {
            SyntaxError::new("unexpected-text", at, "text follows a `}` on the same line")
                .help("a closing brace ends its line; write the next fact on a line of its own")
                .fix(Span::empty(at.start), "\n", "start a new line here")
        }
        chumsky::error::RichReason::ExpectedFound { .. } => {
            SyntaxError::new("unexpected-text", at, "this cannot be read as a line of a circuit")
        }
    }
}
