//! A wire's description for the bay and for programs.

use halfsplit_circuit::View;
use halfsplit_plan::find::{Description, Find, Neighbour};
use serde_json::{Value, json};

use crate::{
    json::{SCHEMA, finite},
    minutes,
    value::{interval, ohms},
};

/// The description in one line: `GY/RD with BU/WH on its left, seen from the wire side`.
pub fn line(find: &Find) -> String {
    let colour = if find.colour.is_empty() { "a wire whose colour is not said" } else { &find.colour };
    let Some(found) = &find.description else {
        return format!("{colour}: only counting finds it, {}", counted(find));
    };
    let beside = |neighbour: &Neighbour| match neighbour {
        Neighbour::Wire(colour) => colour.clone(),
        Neighbour::Empty => "a blank plug".to_owned(),
        Neighbour::End => "the row's end".to_owned(),
    };
    let mut words = Vec::new();
    words.extend(found.left.as_ref().map(|left| format!("{} on its left", beside(left))));
    words.extend(found.right.as_ref().map(|right| format!("{} on its right", beside(right))));
    words.extend(found.row.map(|row| format!("row {row}")));
    match words.is_empty() {
        true => format!("{colour}, the only one"),
        false => format!("{colour} with {}, {}", words.join(" and "), seen(find.view)),
    }
}

fn seen(view: View) -> &'static str {
    match view {
        View::WireSide => "seen from the wire side",
        View::MatingFace => "seen from the mating face",
        View::Unknown => "the view is not said: look from both sides before you trust left and right",
    }
}

fn counted(find: &Find) -> String {
    let (row, place, all) = find.counted;
    format!("row {row}, place {place} of {all}, {}", seen(find.view))
}

/// All of it, for people.
pub fn text(find: &Find) -> String {
    let place = if find.place.is_empty() { String::new() } else { format!(", {}", find.place) };
    let mut out = format!("{} cavity {}{place}\n", find.connector, find.cavity);
    let mut say = |words: String| {
        out.push_str("  ");
        out.push_str(&words);
        out.push('\n');
    };
    for caution in &find.cautions {
        say(format!("before you go there: {caution}"));
    }
    say(line(find));
    match find.same_colour.len() {
        0 | 1 => {}
        count => say(format!("by colour alone {count}: cavities {}", find.same_colour.join(", "))),
    }
    if find.description.as_ref().is_some_and(beside) {
        say(format!("counted: {}", counted(find)));
    }
    let other = match find.view {
        View::MatingFace => "from the wire side",
        _ => "from the mating face",
    };
    for twin in &find.twins {
        say(format!("not to be taken for cavity {twin}, which looks the same {other}"));
    }
    if !find.doubts.is_empty() {
        say(format!(
            "faded, or under cold light, easily taken for {}: hold a lamp to it",
            find.doubts.join(", ")
        ));
    }
    match &find.confirm {
        Some(confirm) => {
            say(format!(
                "confirm: battery off, {} out, ohms from {} ({}) to it read {} ({})",
                confirm.out.join(" and "),
                confirm.red,
                minutes(confirm.minutes),
                ohms(confirm.ohms.nominal),
                interval(confirm.ohms.low, confirm.ohms.high, ohms)
            ));
            if !confirm.others.is_empty() {
                say(format!("         to {} OL", confirm.others.join(", ")));
            }
        }
        None => say("confirm: no cheap reading tells it from the others".to_owned()),
    }
    out
}

/// Whether a description leans on what is beside the wire.
fn beside(description: &Description) -> bool {
    description.left.is_some() || description.right.is_some() || description.row.is_some()
}

/// For programs.
pub fn json(find: &Find) -> Value {
    json!({
        "schema": SCHEMA,
        "pin": find.pin,
        "connector": find.connector,
        "cavity": find.cavity,
        "colour": find.colour,
        "view": match find.view {
            View::WireSide => "wire-side",
            View::MatingFace => "mating-face",
            View::Unknown => "unknown",
        },
        "description": line(find),
        "unique": find.description.is_some(),
        "same_colour": find.same_colour,
        "twins": find.twins,
        "doubts": find.doubts,
        "row": find.counted.0,
        "place_in_row": find.counted.1,
        "confirm": find.confirm.as_ref().map(|confirm| json!({
            "red": confirm.red,
            "minutes": confirm.minutes,
            "out": confirm.out,
            "reading": {
                "quantity": "ohms", "unit": "ohm", "nominal": finite(confirm.ohms.nominal),
                "low": finite(confirm.ohms.low), "high": finite(confirm.ohms.high),
            },
            "open_to": confirm.others,
        })),
        "cautions": find.cautions,
    })
}
