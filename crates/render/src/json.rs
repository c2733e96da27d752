//! What programs read. Keys are stable; lines and columns count from 1, columns in characters.

use halfsplit_base::{Files, Finding, Position, Span};
use halfsplit_circuit::{Quantity, Reading};
use serde::Serialize;
use serde_json::{Value, json};

/// The version of every JSON shape here.
pub const SCHEMA: u32 = 1;

/// A place in a file.
#[derive(Serialize)]
struct At {
    line: u32,
    column: u32,
}

impl From<Position> for At {
    fn from(p: Position) -> At {
        At { line: p.line, column: p.column }
    }
}

/// One finding.
pub fn finding(files: &Files, finding: &Finding) -> Value {
    let file = files.get(finding.file);
    json!({
        "rule": finding.rule,
        "severity": finding.severity.word(),
        "message": finding.message,
        "file": file.path.display().to_string(),
        "range": range(files, finding.file, finding.span),
        "help": finding.help,
        "related": finding.related.iter().map(|r| json!({
            "file": files.get(r.file).path.display().to_string(),
            "range": range(files, r.file, r.span),
            "message": r.message,
        })).collect::<Vec<_>>(),
    })
}

fn range(files: &Files, file: halfsplit_base::FileId, span: Span) -> Value {
    let (start, end) = files.get(file).positions(span);
    json!({ "start": At::from(start), "end": At::from(end) })
}

/// A reading: nominal, lowest and highest in volts, ohms or amperes; `null` is beyond the meter's range.
pub fn reading(reading: &Reading) -> Value {
    span(reading.quantity, [reading.nominal, reading.low, reading.high])
}

/// The same of bare figures: nominal, lowest and highest.
pub fn span(quantity: Quantity, [nominal, low, high]: [f64; 3]) -> Value {
    let (quantity, unit) = match quantity {
        Quantity::Volts => ("volts", "V"),
        Quantity::Ohms => ("ohms", "ohm"),
        Quantity::Amps => ("amps", "A"),
    };
    json!({
        "quantity": quantity,
        "unit": unit,
        "nominal": finite(nominal),
        "low": finite(low),
        "high": finite(high),
    })
}

/// A number, or `null` for one that JSON cannot hold.
pub fn finite(value: f64) -> Value {
    if value.is_finite() { json!(value) } else { Value::Null }
}
