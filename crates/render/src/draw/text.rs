//! Words of a drawing: made harmless, kept short, measured.

/// Height of a letter's square, in pixels.
pub(super) const SIZE: f64 = 12.0;

/// From one line's foot to the next one's.
pub(super) const LINE: i32 = 15;

/// Most letters of a word or a line beside a symbol.
const LONGEST: usize = 26;

/// What a circuit wrote, fit to be shown: one line, no control or direction characters, at most `most` letters.
/// Only the beginning of a text is looked at, so that a label of any length costs the same.
pub(super) fn plain(words: &str, most: usize) -> String {
    let mut out = String::new();
    let mut letters = 0;
    let mut marks = 0;
    let mut gap = false;
    for (looked, c) in words.chars().enumerate() {
        if letters + usize::from(gap) >= most || looked > 4 * most + 16 {
            while out.chars().count() + 1 > most {
                out.pop();
            }
            out.push('…');
            break;
        }
        if c.is_whitespace() {
            gap = !out.is_empty();
            continue;
        }
        if !is_shown(c) {
            continue;
        }
        // A pile of marks on one letter would run over the lines above.
        marks = if is_mark(c) { marks + 1 } else { 0 };
        if marks > 2 {
            continue;
        }
        if std::mem::take(&mut gap) {
            out.push(' ');
            letters += 1;
        }
        out.push(c);
        letters += 1;
    }
    out
}

/// Whether a character may stand in a drawing: no controls, none that turns the direction of what follows, none
/// that XML forbids, none without a width.
fn is_shown(c: char) -> bool {
    let hidden = matches!(c,
        '\u{00ad}' | '\u{061c}' | '\u{180e}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}'
        | '\u{2060}'..='\u{206f}' | '\u{feff}' | '\u{fff0}'..='\u{ffff}' | '\u{e000}'..='\u{f8ff}');
    !c.is_control() && !hidden && u32::from(c) & 0xfffe != 0xfffe && u32::from(c) < 0xe_0000
}

fn is_mark(c: char) -> bool {
    matches!(c, '\u{0300}'..='\u{036f}' | '\u{0483}'..='\u{0489}' | '\u{1ab0}'..='\u{1aff}'
        | '\u{1dc0}'..='\u{1dff}' | '\u{20d0}'..='\u{20ff}' | '\u{fe20}'..='\u{fe2f}')
}

/// Words with what XML takes for marks written out.
pub(super) fn escaped(words: &str) -> String {
    let mut out = String::with_capacity(words.len());
    for c in words.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            c => out.push(c),
        }
    }
    out
}

/// Width of a line in pixels, on the wide side of common sans-serif fonts. Own estimate.
pub(super) fn width(words: &str, bold: bool) -> i32 {
    let em: f64 = words.chars().map(letter).sum();
    (em * SIZE * if bold { 1.1 } else { 1.0 }).ceil() as i32
}

fn letter(c: char) -> f64 {
    match c {
        'i' | 'j' | 'l' | 'I' | '.' | ',' | '\'' | '|' | ' ' => 0.36,
        '!' | ':' | ';' | '·' => 0.42,
        'm' | 'w' | 'M' | 'W' | '…' | '%' | '@' => 1.02,
        '#' | '+' | '<' | '=' | '>' | '^' | '~' | '&' | 'D' | 'G' | 'H' | 'N' | 'O' | 'Q' => 0.84,
        'A'..='Z' => 0.76,
        'a'..='z' | '0'..='9' | '²' | '°' => 0.66,
        c if u32::from(c) < 0x0370 => 0.66,
        c if u32::from(c) < 0x1100 => 0.9,
        _ => 1.1,
    }
}

/// Words over as many lines as they need, none wider than `most` pixels, at most `lines` of them.
pub(super) fn wrapped(words: &str, bold: bool, most: i32, lines: usize) -> Vec<String> {
    let words = plain(words, most as usize / 4 * lines);
    let mut out: Vec<String> = Vec::new();
    for word in words.split(' ').filter(|word| !word.is_empty()) {
        match out.last_mut() {
            Some(last) if width(last, bold) + width(" ", bold) + width(word, bold) <= most => {
                last.push(' ');
                last.push_str(word);
            }
            _ => out.push(cut(word, bold, most, false)),
        }
    }
    if out.len() > lines {
        out.truncate(lines);
        if let Some(last) = out.last_mut() {
            *last = cut(last, bold, most, true);
        }
    }
    out
}

/// A line made to fit, with a mark where something is missing.
fn cut(line: &str, bold: bool, most: i32, more: bool) -> String {
    if width(line, bold) <= most && !more {
        return line.to_owned();
    }
    let mut line = line.trim_end_matches('…').to_owned();
    while width(&line, bold) + width("…", bold) > most && line.pop().is_some() {}
    line.push('…');
    line
}

/// The author's words beside a symbol.
pub(super) fn label(words: &str) -> Vec<String> {
    wrapped(words, false, 140, 2)
}

/// A name beside a symbol.
pub(super) fn name(words: &str) -> String {
    plain(words, LONGEST)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_turns_hides_or_breaks_lines_is_dropped() {
        assert_eq!(plain("a\u{202e}b\u{0}\n c\u{2066}", 20), "ab c");
        assert_eq!(plain(&"x".repeat(1 << 20), 6), "xxxxx…");
        assert_eq!(plain(&"\u{202e}".repeat(1 << 20), 6), "…");
        assert_eq!(plain("abcdef", 6), "abcdef");
        assert_eq!(plain("e\u{301}\u{301}\u{301}\u{301}", 9), "e\u{301}\u{301}");
    }

    #[test]
    fn lines_keep_to_their_width() {
        assert_eq!(
            wrapped("behind the undershield, left of the fan", false, 110, 2),
            ["behind the", "undershield,…"]
        );
        let many = wrapped(&"word ".repeat(99), true, 80, 3);
        assert!(many.len() == 3 && many.iter().all(|line| width(line, true) <= 80), "{many:?}");
        assert!(width(&wrapped(&"M".repeat(999), true, 80, 3)[0], true) <= 80);
    }

    #[test]
    fn what_xml_takes_for_marks_is_written_out() {
        assert_eq!(escaped("<a b='\"&'>"), "&lt;a b=&#39;&quot;&amp;&#39;&gt;");
    }
}
