//! The pattern of the line under the cursor, with the value at hand marked.

use halfsplit_base::Span;
use halfsplit_syntax::shape::{Part, Piece, Shape, Times};

use crate::line::{Next, line, next};
use crate::scene::Scene;

/// One line's pattern as people read it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Signature {
    /// `wire NAME FROM to TO [ COLOUR ]`
    pub label: String,
    /// What the statement says.
    pub about: String,
    /// Its values: where in the label, in bytes, and what each means.
    pub values: Vec<(Span, String)>,
    /// The value that comes next, by its number.
    pub active: Option<usize>,
}

/// The pattern of the line at an offset.
pub(crate) fn signature(scene: Scene, offset: u32) -> Option<Signature> {
    let line = line(scene, offset)?;
    let shape = line.shape?;
    let mut found =
        Signature { label: String::new(), about: shape.entry.about.into(), values: Vec::new(), active: None };
    let mut places = Vec::new();
    let own = shape.pieces.len() - usize::from(shape.takes_condition());
    sequence(shape, shape.pieces.get(..own)?, &mut found, &mut places);
    let coming = next(scene.tree(), &line, shape);
    let is_next = |piece: &Piece| {
        coming.iter().any(|next| matches!(next, Next::Piece(other) if std::ptr::eq(*other, piece)))
    };
    found.active = places.iter().position(|piece| is_next(piece)).or_else(|| {
        // A number that waits for its unit is still the value at hand.
        let unit = coming.iter().find_map(|next| match next {
            Next::Unit(dimension) => Some(*dimension),
            Next::Piece(_) => None,
        })?;
        places.iter().position(|piece| {
            matches!(&piece.part, Part::Slot { kind: halfsplit_syntax::shape::SlotKind::Quantity(own), .. } if *own == unit)
        })
    });
    Some(found)
}

fn sequence<'p>(shape: &Shape, pieces: &'p [Piece], found: &mut Signature, places: &mut Vec<&'p Piece>) {
    for (number, piece) in pieces.iter().enumerate() {
        if number > 0 {
            found.label.push(' ');
        }
        let (open, close) = match piece.times {
            Times::Once => ("", ""),
            Times::Maybe => ("[ ", " ]"),
            Times::Many => ("{ ", " }"),
            Times::Some => ("", " …"),
        };
        found.label.push_str(open);
        match &piece.part {
            Part::Word(word) => found.label.push_str(word),
            Part::Arrow => found.label.push_str("->"),
            Part::Slot { name, kind } => {
                let start = found.label.len() as u32;
                match kind {
                    halfsplit_syntax::shape::SlotKind::OneOf(words) => found.label.push_str(&words.join("|")),
                    _ => found.label.push_str(&name.to_uppercase()),
                }
                let span = Span::new(start, found.label.len() as u32);
                found.values.push((span, shape.slot_about(name).unwrap_or_default().to_owned()));
                places.push(piece);
            }
            Part::Group(ways) => {
                for (number, way) in ways.iter().enumerate() {
                    if number > 0 {
                        found.label.push_str(" | ");
                    }
                    sequence(shape, way, found, places);
                }
            }
        }
        found.label.push_str(close);
    }
}

#[cfg(test)]
mod tests {
    use crate::testing::marked;

    fn active(line: &str) -> Option<String> {
        let (analysis, at) = marked(&format!("halfsplit 1\ncircuit \"°🔧中\"\n{line}"));
        let found = analysis.signature(at)?;
        found.active.map(|active| found.label[found.values[active].0.range()].to_owned())
    }

    #[test]
    fn the_value_that_comes_next_is_marked() {
        assert_eq!(active("wire $0").as_deref(), Some("NAME"));
        assert_eq!(active("wire W1 $0").as_deref(), Some("FROM"));
        assert_eq!(active("wire W1 SP1 to $0").as_deref(), Some("TO"));
        assert_eq!(active("wire W1 SP1 to SP2 GY $0").as_deref(), Some("SECTION"));
        assert_eq!(active("wire W1 SP1 to SP2 GY 0.5 $0").as_deref(), Some("SECTION"));
        assert_eq!(active("sensor B4 \"°\" {\n  draws 8 mA at 5 V X1:1 -> $0\n}").as_deref(), Some("TO"));
        assert_eq!(active("# wire $0"), None);
    }

    #[test]
    fn the_label_is_the_line_as_the_reference_shows_it() {
        let (analysis, at) = marked("halfsplit 1\nwire $0");
        let label = analysis.signature(at).unwrap().label;
        assert_eq!(label, "wire NAME [ as AS ] FROM to TO [ COLOUR ] [ SECTION ] [ LENGTH ] [ LABEL ]");
    }
}
