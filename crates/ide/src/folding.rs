//! What can be folded away: blocks, runs of remarks, runs of `use` lines.

use halfsplit_base::Span;
use halfsplit_syntax::Kind;

use crate::scene::Scene;

/// A stretch that can be folded.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Fold {
    /// From the end of its first line.
    pub span: Span,
    /// What it is.
    pub kind: FoldKind,
}

/// What a fold hides.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum FoldKind {
    /// A block.
    Block,
    /// Remarks.
    Comment,
    /// Lines that name other files.
    Uses,
}

/// Every fold of more than one line, in text order.
pub(crate) fn folds(scene: Scene) -> Vec<Fold> {
    let tree = scene.tree();
    let tokens = tree.tokens();
    let several = |span: Span| tree.slice(span).contains(['\n', '\r']);
    let mut folds = Vec::new();
    for statement in tree.statements() {
        if let Some(open) = statement.block.and_then(|block| block.open) {
            let end = statement
                .block
                .and_then(|block| block.close)
                .map_or(statement.span.end, |close| tokens.span(close).end);
            let span = Span::new(tokens.span(open).start, end);
            if several(span) {
                folds.push(Fold { span, kind: FoldKind::Block });
            }
        }
    }
    let mut run: Option<Span> = None;
    // Whether the line so far is blank, and how many line ends came since the last remark.
    let (mut blank, mut ends) = (true, 0);
    for token in 0..tokens.len() as u32 {
        let span = tokens.span(token);
        match tokens.kind(token) {
            Kind::Comment | Kind::CommentSlip if blank => {
                run = Some(run.filter(|_| ends == 1).map_or(span, |run: Span| run.to(span)));
                ends = 0;
            }
            Kind::Newline => {
                blank = true;
                ends += 1;
            }
            kind if kind.is_trivia() => {}
            _ => blank = false,
        }
        let over = run.is_some() && (ends > 1 || !blank);
        if over || token + 1 == tokens.len() as u32 {
            if let Some(run) = run.take().filter(|run| several(*run)) {
                folds.push(Fold { span: run, kind: FoldKind::Comment });
            }
        }
    }
    let mut uses: Option<Span> = None;
    for fact in &scene.parse().facts {
        if fact.keyword() == "use" {
            uses = Some(uses.map_or(fact.span, |uses| uses.to(fact.span)));
        } else if let Some(uses) = uses.take().filter(|uses| several(*uses)) {
            folds.push(Fold { span: uses, kind: FoldKind::Uses });
        }
    }
    folds.extend(uses.filter(|uses| several(*uses)).map(|span| Fold { span, kind: FoldKind::Uses }));
    folds.sort_by_key(|fold| fold.span);
    folds
}

#[cfg(test)]
mod tests {
    use crate::testing::open;

    #[test]
    fn blocks_remarks_and_uses_fold() {
        let text = "halfsplit 1\n# 20 °C\n# 🔧 中\n\n# alone\nuse \"a.circuit\"\nuse \"b°.circuit\"\n\
            sensor B4 \"🔧\" {\n  connector X34 3 cavities {\n    1 GY # °\n  }\n  note \"x\"\n}\nsplice SP1 { reach 2 min }\n";
        let (analysis, file) = open(text);
        let shown: Vec<String> = analysis
            .folds(file)
            .into_iter()
            .map(|fold| format!("{:?} {}", fold.kind, text[fold.span.range()].lines().count()))
            .collect();
        assert_eq!(shown, ["Comment 2", "Uses 2", "Block 6", "Block 3"]);
    }
}
