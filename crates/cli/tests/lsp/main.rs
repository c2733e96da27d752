//! The language server as an editor meets it: a process, spoken to over pipes.

mod client;
mod library;
mod life;
mod order;
mod work;
