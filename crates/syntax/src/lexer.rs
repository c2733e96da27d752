//! Text to tokens. Every byte of the text belongs to exactly one token.

use logos::Logos;

use crate::span::Span;

/// What a token is. The kinds from [`Kind::OpenText`] on are slips: readable, but reported.
#[derive(Logos, Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[repr(u8)]
pub enum Kind {
    /// Spaces, tabs, non-breaking spaces, a byte-order mark.
    #[regex(r"[ \t\u{0B}\u{0C}\u{A0}\u{1680}\u{2000}-\u{200D}\u{202F}\u{205F}\u{2060}\u{3000}\u{FEFF}]+")]
    Space,
    /// One line end, however it is written.
    #[regex(r"\r\n|\n|\r")]
    Newline,
    /// `#` up to the line end.
    #[regex(r"#[^\r\n]*", allow_greedy = true)]
    Comment,
    /// A name, dotted path, colour, unit or keyword: `A10.X2:14`, `GY/RD`, `wire-side`, `mm²`, `15/54`.
    #[regex(r"[A-Za-z_%°Ωµ\u{C0}-\u{24F}\u{370}-\u{3FF}\u{400}-\u{4FF}\u{2126}\u{3040}-\u{9FFF}\u{AC00}-\u{D7A3}][A-Za-z0-9_%°Ωµ²\u{C0}-\u{24F}\u{370}-\u{3FF}\u{400}-\u{4FF}\u{2126}\u{3040}-\u{9FFF}\u{AC00}-\u{D7A3}]*([.:/\-][A-Za-z0-9_%°Ωµ²\u{C0}-\u{24F}\u{370}-\u{3FF}\u{400}-\u{4FF}\u{2126}\u{3040}-\u{9FFF}\u{AC00}-\u{D7A3}]+)*")]
    #[regex(r"[0-9]+[a-z]?(/[0-9A-Za-z]+)+")]
    Word,
    /// `14`, `0.35`, `-40`. A unit written against it is a token of its own.
    #[regex(r"[+\-]?([0-9]+(\.[0-9]+)?|\.[0-9]+)")]
    Number,
    /// `"left cowl"`, on one line.
    #[regex(r#""[^"\r\n]*""#)]
    Text,
    /// `->`
    #[token("->")]
    Arrow,
    /// `..`
    #[token("..")]
    Range,
    /// `{`
    #[token("{")]
    LBrace,
    /// `}`
    #[token("}")]
    RBrace,
    /// `>=`
    #[token(">=")]
    AtLeast,
    /// A colon that belongs to no name.
    #[token(":")]
    Colon,
    /// A quotation mark without its partner on the line, and what follows it.
    #[token("\"")]
    OpenText,
    /// Text between quotation marks of a word processor, or between single ones.
    #[regex("[“”„‟«»‘’‚‹›']")]
    SmartText,
    /// `0,5`
    #[regex(r"[+\-]?[0-9]+,[0-9]+")]
    CommaNumber,
    /// `→`, `=>`, `-->` where `->` is meant.
    #[regex(r"→|⇒|➔|=>|-->|–>|—>")]
    ArrowSlip,
    /// `...` or `…` where `..` is meant.
    #[regex(r"\.\.\.|…")]
    RangeSlip,
    /// `//` up to the line end, where `#` is meant.
    #[regex(r"//[^\r\n]*", allow_greedy = true)]
    CommentSlip,
    /// A character that means nothing here.
    Unknown,
}

impl Kind {
    /// Whether the kind says nothing: spaces and comments.
    pub fn is_trivia(self) -> bool {
        matches!(self, Self::Space | Self::Comment | Self::CommentSlip)
    }

    /// Whether the kind is reported by its mere presence.
    pub fn is_slip(self) -> bool {
        self as u8 >= Self::OpenText as u8
    }
}

/// All tokens of a text: kinds and starts beside each other.
#[derive(Clone, Debug, Default)]
pub struct Tokens {
    kinds: Vec<Kind>,
    /// One more than kinds: the last is the text's length.
    starts: Vec<u32>,
}

impl Tokens {
    /// Cuts a text into tokens. Texts of 4 GiB and more are left uncut.
    pub fn of(text: &str) -> Self {
        let mut tokens = Self {
            kinds: Vec::with_capacity(text.len() / 4),
            starts: Vec::with_capacity(text.len() / 4 + 1),
        };
        if u32::try_from(text.len()).is_err() {
            tokens.starts.push(0);
            return tokens;
        }
        let mut lexer = Kind::lexer(text);
        while let Some(read) = lexer.next() {
            let mut kind = read.unwrap_or(Kind::Unknown);
            tokens.starts.push(lexer.span().start as u32);
            if matches!(kind, Kind::OpenText | Kind::SmartText) {
                let (found, length) = quoted(kind, lexer.remainder());
                kind = found;
                lexer.bump(length);
            }
            tokens.kinds.push(kind);
        }
        tokens.starts.push(text.len() as u32);
        tokens
    }

    /// How many there are.
    pub fn len(&self) -> usize {
        self.kinds.len()
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.kinds.is_empty()
    }

    /// All kinds in order.
    pub fn kinds(&self) -> &[Kind] {
        &self.kinds
    }

    /// The kind of a token; past the end, a line end.
    pub fn kind(&self, token: u32) -> Kind {
        self.kinds.get(token as usize).copied().unwrap_or(Kind::Newline)
    }

    /// Where a token stands; past the end, the empty span at the text's end.
    pub fn span(&self, token: u32) -> Span {
        Span::new(self.start(token), self.start(token.saturating_add(1)))
    }

    /// Where a token starts.
    pub fn start(&self, token: u32) -> u32 {
        let last = self.starts.last().copied().unwrap_or(0);
        self.starts.get(token as usize).copied().unwrap_or(last)
    }

    /// The token at a byte offset; at a border, the one that starts there.
    pub fn at(&self, offset: u32) -> u32 {
        let starts = &self.starts[..self.kinds.len()];
        starts.partition_point(|start| *start <= offset).saturating_sub(1) as u32
    }
}

/// Finds the end of a quotation that opened with a smart quote, or with a plain one
/// that has no plain partner on its line. Returns the kind and the bytes after the quote.
fn quoted(opened: Kind, rest: &str) -> (Kind, usize) {
    let line = rest.find(['\n', '\r']).map_or(rest, |end| &rest[..end]);
    let closes = |c: char| {
        matches!(c, '“' | '”' | '„' | '‟' | '«' | '»' | '‘' | '’' | '‚' | '‹' | '›')
            || (opened == Kind::SmartText && matches!(c, '"' | '\''))
    };
    if let Some((at, quote)) = line.char_indices().find(|(_, c)| closes(*c)) {
        return (Kind::SmartText, at + quote.len_utf8());
    }
    // A block that opens at the line's end is not part of the text that was left open.
    let kept = line.trim_end();
    let kept = kept.strip_suffix('{').unwrap_or(kept).trim_end();
    (Kind::OpenText, kept.len())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn kinds(text: &str) -> String {
        let tokens = Tokens::of(text);
        (0..tokens.len() as u32)
            .filter(|token| tokens.kind(*token) != Kind::Space)
            .map(|token| format!("{:?} {:?}\n", tokens.kind(token), &text[tokens.span(token).range()]))
            .collect()
    }

    #[test]
    fn paths_are_one_token() {
        for word in [
            "A10.X2:14",
            "X21.body:6",
            "GY/RD",
            "wire-side",
            "mm²",
            "mm2",
            "K3:87a",
            "kΩ",
            "µA",
            "°C",
            "15/54",
            "W21a",
            "56b/L",
            "after-short",
            "REF_A",
            "Öldruck",
        ] {
            assert_eq!(Tokens::of(word).kinds(), [Kind::Word], "{word}");
        }
        for number in ["14", "0.35", "-40", ".5", "+12"] {
            assert_eq!(Tokens::of(number).kinds(), [Kind::Number], "{number}");
        }
    }

    #[test]
    fn borders_between_tokens() {
        insta::assert_snapshot!(kinds("0.5mm2 1..13 A..F X2:14->X2:29 12V 0,5 3 – 4"), @r#"
        Number "0.5"
        Word "mm2"
        Number "1"
        Range ".."
        Number "13"
        Word "A"
        Range ".."
        Word "F"
        Word "X2:14"
        Arrow "->"
        Word "X2:29"
        Number "12"
        Word "V"
        CommaNumber "0,5"
        Number "3"
        Unknown "–"
        Number "4"
        "#);
    }

    #[test]
    fn quotation_marks() {
        insta::assert_snapshot!(kinds("\"plain\" “smart” \"half” 'single' „low“\nplace \"open {\nnote \"open"), @r#"
        Text "\"plain\""
        SmartText "“smart”"
        SmartText "\"half”"
        SmartText "'single'"
        SmartText "„low“"
        Newline "\n"
        Word "place"
        OpenText "\"open"
        LBrace "{"
        Newline "\n"
        Word "note"
        OpenText "\"open"
        "#);
    }
}
