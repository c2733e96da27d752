//! Wire colours as swatches, both halves of a pair.

use halfsplit_base::Span;
use halfsplit_syntax::{Value, colour::COLOURS};

use crate::scene::{Scene, walk};

/// What each code looks like on a screen, red, green, blue. Own estimate: IEC 60757 gives letters and names,
/// no shades.
const SHADES: [(&str, [u8; 3]); 14] = [
    ("BK", [0x1a, 0x1a, 0x1a]),
    ("BN", [0x7b, 0x4a, 0x21]),
    ("RD", [0xd2, 0x22, 0x22]),
    ("OG", [0xf2, 0x8c, 0x1e]),
    ("YE", [0xf5, 0xd5, 0x1c]),
    ("GN", [0x1f, 0x8f, 0x3a]),
    ("BU", [0x1f, 0x5f, 0xc4]),
    ("VT", [0x84, 0x3c, 0xb0]),
    ("GY", [0x8c, 0x8c, 0x8c]),
    ("WH", [0xf8, 0xf8, 0xf8]),
    ("PK", [0xf0, 0x8c, 0xb4]),
    ("TQ", [0x2b, 0xb5, 0xb0]),
    ("GD", [0xc9, 0xa2, 0x27]),
    ("SR", [0xc0, 0xc4, 0xc8]),
];

/// One half of a colour.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Swatch {
    /// The letters.
    pub span: Span,
    /// Red, green, blue.
    pub shade: [u8; 3],
}

/// Every colour of a file, in text order.
pub(crate) fn swatches(scene: Scene) -> Vec<Swatch> {
    let mut found = Vec::new();
    walk(&scene.parse().facts, &mut |fact| {
        for slot in &fact.slots {
            if !matches!(slot.value, Value::Colour(_)) {
                continue;
            }
            let mut start = slot.span.start;
            for code in scene.tree().slice(slot.span).split('/') {
                let end = start + code.len() as u32;
                let upper = code.to_uppercase();
                match upper.as_str() {
                    "GNYE" => {
                        for (code, from) in [("GN", start), ("YE", start + 2)] {
                            found.extend(
                                shade(code).map(|shade| Swatch { span: Span::new(from, from + 2), shade }),
                            );
                        }
                    }
                    code => {
                        found.extend(shade(code).map(|shade| Swatch { span: Span::new(start, end), shade }))
                    }
                }
                start = end + 1;
            }
        }
    });
    found.sort_by_key(|swatch| swatch.span);
    found
}

fn shade(code: &str) -> Option<[u8; 3]> {
    SHADES.iter().find(|(known, _)| *known == code).map(|(_, shade)| *shade)
}

/// The codes nearest to a shade, the nearest first: code and name.
pub fn nearest(shade: [u8; 3]) -> Vec<(&'static str, &'static str)> {
    let apart =
        |other: [u8; 3]| -> u32 { (0..3).map(|at| u32::from(shade[at].abs_diff(other[at])).pow(2)).sum() };
    let mut codes = SHADES;
    codes.sort_by_key(|(_, other)| apart(*other));
    let name = |code: &str| COLOURS.iter().find(|(known, _)| *known == code).map_or("", |(_, name)| *name);
    codes.into_iter().map(|(code, _)| (code, name(code))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::open;

    #[test]
    fn both_halves_of_a_pair_have_a_swatch() {
        let text = "halfsplit 1\nsplice SP1 \"20 °C 🔧 GY/RD\"\nwire W1 SP1 to stub GY/RD 1 mm2 1 m # 中 BU\nwire W2 SP1 to stub GNYE 1 mm2 1 m\n";
        let (analysis, file) = open(text);
        let found: Vec<&str> =
            analysis.swatches(file).iter().map(|swatch| &text[swatch.span.range()]).collect();
        assert_eq!(found, ["GY", "RD", "GN", "YE"]);
    }

    #[test]
    fn every_shade_is_nearest_to_itself() {
        for (code, shade) in SHADES {
            assert_eq!(nearest(shade)[0].0, code);
        }
        assert_eq!(nearest([255, 0, 0])[0], ("RD", "red"));
    }
}
