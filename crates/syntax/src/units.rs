//! Units of measurement as people write them.

/// What a quantity measures.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Dimension {
    /// Base unit V.
    Volts,
    /// Base unit A.
    Amps,
    /// Base unit ohm.
    Ohms,
    /// Base unit W.
    Watts,
    /// Base unit m.
    Metres,
    /// Base unit mm².
    Section,
    /// Base unit min.
    Minutes,
    /// Base unit °C.
    Celsius,
    /// Base unit bit/s.
    BitRate,
}

impl Dimension {
    /// What it is called in a sentence.
    pub fn noun(self) -> &'static str {
        match self {
            Self::Volts => "a voltage",
            Self::Amps => "a current",
            Self::Ohms => "a resistance",
            Self::Watts => "a power",
            Self::Metres => "a length",
            Self::Section => "a cross-section",
            Self::Minutes => "a time",
            Self::Celsius => "a temperature",
            Self::BitRate => "a bit rate",
        }
    }

    /// Its base unit in words, for a sentence.
    pub fn plural(self) -> &'static str {
        match self {
            Self::Volts => "volts",
            Self::Amps => "amps",
            Self::Ohms => "ohms",
            Self::Watts => "watts",
            Self::Metres => "metres",
            Self::Section => "square millimetres, AWG or SAE",
            Self::Minutes => "minutes",
            Self::Celsius => "degrees Celsius",
            Self::BitRate => "bits a second",
        }
    }

    /// The unit it is mostly written in.
    pub fn usual(self) -> &'static str {
        match self {
            Self::Volts => "V",
            Self::Amps => "A",
            Self::Ohms => "ohm",
            Self::Watts => "W",
            Self::Metres => "m",
            Self::Section => "mm2",
            Self::Minutes => "min",
            Self::Celsius => "C",
            Self::BitRate => "kbit/s",
        }
    }

    /// All spellings that are read, for messages and for the guide.
    pub fn spellings(self) -> &'static str {
        match self {
            Self::Volts => "V, mV, kV",
            Self::Amps => "A, mA, uA",
            Self::Ohms => "ohm, mohm, kohm, Mohm",
            Self::Watts => "W, mW, kW",
            Self::Metres => "m, cm, mm",
            Self::Section => "mm2, AWG, SAE",
            Self::Minutes => "min, s, h",
            Self::Celsius => "C",
            Self::BitRate => "bit/s, kbit/s, Mbit/s",
        }
    }
}

/// What a unit is worth.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Unit {
    /// So many base units of a dimension.
    Plain(Dimension, f64),
    /// American wire gauge.
    Awg,
    /// SAE wire size.
    Sae,
}

impl Unit {
    /// What it measures.
    pub fn dimension(self) -> Dimension {
        match self {
            Self::Plain(dimension, _) => dimension,
            Self::Awg | Self::Sae => Dimension::Section,
        }
    }
}

/// Reads a unit. Prefixes are case-sensitive: `mohm` and `Mohm` differ.
pub fn unit(word: &str) -> Option<Unit> {
    use Dimension::{Amps, BitRate, Celsius, Metres, Minutes, Ohms, Section, Volts, Watts};
    let plain = |dimension, factor| Some(Unit::Plain(dimension, factor));
    match word {
        "V" => return plain(Volts, 1.0),
        "A" => return plain(Amps, 1.0),
        "W" => return plain(Watts, 1.0),
        "m" => return plain(Metres, 1.0),
        "cm" => return plain(Metres, 0.01),
        "mm" => return plain(Metres, 0.001),
        "mm2" | "mm²" => return plain(Section, 1.0),
        "min" => return plain(Minutes, 1.0),
        "s" => return plain(Minutes, 1.0 / 60.0),
        "h" => return plain(Minutes, 60.0),
        "C" | "°C" => return plain(Celsius, 1.0),
        "bit/s" => return plain(BitRate, 1.0),
        "kbit/s" => return plain(BitRate, 1e3),
        "Mbit/s" => return plain(BitRate, 1e6),
        "AWG" => return Some(Unit::Awg),
        "SAE" => return Some(Unit::Sae),
        _ => {}
    }
    let (factor, rest) = prefix(word);
    match rest {
        "ohm" | "Ω" | "\u{2126}" => plain(Ohms, factor),
        "V" => plain(Volts, factor),
        "A" => plain(Amps, factor),
        "W" => plain(Watts, factor),
        _ => None,
    }
}

fn prefix(word: &str) -> (f64, &str) {
    for (letter, factor) in [("k", 1e3), ("M", 1e6), ("m", 1e-3), ("u", 1e-6), ("µ", 1e-6), ("μ", 1e-6)] {
        if let Some(rest) = word.strip_prefix(letter) {
            return (factor, rest);
        }
    }
    (1.0, word)
}

/// The unit that a common misspelling stands for.
pub fn misspelt(word: &str) -> Option<&'static str> {
    let lower = word.to_lowercase();
    Some(match lower.as_str() {
        "v" | "volt" | "volts" => "V",
        "mv" | "millivolt" | "millivolts" => "mV",
        "kv" => "kV",
        "a" | "amp" | "amps" | "ampere" | "amperes" => "A",
        "ma" | "milliamp" | "milliamps" => "mA",
        "ua" | "µa" => "uA",
        "w" | "watt" | "watts" => "W",
        "kw" => "kW",
        "ohm" | "ohms" | "r" => "ohm",
        "kohms" | "kiloohm" | "kiloohms" | "k" | "kω" | "kohm" => "kohm",
        "mohms" if word.starts_with('M') => "Mohm",
        "mohms" => "mohm",
        "m" | "metre" | "metres" | "meter" | "meters" | "mtr" => "m",
        "cm" | "centimetre" | "centimetres" | "centimeter" | "centimeters" => "cm",
        "mm" | "millimetre" | "millimetres" | "millimeter" | "millimeters" => "mm",
        "mm2" | "sqmm" | "qmm" | "mmsq" | "mm²" => "mm2",
        "awg" | "ga" | "gauge" => "AWG",
        "sae" => "SAE",
        "min" | "mins" | "minute" | "minutes" => "min",
        "sec" | "secs" | "second" | "seconds" => "s",
        "h" | "hr" | "hrs" | "hour" | "hours" => "h",
        "c" | "°" | "celsius" | "degc" | "deg" => "C",
        _ => return None,
    })
}
