//! Holds the parts of one drawing against each other, from its areas and from its text.

use std::fmt;

use halfsplit_render::draw::{Area, Picture, Run};

/// What was looked at.
#[derive(Default)]
pub struct Counts {
    pub drawings: usize,
    symbols: usize,
    lines_of_words: usize,
    runs: usize,
    corners: usize,
    crossings: usize,
    most_symbols: usize,
    widest: i32,
    longest: i32,
}

impl fmt::Display for Counts {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{} drawings: {} symbols (at most {} in one), {} lines of words, {} lines, {} crossings ({:.4} a line), {:.2} bends a line; widest {} px, longest {} px",
            self.drawings,
            self.symbols,
            self.most_symbols,
            self.lines_of_words,
            self.runs,
            self.crossings,
            self.crossings as f64 / self.runs as f64,
            self.corners as f64 / self.runs as f64,
            self.widest,
            self.longest,
        )
    }
}

/// What is wrong with a drawing.
pub fn judge(picture: &Picture, svg: &str, counts: &mut Counts) -> Vec<String> {
    let mut wrong = Vec::new();
    let symbols = &picture.symbols;
    counts.drawings += 1;
    counts.symbols += symbols.len();
    counts.most_symbols = counts.most_symbols.max(symbols.len());
    counts.runs += picture.runs.len();
    counts.widest = counts.widest.max(picture.width);
    counts.longest = counts.longest.max(picture.height);
    let areas: Vec<(usize, Area)> = (symbols.iter().enumerate())
        .flat_map(|(at, s)| s.word_areas.iter().copied().chain([s.shape_area]).map(move |area| (at, area)))
        .collect();
    for (at, (_, one)) in areas.iter().enumerate() {
        for (_, two) in &areas[at + 1..] {
            if one.left < two.right && two.left < one.right && one.top < two.bottom && two.top < one.bottom {
                wrong.push(format!("{one:?} lies on {two:?}"));
            }
        }
        if one.left < 0 || one.top < 0 || one.right > picture.width || one.bottom > picture.height {
            wrong.push(format!("{one:?} is outside the drawing"));
        }
    }
    for run in &picture.runs {
        counts.corners += run.corners.len().saturating_sub(2);
        for (from, to) in pieces(run) {
            if from.0 != to.0 && from.1 != to.1 {
                wrong.push(format!("{from:?} to {to:?} is aslant"));
            }
            let piece = Area {
                left: from.0.min(to.0),
                right: from.0.max(to.0),
                top: from.1.min(to.1),
                bottom: from.1.max(to.1),
            };
            for (_, area) in &areas {
                // It may end on the rim of its own symbol, and run along no other.
                let across = piece.left < area.right && area.left < piece.right.max(piece.left + 1);
                let along = piece.top < area.bottom && area.top < piece.bottom.max(piece.top + 1);
                if across && along {
                    wrong.push(format!("{from:?} to {to:?} runs through {area:?}"));
                }
            }
        }
        let (upper, lower) = (symbols[run.ends.0].shape_area, symbols[run.ends.1].shape_area);
        let (first, last) = (run.corners[0], run.corners[run.corners.len() - 1]);
        if first.1 != upper.bottom || last.1 != lower.top || 2 * first.0 != upper.left + upper.right {
            wrong.push(format!("a line from {first:?} to {last:?} misses its symbols"));
        }
    }
    for (at, one) in picture.runs.iter().enumerate() {
        for two in &picture.runs[at + 1..] {
            let share = one.ends.0 == two.ends.0 || one.ends.1 == two.ends.1;
            for a in pieces(one) {
                for b in pieces(two) {
                    counts.crossings += usize::from(!share && crosses(a, b));
                    if !share && on_each_other(a, b) {
                        wrong.push(format!("{a:?} and {b:?} lie on each other"));
                    }
                }
            }
        }
    }
    text(svg, picture, &areas, counts, &mut wrong);
    wrong
}

type Piece = ((i32, i32), (i32, i32));

fn pieces(run: &Run) -> impl Iterator<Item = Piece> + '_ {
    run.corners.windows(2).map(|pair| (pair[0], pair[1]))
}

fn crosses(a: Piece, b: Piece) -> bool {
    let upright = |p: Piece| p.0.0 == p.1.0;
    let (flat, tall) = match (upright(a), upright(b)) {
        (false, true) => (a, b),
        (true, false) => (b, a),
        _ => return false,
    };
    let within = |at: i32, one: i32, two: i32| one.min(two) < at && at < one.max(two);
    within(tall.0.0, flat.0.0, flat.1.0) && within(flat.0.1, tall.0.1, tall.1.1)
}

fn on_each_other(a: Piece, b: Piece) -> bool {
    let meets = |one: (i32, i32), two: (i32, i32)| {
        one.0.min(one.1).max(two.0.min(two.1)) < one.0.max(one.1).min(two.0.max(two.1))
    };
    let upright = |p: Piece| p.0.0 == p.1.0;
    match (upright(a), upright(b)) {
        (true, true) => a.0.0 == b.0.0 && meets((a.0.1, a.1.1), (b.0.1, b.1.1)),
        (false, false) => a.0.1 == b.0.1 && meets((a.0.0, a.1.0), (b.0.0, b.1.0)),
        _ => false,
    }
}

/// What the text itself says: XML of known elements, no line of words wider than its area.
fn text(svg: &str, picture: &Picture, areas: &[(usize, Area)], counts: &mut Counts, wrong: &mut Vec<String>) {
    let read = match roxmltree::Document::parse(svg) {
        Ok(read) => read,
        Err(error) => return wrong.push(format!("no XML: {error}")),
    };
    wrong.extend(harmful(&read));
    for node in read.descendants().filter(|node| node.has_tag_name("text")) {
        counts.lines_of_words += 1;
        let number = |name| node.attribute(name).unwrap().parse::<i32>().unwrap();
        let (x, y) = (number("x"), number("y"));
        if node.attribute("class") == Some("mid") {
            continue;
        }
        let words = |bold: bool| -> String {
            let inside = |n: &roxmltree::Node| n.parent().is_some_and(|p| p.has_tag_name("tspan")) == bold;
            node.descendants().filter(|n| n.is_text() && inside(n)).map(|n| n.text().unwrap()).collect()
        };
        let all_bold = matches!(node.attribute("class"), Some("b" | "warn"));
        let (plain, bold) = (words(false), words(true));
        // Two spaces are one on the screen.
        let plain = plain.replace("  ", " ");
        let width = advance(&plain, all_bold) + advance(&bold, true);
        let right = x + width as i32;
        let beside = node.parent().is_some_and(|parent| parent.has_tag_name("g"));
        let own = areas.iter().find(|(_, area)| area.left == x && area.top < y && y < area.bottom);
        match (beside, own) {
            (true, None) => wrong.push(format!("words at {x} {y} have no area")),
            (true, Some((_, area))) if right > area.right + 1 => {
                wrong.push(format!("words at {x} {y} reach to {right}, their area to {}", area.right));
            }
            _ if right > picture.width => wrong.push(format!("words at {x} {y} leave the drawing")),
            _ => {}
        }
    }
}

/// Advance widths of DejaVu Sans, among the widest of common fonts, in thousandths of the letter's size, from the
/// space to the tilde. SAW: the font's own table.
#[rustfmt::skip]
const REGULAR: [u16; 95] = [318, 401, 460, 838, 636, 950, 780, 275, 390, 390, 500, 838, 318, 361, 318, 337, 636, 636, 636, 636, 636, 636, 636, 636, 636, 636, 337, 337, 838, 838, 838, 531, 1000, 684, 686, 698, 770, 632, 575, 775, 752, 295, 295, 656, 557, 863, 748, 787, 603, 787, 695, 635, 611, 732, 684, 989, 685, 611, 685, 390, 337, 390, 838, 500, 500, 613, 635, 550, 635, 615, 352, 635, 634, 278, 278, 579, 278, 974, 634, 612, 635, 635, 411, 521, 392, 634, 592, 818, 592, 592, 525, 636, 337, 636, 838];
#[rustfmt::skip]
const BOLD: [u16; 95] = [348, 456, 521, 838, 696, 1002, 872, 306, 457, 457, 523, 838, 380, 415, 380, 365, 696, 696, 696, 696, 696, 696, 696, 696, 696, 696, 400, 400, 838, 838, 838, 580, 1000, 774, 762, 734, 830, 683, 683, 821, 837, 372, 372, 775, 637, 995, 837, 850, 733, 850, 770, 720, 682, 812, 774, 1103, 771, 724, 725, 457, 365, 457, 838, 500, 500, 675, 716, 593, 716, 678, 435, 716, 712, 343, 343, 665, 343, 1042, 712, 687, 716, 716, 493, 595, 478, 712, 652, 924, 645, 652, 582, 712, 365, 712, 838];

/// What else circuits write is taken for as wide as a digit.
fn advance(words: &str, bold: bool) -> f64 {
    let table = if bold { &BOLD } else { &REGULAR };
    let one = |c: char| match c as usize {
        at @ 32..127 => table[at - 32],
        _ => table['0' as usize - 32],
    };
    words.chars().map(|c| f64::from(one(c))).sum::<f64>() * 12.0 / 1000.0
}

/// Elements and attributes that a drawing has no use for.
pub fn harmful(read: &roxmltree::Document) -> Vec<String> {
    let mut wrong = Vec::new();
    for node in read.descendants().filter(roxmltree::Node::is_element) {
        let name = node.tag_name().name();
        if !["svg", "title", "desc", "style", "rect", "g", "path", "circle", "text", "tspan"].contains(&name)
        {
            wrong.push(format!("an element {name}"));
        }
        for attribute in node.attributes() {
            let name = attribute.name();
            if name.starts_with("on") || name.contains("href") || attribute.value().contains("url(") {
                wrong.push(format!("an attribute {name}"));
            }
        }
    }
    wrong
}
