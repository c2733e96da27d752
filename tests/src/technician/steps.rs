//! What a step asks, by its data, or by its words as a person reads them where it is no more than words.

use serde_json::Value;

/// What is to be done.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Doing {
    /// Connectors that are parted and stay out.
    pub part: Vec<String>,
    /// Connectors that are mated again.
    pub mate: Vec<String>,
    /// What is out for this one look.
    pub meanwhile: Vec<String>,
    /// Key off, battery off, from here on.
    pub dead: bool,
    /// Key off for this one reading.
    pub key_off: bool,
    /// A cavity whose terminal is backed out for this one look.
    pub back_out: Option<String>,
    /// What is read or watched.
    pub act: Act,
}

/// What is read or watched.
#[derive(Clone, PartialEq, Debug, Default)]
pub enum Act {
    /// Nothing that these words are understood to ask.
    #[default]
    Nothing,
    /// A reading; `black` is where it rests if `None`.
    Read {
        /// Red lead.
        red: String,
        /// Black lead.
        black: Option<String>,
        /// What the meter is set to.
        setting: Setting,
    },
    /// A question that eyes and ears answer.
    Ask(Question),
}

/// What the meter is set to, and what hangs on its leads.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Setting {
    /// Volts.
    Volts,
    /// Volts over a 21 W lamp.
    Lamp,
    /// Volts over 470 ohm.
    Resistor,
    /// Ohms.
    Ohms,
    /// Volts while a bench source feeds the red lead's pin.
    Fed {
        /// Volts of the source.
        volts: f64,
        /// Ohms in series.
        ohms: f64,
    },
}

/// What eyes and ears answer.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Question {
    /// Whether a load works.
    Works(String),
    /// Whether it is as strong as usual.
    Strong(String),
    /// Whether a relay clicks.
    Clicks(String),
    /// Whether live data say that an output is commanded on.
    Commanded(String),
}

/// What a step asks. Names that stand in `out` are out for the reading, whatever else its words say.
pub fn read(step: &Value) -> Doing {
    let mut doing = in_words(step);
    if let Some(battery) = step["battery"].as_bool() {
        doing.dead = !battery;
        doing.key_off = battery && step["key"] == "off";
        doing.back_out = step["backed_out"].as_str().map(str::to_owned);
        doing.act = data(step);
    }
    doing
}

/// What is read or asked, by a step's data.
fn data(step: &Value) -> Act {
    let text = |value: &Value| value.as_str().map(str::to_owned);
    if let Some(question) = step["ask"]["question"].as_str() {
        let of = text(&step["ask"]["of"]).unwrap_or_default();
        return match question {
            "works" => Act::Ask(Question::Works(of)),
            "strong" => Act::Ask(Question::Strong(of)),
            "clicks" => Act::Ask(Question::Clicks(of)),
            "commanded" => Act::Ask(Question::Commanded(of)),
            _ => Act::Nothing,
        };
    }
    let number = |value: &Value| value.as_f64().unwrap_or_default();
    let setting = match step["measure"].as_str() {
        Some("volts") => Setting::Volts,
        Some("volts over a lamp") => Setting::Lamp,
        Some("volts over a resistor") => Setting::Resistor,
        Some("ohms") => Setting::Ohms,
        Some("volts fed") => {
            let fed = &step["fed"];
            Setting::Fed { volts: number(&fed["volts"]), ohms: number(&fed["through_ohms"]) }
        }
        _ => return Act::Nothing,
    };
    match text(&step["red"]) {
        Some(red) => Act::Read { red, black: text(&step["black"]), setting },
        None => Act::Nothing,
    }
}

/// What the words of a step ask.
fn in_words(step: &Value) -> Doing {
    let words = step["do"].as_str().unwrap_or_default();
    let mut doing = Doing::default();
    for sentence in words.split(". ") {
        let sentence = sentence.trim().trim_end_matches('.');
        if let Some(rest) = sentence.strip_prefix("Mate ")
            && rest.ends_with("again")
        {
            doing.mate.push(name(rest));
        } else if let Some(rest) = sentence.strip_prefix("Part ") {
            let kept = rest.contains("leave it out");
            if kept { doing.part.push(name(rest)) } else { doing.meanwhile.push(name(rest)) }
        } else if let Some(rest) = sentence.strip_prefix("Pull ") {
            doing.meanwhile.push(name(rest));
        } else if let Some((before, _)) = sentence.split_once(" out of its socket") {
            doing.meanwhile.push(name(before));
        }
    }
    doing.dead = words.contains("battery negative off");
    doing.key_off =
        !doing.dead && words.contains("Key off, nothing unplugged") || words.contains("Key off and listen");
    if let Some(rest) = after(words, "Back the terminal of ") {
        doing.back_out = Some(name(rest));
    }
    doing.act = act(words);
    doing
}

fn act(words: &str) -> Act {
    if let Some(question) = question(words) {
        return Act::Ask(question);
    }
    let lamp = words.contains("21 W lamp");
    let resistor = words.contains("470 Ω");
    let setting = match (lamp, resistor) {
        (true, _) => Setting::Lamp,
        (_, true) => Setting::Resistor,
        _ => Setting::Volts,
    };
    let from_to = |rest: &str, setting| {
        let (red, black) = rest.split_once(" to ").unwrap_or((rest, "battery negative"));
        Act::Read { red: name(red), black: Some(name(black)), setting }
    };
    if let Some(rest) = after(words, "Read ohms from ") {
        return from_to(rest, Setting::Ohms);
    }
    if let Some(rest) = after(words, "feed ")
        && words.contains("bench source")
    {
        let volts = rest.split_whitespace().next().and_then(|v| v.parse().ok()).unwrap_or(5.0);
        let red = after(words, " into ").map(name).unwrap_or_default();
        return Act::Read { red, black: None, setting: Setting::Fed { volts, ohms: 470.0 } };
    }
    if let Some(rest) = after(words, "Hang 470 Ω (no lamp) from ")
        .or_else(|| after(words, "Hang 470 Ω from "))
        .or_else(|| after(words, "Hang a 21 W lamp from "))
    {
        return from_to(rest, setting);
    }
    if let Some(rest) = after(words, "Read volts from ") {
        return from_to(rest, setting);
    }
    let over = after(words, "Read millivolts over ");
    let across = words.contains("across it").then(|| words.split(" out of its socket").next()).flatten();
    if let Some(fuse) = over.or(across) {
        let fuse = name(fuse);
        return Act::Read { red: format!("{fuse}:feed"), black: Some(format!("{fuse}:load")), setting };
    }
    let at = after(words, "ead volts at ").or_else(|| after(words, "ead millivolts at "));
    match at {
        Some(rest) => {
            let black = after(words, "black lead on ").map(name);
            Act::Read { red: name(rest), black, setting }
        }
        None => Act::Nothing,
    }
}

fn question(words: &str) -> Option<Question> {
    if !words.contains('?') {
        return None;
    }
    if let Some(rest) = after(words, "does the module command ") {
        return Some(Question::Commanded(name(rest)));
    }
    if let Some(rest) = after(words, "Listen at ") {
        return Some(Question::Clicks(name(rest.split(':').next().unwrap_or(rest))));
    }
    if words.contains("as strong as usual") {
        return after(words, "Is ").map(|rest| Question::Strong(name(rest)));
    }
    if let Some(rest) = after(words, "Does ") {
        return Some(Question::Works(name(rest)));
    }
    after(words, ": is ").map(|rest| Question::Works(name(rest)))
}

fn after<'w>(words: &'w str, mark: &str) -> Option<&'w str> {
    words.split_once(mark).map(|(_, rest)| rest)
}

/// The name at the head of these words, without its place and without the sentence's end.
fn name(words: &str) -> String {
    let words = words.trim();
    for post in ["battery negative", "battery positive"] {
        if words.starts_with(post) {
            return post.to_owned();
        }
    }
    let first = words.split_whitespace().next().unwrap_or_default();
    first.trim_end_matches([',', '.', ';', ':', '?']).to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    fn of(words: &str) -> Doing {
        read(&json!({ "do": words }))
    }

    fn read_at(red: &str, black: Option<&str>, setting: Setting) -> Act {
        Act::Read { red: red.to_owned(), black: black.map(str::to_owned), setting }
    }

    #[test]
    fn steps_of_a_pin() {
        let doing =
            of("Mate X21 again. Part X35 (bulkhead, in the open) and leave it out. Read volts at X34:2.");
        assert_eq!((doing.mate, doing.part), (vec!["X21".to_owned()], vec!["X35".to_owned()]));
        assert_eq!(doing.act, read_at("X34:2", None, Setting::Volts));
        let doing = of(
            "Key off, battery negative off; prove the wire dead. Read ohms from X34:2 to battery negative, then with the leads turned round.",
        );
        assert!(doing.dead && !doing.key_off);
        assert_eq!(doing.act, read_at("X34:2", Some("battery negative"), Setting::Ohms));
        let doing =
            of("Key as before: feed 5.0 V from a bench source through 470 Ω into X34:2; read volts there.");
        assert_eq!(doing.act, read_at("X34:2", None, Setting::Fed { volts: 5.0, ohms: 470.0 }));
        let doing = of("Pull F12 (fuse box), nothing unplugged; read volts at X35:1; put it back.");
        assert_eq!(doing.meanwhile, ["F12"]);
        assert_eq!(doing.act, read_at("X35:1", None, Setting::Volts));
    }

    #[test]
    fn steps_by_their_data() {
        let doing = read(&json!({
            "do": "Part X5 and leave it out. Anything.", "key": "off", "battery": false, "out": ["X5"],
            "measure": "ohms", "red": "X5:1", "black": "G1:31", "ask": null, "backed_out": null,
        }));
        assert!(doing.dead && !doing.key_off);
        assert_eq!(doing.part, ["X5"]);
        assert_eq!(doing.act, read_at("X5:1", Some("G1:31"), Setting::Ohms));
        let doing = read(&json!({
            "do": "Anything.", "key": "run", "battery": true,
            "ask": { "question": "works", "of": "E1 at X5:1" },
        }));
        assert_eq!(doing.act, Act::Ask(Question::Works("E1 at X5:1".to_owned())));
    }

    #[test]
    fn steps_of_a_complaint() {
        let doing = of(
            "K3 out of its socket. Under a 21 W lamp: Read volts from K3:30 (fuse box) to battery negative.",
        );
        assert_eq!(doing.meanwhile, ["K3"]);
        assert_eq!(doing.act, read_at("K3:30", Some("battery negative"), Setting::Lamp));
        let doing = of(
            "F5 out of its socket, a 21 W lamp across it. Part X92 (boot floor, right). Read volts across it.",
        );
        assert_eq!(doing.meanwhile, ["F5", "X92"]);
        assert_eq!(doing.act, read_at("F5:feed", Some("F5:load"), Setting::Lamp));
        assert_eq!(of("Does E1 (low beam) work?").act, Act::Ask(Question::Works("E1".to_owned())));
        assert_eq!(of("Listen at K4: does it click?").act, Act::Ask(Question::Clicks("K4".to_owned())));
        let doing = of("Back the terminal of A10.X1:6 out, leave the connector mated: is M2 still on?");
        assert_eq!(doing.back_out.as_deref(), Some("A10.X1:6"));
        assert_eq!(doing.act, Act::Ask(Question::Works("M2".to_owned())));
    }
}
