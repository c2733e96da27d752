//! The standard library: kinds of parts that standards describe, as circuit text that comes with the language.

/// Its files: the name after `use std`, and the text.
const FILES: &[(&str, &str)] = &[
    ("relays", include_str!("../std/relays.circuit")),
    ("blade-fuses", include_str!("../std/blade-fuses.circuit")),
    ("diagnostic-socket", include_str!("../std/diagnostic-socket.circuit")),
    ("trailer-sockets", include_str!("../std/trailer-sockets.circuit")),
];

/// The text of a file.
pub fn text(name: &str) -> Option<&'static str> {
    FILES.iter().find(|(known, _)| *known == name).map(|(_, text)| *text)
}

/// The names of its files, in the order of the guide.
pub fn names() -> impl Iterator<Item = &'static str> {
    FILES.iter().map(|(name, _)| *name)
}
