//! A state in words and as JSON.

use halfsplit_circuit::{Circuit, State};
use serde_json::{Value, json};

/// `key run, supply 12.40 V, X35 and X21 out`.
pub fn words(circuit: &Circuit, state: &State) -> String {
    let mut parts = vec![format!("key {}", state.key.word())];
    if !state.battery {
        parts.push("battery disconnected".into());
    }
    if let Some(volts) = state.supply() {
        parts.push(format!("supply {}", crate::volts(volts)));
    }
    parts.extend(positions(circuit, state).map(|(name, position)| format!("{name} {position}")));
    let out = unplugged(circuit, state);
    if !out.is_empty() {
        parts.push(format!("{} out", list(&out)));
    }
    parts.join(", ")
}

/// The same for programs; what is unplugged stands beside it, not in it.
pub fn json(circuit: &Circuit, state: &State) -> Value {
    json!({
        "key": state.key.word(),
        "battery": if state.battery { "connected" } else { "disconnected" },
        "supply": state.supply(),
        "positions": positions(circuit, state).collect::<std::collections::BTreeMap<_, _>>(),
    })
}

/// Names of what is parted or pulled.
pub fn unplugged(circuit: &Circuit, state: &State) -> Vec<String> {
    let connectors = state.unplugged.iter().map(|&id| circuit.connector(id).name.clone());
    connectors.chain(state.pulled.iter().map(|&id| circuit.part(id).name.clone())).collect()
}

/// `X35`, `X35 and X21`, `X35, X21 and X34`.
pub fn list(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

fn positions<'a>(circuit: &'a Circuit, state: &'a State) -> impl Iterator<Item = (String, String)> + 'a {
    let switches =
        state.positions.iter().map(|(&id, position)| (circuit.part(id).name.clone(), position.clone()));
    let commands = state.commands.iter().filter_map(|(&id, &on)| {
        let name = circuit.outputs.iter().find(|(_, branch)| *branch == id)?.0.clone();
        Some((name, if on { "on" } else { "off" }.to_owned()))
    });
    switches.chain(commands)
}
