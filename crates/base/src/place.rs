//! Places in a text: bytes inside, lines and columns outside.

use halfsplit_syntax::Span;
use line_index::{LineCol, LineIndex, TextSize, WideEncoding, WideLineCol};

use crate::File;

/// A place as people count it: line and column from 1, columns in Unicode characters.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct Position {
    /// Line, from 1.
    pub line: u32,
    /// Column in characters, from 1.
    pub column: u32,
}

/// What an editor counts columns in.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum Encoding {
    /// Bytes.
    Utf8,
    /// UTF-16 code units.
    #[default]
    Utf16,
    /// Characters.
    Utf32,
}

/// A place as editors send it: line and column from 0, columns in an [`Encoding`].
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct WirePosition {
    /// Line, from 0.
    pub line: u32,
    /// Column, from 0.
    pub column: u32,
}

impl File {
    fn lines(&self) -> &LineIndex {
        self.lines.get_or_init(|| match alone(&self.text) {
            // A lone carriage return ends a line for every editor; the index knows only line feeds. Both
            // are one byte long, so that places stay what they are.
            Some(text) => LineIndex::new(&text),
            None => LineIndex::new(&self.text),
        })
    }

    /// The place of a byte offset; an offset past the end is the end, one
    /// inside a character is that character's start.
    pub fn position(&self, offset: u32) -> Position {
        let place = self.line_col(offset);
        let line_start = offset_of(self.lines(), LineCol { line: place.line, col: 0 });
        let before = &self.text[line_start..line_start + place.col as usize];
        Position { line: place.line + 1, column: before.chars().count() as u32 + 1 }
    }

    /// First and last place of a span.
    pub fn positions(&self, span: Span) -> (Position, Position) {
        (self.position(span.start), self.position(span.end))
    }

    /// The byte offset of a place; columns beyond a line's end mean its end,
    /// lines beyond the last mean the end of the text.
    pub fn offset(&self, place: Position) -> u32 {
        self.wire_offset(
            WirePosition { line: place.line.saturating_sub(1), column: place.column.saturating_sub(1) },
            Encoding::Utf32,
        )
    }

    /// The place of a byte offset as an editor counts it.
    pub fn wire_position(&self, offset: u32, encoding: Encoding) -> WirePosition {
        let place = self.line_col(offset);
        let column = match wide(encoding) {
            None => place.col,
            Some(wide) => self.lines().to_wide(wide, place).map_or(place.col, |w| w.col),
        };
        WirePosition { line: place.line, column }
    }

    /// The byte offset of an editor's place, clamped as in [`File::offset`].
    pub fn wire_offset(&self, place: WirePosition, encoding: Encoding) -> u32 {
        let lines = self.lines();
        let Some(range) = lines.line(place.line) else { return self.text.len() as u32 };
        let (start, mut end) = (usize::from(range.start()), usize::from(range.end()));
        let line = &self.text[start..end];
        end = start + line.trim_end_matches('\n').trim_end_matches('\r').len();
        // A column past the line's last byte is past its end in every encoding; more would overflow inside.
        let column = place.column.min((end - start) as u32);
        let wanted = WideLineCol { line: place.line, col: column };
        let offset = match wide(encoding) {
            None => start + column as usize,
            Some(wide) => {
                lines.to_utf8(wide, wanted).and_then(|place| lines.offset(place)).map_or(end, usize::from)
            }
        };
        floor_char(&self.text, offset.min(end)) as u32
    }

    fn line_col(&self, offset: u32) -> LineCol {
        let offset = floor_char(&self.text, offset as usize);
        self.lines().line_col(TextSize::from(offset as u32))
    }
}

/// The text with every carriage return that stands alone as a line feed; `None` where there is none.
fn alone(text: &str) -> Option<String> {
    let lone = |(at, _): &(usize, &str)| text.as_bytes().get(at + 1) != Some(&b'\n');
    text.match_indices('\r').find(lone)?;
    Some(text.replace("\r\n", "\u{1}\n").replace('\r', "\n"))
}

fn wide(encoding: Encoding) -> Option<WideEncoding> {
    match encoding {
        Encoding::Utf8 => None,
        Encoding::Utf16 => Some(WideEncoding::Utf16),
        Encoding::Utf32 => Some(WideEncoding::Utf32),
    }
}

fn offset_of(lines: &LineIndex, place: LineCol) -> usize {
    lines.offset(place).map_or(0, usize::from)
}

fn floor_char(text: &str, offset: usize) -> usize {
    let mut offset = offset.min(text.len());
    while !text.is_char_boundary(offset) {
        offset -= 1;
    }
    offset
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Files;

    fn file(text: &str) -> std::sync::Arc<File> {
        let mut files = Files::default();
        let id = files.set("t.circuit".into(), text);
        files.get(id).clone()
    }

    #[test]
    fn columns_count_characters_for_people_and_units_for_editors() {
        let file = file("a\nnote \"20 °C 🔧 x\"\n");
        let x = file.text.find('x').unwrap() as u32;
        assert_eq!(file.position(x), Position { line: 2, column: 15 });
        assert_eq!(file.wire_position(x, Encoding::Utf8).column, 18);
        assert_eq!(file.wire_position(x, Encoding::Utf16).column, 15);
        assert_eq!(file.wire_position(x, Encoding::Utf32).column, 14);
        for encoding in [Encoding::Utf8, Encoding::Utf16, Encoding::Utf32] {
            assert_eq!(file.wire_offset(file.wire_position(x, encoding), encoding), x);
        }
        assert_eq!(file.offset(file.position(x)), x);
    }

    #[test]
    fn places_outside_the_text_are_clamped() {
        let file = file("ab\r\ncd");
        assert_eq!(file.wire_offset(WirePosition { line: 0, column: 99 }, Encoding::Utf16), 2);
        assert_eq!(file.wire_offset(WirePosition { line: 9, column: 0 }, Encoding::Utf16), 6);
        assert_eq!(file.position(99), Position { line: 2, column: 3 });
        let file = self::file("°°");
        assert_eq!(file.wire_offset(WirePosition { line: 0, column: u32::MAX }, Encoding::Utf16), 4);
    }

    #[test]
    fn every_line_end_ends_a_line() {
        let file = file("a\rb°\r\nc\rd");
        let place = |line, column| file.wire_offset(WirePosition { line, column }, Encoding::Utf16);
        assert_eq!([place(0, 9), place(1, 0), place(1, 9), place(2, 0), place(3, 1)], [1, 2, 5, 7, 10]);
        assert_eq!(file.position(9), Position { line: 4, column: 1 });
    }

    #[test]
    fn an_offset_inside_a_character_is_its_start() {
        let file = file("°");
        assert_eq!(file.position(1), Position { line: 1, column: 1 });
        assert_eq!(file.wire_offset(WirePosition { line: 0, column: 1 }, Encoding::Utf8), 0);
    }
}
