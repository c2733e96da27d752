//! Slips that are wrong wherever they stand: they show in a single token.

use crate::{
    error::{Errors, SyntaxError},
    lexer::{Kind, Tokens},
    span::Span,
};

/// Reports them all.
pub(crate) fn report(text: &str, tokens: &Tokens, errors: &mut Errors) {
    let mut previous_unknown = None;
    for (token, kind) in tokens.kinds().iter().enumerate() {
        if !kind.is_slip() {
            continue;
        }
        let span = tokens.span(token as u32);
        if *kind == Kind::Unknown {
            // A run of them is one slip.
            let goes_on = previous_unknown == Some(span.start);
            previous_unknown = Some(span.end);
            if goes_on {
                continue;
            }
        }
        let written = text.get(span.range()).unwrap_or("");
        errors.push_with(|| match kind {
            Kind::OpenText => open_text(written, span),
            Kind::SmartText => smart_text(written, span),
            Kind::CommaNumber => comma_number(written, span),
            Kind::ArrowSlip => SyntaxError::new(
                "missing-arrow",
                span,
                format!("`{written}` is not how direction is written"),
            )
            .help("it is written with a hyphen and a greater-than sign: `->`")
            .fix(span, "->", "write ->"),
            Kind::RangeSlip => {
                SyntaxError::new("range-spelling", span, format!("`{written}` is not how a range is written"))
                    .help("from and to are joined by two dots: `15..19`")
                    .fix(span, "..", "write ..")
            }
            Kind::CommentSlip => SyntaxError::new("unknown-character", span, "`//` opens no remark here")
                .help("a remark opens with `#`")
                .fix(Span::new(span.start, span.start + 2), "#", "write #"),
            _ => unknown(written, span),
        });
    }
}

fn open_text(written: &str, span: Span) -> SyntaxError {
    SyntaxError::new("unclosed-text", span, format!("{} has no closing quotation mark", shorten(written)))
        .help("a text ends on the line where it begins, with `\"`")
        .fix(span.end_point(), "\"", "close the text here")
}

fn smart_text(written: &str, span: Span) -> SyntaxError {
    let mut inside = written.chars();
    inside.next();
    inside.next_back();
    let plain = format!("\"{}\"", inside.as_str().replace('"', ""));
    let marks = if written.starts_with('\'') {
        "single quotation marks"
    } else {
        "quotation marks of a word processor"
    };
    SyntaxError::new("smart-quote", span, format!("{} stands between {marks}", shorten(written)))
        .help("a text stands between plain, straight quotation marks: `\"left cowl\"`")
        .fix(span, plain, "write plain quotation marks")
}

fn comma_number(written: &str, span: Span) -> SyntaxError {
    let (whole, fraction) = written.split_once(',').unwrap_or((written, ""));
    let point = format!("{whole}.{fraction}");
    let thousands = if fraction.len() == 3 {
        format!("; if thousands are meant, `{whole}{fraction}`")
    } else {
        String::new()
    };
    SyntaxError::new("decimal-comma", span, format!("`{written}` is written with a comma"))
        .help(format!("numbers have a decimal point: `{point}`{thousands}"))
        .fix(span, point.clone(), format!("write {point}"))
}

fn unknown(written: &str, span: Span) -> SyntaxError {
    let error = |message: String| SyntaxError::new("unknown-character", span, message);
    let needless = |help: &str| {
        error(format!("`{written}` means nothing here")).help(help).fix(
            span,
            "",
            format!("take {written} out"),
        )
    };
    match written.chars().next().unwrap_or(' ') {
        ';' => needless("a line's end ends a fact; nothing else is needed"),
        ',' => needless("the words of a list are parted by spaces"),
        '=' => needless("a value follows its word without a sign between: `volts 12.6 V`"),
        '(' | ')' | '[' | ']' => needless("only braces `{ }` enclose something; remarks go behind `#`"),
        '-' | '–' | '—' | '−' | '>' | '<' => error(format!("`{written}` alone joins nothing"))
            .help("ends of a wire are joined by `to`, direction is written `->`, a range `15..19`"),
        '.' => error("this `.` belongs to no number and no name".to_owned()).help(
            "a decimal point stands between digits, `0.5`, and a dot between names without spaces, `A10.X2`",
        ),
        '/' => error("this `/` belongs to no colour".to_owned())
            .help("base and tracer are written without spaces: `GY/RD`"),
        '\u{FFFD}' => error("here stood bytes that are not UTF-8".to_owned())
            .help("save the file as UTF-8; editors offer that when saving"),
        other if other.is_control() => {
            error(format!("an invisible character, U+{:04X}, stands here", other as u32))
                .help("take it out; it most likely came with pasted text")
                .fix(span, "", "take it out")
        }
        other => error(format!("`{other}` means nothing in circuit text"))
            .help("outside of texts in quotation marks only names, numbers, units and `-> .. { }` are used"),
    }
}

/// A text for a message, cut where it gets long.
fn shorten(written: &str) -> String {
    let short: String = written.chars().take(30).collect();
    if short.len() < written.len() { format!("`{short}…`") } else { format!("`{written}`") }
}
