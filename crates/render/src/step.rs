//! A step as data: what a program needs to take it without reading its words.

use halfsplit_circuit::{Load, Measure};
use halfsplit_plan::{Sense, Step};
use serde_json::{Value, json};

/// What is done and what is read or asked: `key` and `battery` as they stand, `out` with everything that is out,
/// `backed_out` with a terminal that is; then either `ask` with what eyes or ears answer and of what, or `red`,
/// `black` and `measure`.
pub fn data(step: &Step) -> Value {
    let question = match step.sense {
        Sense::Meter => None,
        Sense::Works(_) => Some("works"),
        Sense::Strong(_) => Some("strong"),
        Sense::PulledIn(_) => Some("clicks"),
        Sense::Commanded(_) => Some("commanded"),
    };
    let reads = question.is_none();
    let (measure, volts, ohms) = match step.leads.measure {
        Measure::Volts(Load::None) => ("volts", None, None),
        Measure::Volts(Load::Lamp) => ("volts over a lamp", None, None),
        Measure::Volts(Load::Reference) => ("volts over a resistor", None, None),
        Measure::Ohms => ("ohms", None, None),
        Measure::Amps(_) => ("amps", None, None),
        Measure::Inject { volts, through } => ("volts fed", Some(volts), Some(through)),
    };
    json!({
        "do": step.instruction,
        "target": step.target,
        "minutes": step.minutes,
        "unit": step.unit,
        "key": step.state.key.word(),
        "battery": step.state.battery,
        "out": step.out,
        "backed_out": (!step.held.is_empty()).then_some(&step.target),
        "ask": question.map(|question| json!({ "question": question, "of": step.subject })),
        "red": reads.then_some(&step.red),
        "black": reads.then_some(&step.black),
        "measure": reads.then_some(measure),
        "fed": volts.map(|volts| json!({ "volts": volts, "through_ohms": ohms })),
    })
}

/// A step's data with more keys of its door.
pub fn with(step: &Step, more: Value) -> Value {
    let mut data = data(step);
    if let (Value::Object(data), Value::Object(more)) = (&mut data, more) {
        data.extend(more);
    }
    data
}
