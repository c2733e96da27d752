//! A drawing written down as SVG: text stays text, and every letter of a circuit is escaped.

use std::fmt::Write as _;

use super::{Area, Picture, Run, Symbol, text};

/// Looks for light, dark and paper. Names are long enough to do no harm in a page around the drawing.
const STYLE: &str = "\
.hs-draw{font-family:system-ui,'Segoe UI',Roboto,'DejaVu Sans',Arial,sans-serif;font-size:12px}
.hs-draw text{fill:#16181d;direction:ltr;unicode-bidi:isolate}
.hs-draw .b{font-weight:700}.hs-draw .h{font-size:15px;font-weight:700}.hs-draw .mid{text-anchor:middle;font-weight:700}
.hs-draw .warn{font-weight:700;fill:#8a2c00}
.hs-draw .paper{fill:#fff}
.hs-draw path,.hs-draw rect,.hs-draw circle{stroke-linejoin:round}
.hs-draw .ink,.hs-draw .thin,.hs-draw .blade,.hs-draw .thick,.hs-draw .bar,.hs-draw .case{fill:none;stroke:#16181d}
.hs-draw .ink{stroke-width:1.5}.hs-draw .thin{stroke-width:2}.hs-draw .blade{stroke-width:3}
.hs-draw .thick{stroke-width:2.5}.hs-draw .bar{stroke-width:6}.hs-draw .case{stroke-width:6.5}
.hs-draw .base{fill:none;stroke-width:4}.hs-draw .tracer{fill:none;stroke-width:2;stroke-dasharray:9 5}
.hs-draw .box{fill:#fff;stroke:#16181d;stroke-width:1.5}.hs-draw .clear{fill:none;stroke:#16181d;stroke-width:1.5}
.hs-draw .solid{fill:#16181d;stroke:none}
.hs-draw .off{stroke-dasharray:4 3}.hs-draw .mark{fill:none;stroke:#8a2c00;stroke-width:1.5;stroke-dasharray:5 3}
.hs-draw .asked{fill:#fff3c4;stroke:#16181d;stroke-width:2}
@media screen and (prefers-color-scheme:dark){
.hs-draw text{fill:#eceff4}.hs-draw .warn{fill:#ffb38a}.hs-draw .paper,.hs-draw .box{fill:#14171c}
.hs-draw .ink,.hs-draw .thin,.hs-draw .blade,.hs-draw .thick,.hs-draw .bar,.hs-draw .case,.hs-draw .box,.hs-draw .clear{stroke:#eceff4}
.hs-draw .solid{fill:#eceff4}.hs-draw .mark{stroke:#ffb38a}.hs-draw .asked{fill:#4a3f12;stroke:#eceff4}}
";

impl Picture {
    /// The drawing as one SVG text.
    pub fn svg(&self) -> String {
        let mut out = String::new();
        let (width, height, id) = (self.width, self.height, &self.id);
        let _ = writeln!(
            out,
            r#"<svg xmlns="http://www.w3.org/2000/svg" class="hs-draw" role="img" aria-labelledby="t-{id} d-{id}" width="{width}" height="{height}" viewBox="0 0 {width} {height}">"#
        );
        let _ = writeln!(out, r#"<title id="t-{id}">{}</title>"#, text::escaped(&self.title));
        let _ = writeln!(out, r#"<desc id="d-{id}">{}</desc>"#, text::escaped(&self.in_words()));
        let _ = writeln!(out, "<style>{STYLE}</style>");
        let _ = writeln!(out, r#"<rect class="paper" width="{width}" height="{height}"/>"#);
        for (at, (line, warns)) in self.head.iter().enumerate() {
            let class = if *warns {
                "warn"
            } else if at == 0 {
                "b"
            } else {
                "n"
            };
            let y = 14 + text::LINE * (at as i32 + 1);
            let _ = writeln!(out, r#"<text class="{class}" x="16" y="{y}">{}</text>"#, text::escaped(line));
        }
        for symbol in self.symbols.iter().filter(|symbol| symbol.asked) {
            let Area { left, top, right, bottom } = symbol.area();
            let _ = writeln!(
                out,
                r#"<rect class="asked" x="{}" y="{top}" width="{}" height="{}" rx="4"/>"#,
                left - 2,
                right - left + 4,
                bottom - top
            );
        }
        self.runs.iter().for_each(|run| self.run(&mut out, run));
        self.symbols.iter().for_each(|symbol| symbol.svg(&mut out));
        let from = self.height - 16 - text::LINE * (self.foot.len() as i32 - 1);
        for (at, line) in self.foot.iter().enumerate() {
            let y = from + text::LINE * at as i32;
            let _ = writeln!(out, r#"<text x="16" y="{y}">{}</text>"#, text::escaped(line));
        }
        out.push_str("</svg>\n");
        out
    }

    /// All that is drawn for who hears rather than sees it, from the top down.
    fn in_words(&self) -> String {
        let mut order: Vec<&Symbol> = self.symbols.iter().collect();
        order.sort_by_key(|symbol| (symbol.shape_area.top, symbol.x));
        let head = self.head.iter().skip(1).map(|(line, _)| line.as_str());
        let symbols = order.iter().map(|symbol| symbol.words.title.as_str());
        let all: Vec<&str> = head.chain(symbols).filter(|words| !words.is_empty()).collect();
        all.join("; ")
    }

    /// A line; where it leaves a place together with wires of another colour, the common stretch has none.
    fn run(&self, out: &mut String, run: &Run) {
        let mixed = self.runs.iter().any(|other| other.ends.0 == run.ends.0 && other.colour != run.colour);
        let shared = if mixed && run.corners.len() > 2 { 3 } else { 0 };
        if shared > 0 {
            let _ = writeln!(out, r#"<path class="ink" d="{}"/>"#, way(&run.corners[..shared]));
        }
        let own = way(&run.corners[shared.saturating_sub(1)..]);
        coloured(out, &own, &run.colour);
    }
}

/// A wire in its base colour with its tracer, or a plain line.
fn coloured(out: &mut String, way: &str, letters: &str) {
    let (base, tracer) = match letters.split_once('/') {
        Some((base, tracer)) => (base, Some(tracer)),
        None if letters == "GNYE" => ("GN", Some("YE")),
        None => (letters, None),
    };
    let Some(base) = paint(base) else {
        let _ = writeln!(out, r#"<path class="ink" d="{way}"/>"#);
        return;
    };
    let _ = writeln!(out, r#"<path class="case" d="{way}"/>"#);
    let _ = writeln!(out, r#"<path class="base" stroke="{base}" d="{way}"/>"#);
    if let Some(tracer) = tracer.and_then(paint) {
        let _ = writeln!(out, r#"<path class="tracer" stroke="{tracer}" d="{way}"/>"#);
    }
}

/// A paint for each colour of IEC 60757. Own choice.
fn paint(letters: &str) -> Option<&'static str> {
    Some(match letters {
        "BK" => "#101010",
        "BN" => "#7a4a21",
        "RD" => "#d1261b",
        "OG" => "#f07c12",
        "YE" => "#f5d90a",
        "GN" => "#1f8f3a",
        "BU" => "#1d5fd1",
        "VT" => "#7d3fb5",
        "GY" => "#8f959e",
        "WH" => "#ffffff",
        "PK" => "#f49ac1",
        "TQ" => "#2bbfb3",
        "GD" => "#b8932f",
        "SR" => "#c3c9d1",
        _ => return None,
    })
}

fn way(corners: &[(i32, i32)]) -> String {
    let mut way = String::new();
    for (at, (x, y)) in corners.iter().enumerate() {
        let _ = write!(way, "{}{x} {y}", if at == 0 { "M" } else { "L" });
    }
    way
}

impl Symbol {
    /// Symbol and words together.
    pub(super) fn area(&self) -> Area {
        let right = self.word_areas.iter().map(|area| area.right).max();
        Area { right: right.unwrap_or(self.shape_area.right).max(self.shape_area.right), ..self.shape_area }
    }

    fn svg(&self, out: &mut String) {
        let _ = writeln!(out, "<g><title>{}</title>", text::escaped(&self.words.title));
        let Area { top, bottom, .. } = self.shape_area;
        if let Some(colour) = &self.words.colour {
            coloured(out, &way(&[(self.x, top), (self.x, bottom)]), colour);
        }
        self.shape.draw(out, self.x, top, bottom - top, self.words.look);
        if self.words.look.dashed {
            let Area { left, top, right, bottom } = self.area();
            let _ = writeln!(
                out,
                r#"<rect class="mark" x="{}" y="{}" width="{}" height="{}"/>"#,
                left - 1,
                top + 1,
                right - left + 2,
                bottom - top - 2
            );
        }
        for (line, area) in self.words.lines.iter().zip(&self.word_areas) {
            let y = area.top + 12;
            let _ = write!(out, r#"<text x="{}" y="{y}">"#, area.left);
            if !line.bold.is_empty() {
                let _ = write!(out, r#"<tspan class="b">{}</tspan>"#, text::escaped(&line.bold));
            }
            if !line.bold.is_empty() && !line.plain.is_empty() {
                out.push_str("  ");
            }
            let _ = writeln!(out, "{}</text>", text::escaped(&line.plain));
        }
        out.push_str("</g>\n");
    }
}
