//! Wire colours: letters of IEC 60757, base before tracer.

/// The letters of IEC 60757, with what they stand for.
pub const COLOURS: [(&str, &str); 15] = [
    ("BK", "black"),
    ("BN", "brown"),
    ("RD", "red"),
    ("OG", "orange"),
    ("YE", "yellow"),
    ("GN", "green"),
    ("BU", "blue"),
    ("VT", "violet"),
    ("GY", "grey"),
    ("WH", "white"),
    ("PK", "pink"),
    ("TQ", "turquoise"),
    ("GD", "gold"),
    ("SR", "silver"),
    ("GNYE", "green and yellow"),
];

/// Whether a word is a colour: one code, or base and tracer with a slash between. Order matters and is kept.
pub fn is_colour(word: &str) -> bool {
    match word.split_once('/') {
        None => is_code(word),
        Some((base, tracer)) => is_code(base) && is_code(tracer),
    }
}

/// What a colour is called: `grey with a red tracer`. `None` if it is no colour.
pub fn colour_name(word: &str) -> Option<String> {
    let name = |code: &str| COLOURS.iter().find(|(known, _)| *known == code).map(|(_, name)| *name);
    match word.split_once('/') {
        None => name(word).map(str::to_owned),
        Some((base, tracer)) => Some(format!("{} with a {} tracer", name(base)?, name(tracer)?)),
    }
}

fn is_code(word: &str) -> bool {
    matches!(
        word,
        "BK" | "BN"
            | "RD"
            | "OG"
            | "YE"
            | "GN"
            | "BU"
            | "VT"
            | "GY"
            | "WH"
            | "PK"
            | "TQ"
            | "GD"
            | "SR"
            | "GNYE"
    )
}

/// Codes that a wrong one may stand for, likeliest first: abbreviations of English and German names.
fn meant(code: &str) -> &'static [&'static str] {
    match code.to_uppercase().as_str() {
        "BLACK" | "BLK" | "SW" | "SCHWARZ" => &["BK"],
        "BROWN" | "BRN" | "BR" | "BRAUN" => &["BN"],
        "RED" | "R" | "RT" | "ROT" | "RE" => &["RD"],
        "ORANGE" | "OR" | "ORN" | "ORG" | "O" => &["OG"],
        "YELLOW" | "YEL" | "Y" | "YL" | "YW" | "GE" | "GELB" => &["YE"],
        "GREEN" | "GRN" | "GRÜN" => &["GN"],
        "BLUE" | "BLU" | "BLAU" => &["BU"],
        "VIOLET" | "PURPLE" | "VI" | "VIO" | "V" | "PU" | "PR" => &["VT"],
        "GREY" | "GRAY" | "GRY" | "GRAU" => &["GY"],
        "WHITE" | "WHT" | "W" | "WT" | "WS" | "WEISS" => &["WH"],
        "PINK" | "PNK" | "P" | "RS" | "ROSA" => &["PK"],
        "TURQUOISE" | "TUR" | "TR" | "TÜRKIS" => &["TQ"],
        "GOLD" | "GO" => &["GD"],
        "SILVER" | "SI" | "SL" => &["SR"],
        "GR" | "G" => &["GY", "GN"],
        "BL" | "B" => &["BU", "BK"],
        "YEGN" | "GN-YE" => &["GNYE"],
        _ => &[],
    }
}

/// A wrong colour taken apart: the colour that was likely meant, where only one is likely,
/// and a sentence about the part that is no code.
pub(crate) struct WrongColour {
    /// The whole colour, mended.
    pub(crate) meant: Option<String>,
    /// What is wrong.
    pub(crate) why: String,
}

/// Takes a word for a colour that is spelt wrong; `None` if it does not look like one.
pub(crate) fn wrong_colour(word: &str) -> Option<WrongColour> {
    if word.len() > 24 || is_colour(word) || word == "unknown" {
        return None;
    }
    let parts: Vec<&str> = word.split(['/', '-', '.', ':']).collect();
    let looks = parts.iter().all(|part| {
        let capitals = (1..=4).contains(&part.len()) && part.bytes().all(|byte| byte.is_ascii_uppercase());
        capitals || is_code(&part.to_uppercase()) || (!meant(part).is_empty() && part.len() > 1)
    });
    if !looks || parts.len() > 3 {
        return None;
    }
    let known = |part: &str| is_code(&part.to_uppercase());
    let bad = parts.iter().find(|part| !known(part));
    let mended: Option<Vec<String>> = parts
        .iter()
        .map(|part| {
            if known(part) {
                return Some(part.to_uppercase());
            }
            match meant(part) {
                [one] => Some((*one).to_owned()),
                _ => None,
            }
        })
        .collect();
    let why = match bad {
        None if parts.len() > 2 => format!("`{word}` has more than a base and one tracer"),
        None if word.contains(['-', '.', ':']) => {
            format!("`{word}`: base and tracer are parted by a slash")
        }
        None => format!("`{word}`: colours are written in capitals"),
        Some(part) => match meant(part) {
            [] => format!("`{part}` is no colour code"),
            [one] => format!("`{part}` is no colour code; {} is {one}", english(one)),
            [one, other, ..] => format!(
                "`{part}` is no colour code; {} is {one}, {} is {other}",
                english(one),
                english(other)
            ),
        },
    };
    Some(WrongColour { meant: mended.filter(|parts| parts.len() <= 2).map(|parts| parts.join("/")), why })
}

fn english(code: &str) -> &'static str {
    COLOURS.iter().find(|(known, _)| *known == code).map_or("", |(_, name)| name)
}
