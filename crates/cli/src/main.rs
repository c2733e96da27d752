//! The halfsplit command.
fn main() {}
