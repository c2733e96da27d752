//! The plans that the stories of `strangers/` ask for.

use std::path::{Path, PathBuf};

use halfsplit_circuit::{Hazard, State};
use halfsplit_model::{Model, quantity, reading};
use halfsplit_plan::{Complaint, Inquiry, Plan, PlanError, Request, plan, plan_complaint};
use halfsplit_syntax::units::Dimension;
use serde_json::Value;

/// Every story's folder, sorted.
pub fn folders() -> Vec<PathBuf> {
    let home = Path::new(env!("CARGO_MANIFEST_DIR")).join("strangers");
    let entries = std::fs::read_dir(home).into_iter().flatten().flatten();
    let mut folders: Vec<PathBuf> =
        entries.map(|entry| entry.path()).filter(|path| path.join("expect.json").exists()).collect();
    folders.sort();
    folders
}

/// What a story's file says.
///
/// # Panics
/// If it cannot be read.
pub fn story(folder: &Path) -> Value {
    let text = std::fs::read_to_string(folder.join("expect.json")).expect("a story");
    serde_json::from_str(&text).expect("JSON")
}

fn names(value: &Value) -> Vec<String> {
    let list = value.as_array().into_iter().flatten();
    list.filter_map(Value::as_str).map(str::to_owned).collect()
}

/// The state of a story's complaint.
///
/// # Panics
/// If it names what the circuit does not have.
pub fn state(model: &Model, story: &Value) -> State {
    let said = &story["state"];
    let mut state = State::with_key(model.key(said["key"].as_str().unwrap_or("run")).expect("a key"));
    state.battery = said["battery"].as_str() != Some("off");
    for name in names(&said["out"]) {
        model.unplug(&mut state, &name).expect("a plug");
    }
    for (item, position) in said["set"].as_object().into_iter().flatten() {
        let setting = format!("{item}={}", position.as_str().unwrap_or_default());
        model.set(&mut state, &setting).expect("a position");
    }
    state
}

/// Every danger of a circuit, dealt with by trained people.
pub fn cleared(model: &Model) -> Vec<(Hazard, String)> {
    let circuit = &model.circuit;
    let of_parts = circuit.parts.iter().flat_map(|p| p.cautions.iter().map(|c| (c.hazard, p.name.clone())));
    let of_plugs =
        circuit.connectors.iter().flat_map(|p| p.cautions.iter().map(|c| (c.hazard, p.name.clone())));
    of_parts.chain(of_plugs).collect()
}

/// The plan for a story's complaint, its facts known and its dangers dealt with.
///
/// # Errors
/// As [`plan`].
///
/// # Panics
/// If the story names what the circuit does not have.
pub fn drawn(model: &Model, story: &Value) -> Result<Plan, PlanError> {
    let circuit = &model.circuit;
    let state = state(model, story);
    let asked = &story["complaint"];
    let inquire = |complaint| {
        let mut inquiry = Inquiry::new(complaint, state.clone());
        inquiry.facts = names(&story["facts"]);
        inquiry.cleared = cleared(model);
        plan_complaint(circuit, &inquiry, None)
    };
    if let Some(words) = asked["words"].as_str() {
        return inquire(Complaint::parse(circuit, words)?);
    }
    let point = |name: &Value| name.as_str().map(|name| model.names.point(name).expect("a pin"));
    let (pin, black) = (point(&asked["pin"]).expect("a pin"), point(&asked["black"]));
    let reads = asked["reads"].as_str().unwrap_or_default();
    if let (Ok(ohms), Some(black)) = (quantity(reads, Dimension::Ohms), black) {
        return inquire(Complaint::Ohms { red: pin, black, reads: ohms });
    }
    let mut request = Request::new(pin, state.clone());
    (request.black, request.facts, request.cleared) = (black, names(&story["facts"]), cleared(model));
    match reading(reads, Dimension::Volts) {
        Ok([low, high]) => {
            request.reads = Some(0.5 * (low + high));
            request.reads_off = Some(0.5 * (high - low));
        }
        Err(_) => request.floats = true,
    }
    plan(circuit, &request)
}
