//! States as people write them: a key word, connectors to part, positions to set.

use std::fmt;

use halfsplit_circuit::{BranchKind, Key, State};

use crate::{Entity, Model, names::NameError};

/// Why a state could not be understood.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct StateError(String);

impl fmt::Display for StateError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::error::Error for StateError {}

impl Model {
    /// The key position of a word.
    ///
    /// # Errors
    /// If the word is none of the four.
    pub fn key(&self, word: &str) -> Result<Key, StateError> {
        Key::from_word(word).ok_or_else(|| {
            let words = Key::ALL.map(Key::word).join(", ");
            StateError(format!("the key is in one of {words}; `{word}` is none of them"))
        })
    }

    /// Parts a connector, or pulls a fuse or relay out of its socket.
    ///
    /// # Errors
    /// If the name is neither.
    pub fn unplug(&self, state: &mut State, name: &str) -> Result<(), StateError> {
        if let Ok(connector) = self.names.connector(name) {
            state.unplugged.insert(connector);
            return Ok(());
        }
        match self.names.part(name) {
            Ok(part) if self.circuit.part(part).pulls => {
                state.pulled.insert(part);
                Ok(())
            }
            Ok(part) => {
                let own: Vec<&str> = (self.circuit.connectors.iter())
                    .filter(|c| c.owner == Some(part))
                    .map(|c| c.name.as_str())
                    .collect();
                Err(StateError(match own.as_slice() {
                    [] => format!("{name} has no connector and does not pull out of a socket"),
                    own => format!("{name} is parted at its connector: {}", own.join(", ")),
                }))
            }
            Err(error) => Err(StateError(match error {
                NameError::Unknown { near: Some(near) } => {
                    format!("no connector, fuse or relay is called `{name}`; did you mean `{near}`?")
                }
                _ => format!("no connector, fuse or relay is called `{name}`"),
            })),
        }
    }

    /// Sets a switch to a position, or commands an output on or off: `S1=on`, `A10.PUMP=off`.
    ///
    /// # Errors
    /// If the item is neither, or has no such position.
    pub fn set(&self, state: &mut State, written: &str) -> Result<(), StateError> {
        let Some((name, position)) = written.split_once('=') else {
            return Err(StateError(format!("`{written}`: write an item and its position, `S1=on`")));
        };
        if let Some(bridge) = self.facts.bridge(name) {
            let on: &[_] = match position {
                "forward" => &bridge.forward,
                "reverse" => &bridge.reverse,
                "off" => &[],
                _ => {
                    return Err(StateError(format!(
                        "{name} is commanded `forward`, `reverse` or `off`, not `{position}`"
                    )));
                }
            };
            for output in bridge.forward.iter().chain(&bridge.reverse) {
                state.commands.remove(output);
            }
            state.commands.extend(on.iter().map(|&output| (output, true)));
            return Ok(());
        }
        match self.names.any(name) {
            Ok(Entity::Part(part)) if !self.circuit.part(part).positions.is_empty() => {
                let positions = &self.circuit.part(part).positions;
                if !positions.iter().any(|p| p == position) {
                    let positions = positions.join(", ");
                    return Err(StateError(format!(
                        "{name} has the positions {positions}; not `{position}`"
                    )));
                }
                state.positions.insert(part, position.to_owned());
                Ok(())
            }
            Ok(Entity::Output(branch))
                if matches!(self.circuit.branch(branch).kind, BranchKind::Driver { .. }) =>
            {
                let on = match position {
                    "on" => true,
                    "off" => false,
                    _ => {
                        return Err(StateError(format!(
                            "{name} is commanded `on` or `off`, not `{position}`"
                        )));
                    }
                };
                state.commands.insert(branch, on);
                Ok(())
            }
            Ok(_) => Err(StateError(format!("{name} has no positions to set"))),
            Err(_) => Err(StateError(format!("nothing is called `{name}`"))),
        }
    }
}
