//! The language server as an editor meets it: a process, spoken to over pipes.

mod client;
mod features;
mod library;
mod life;
mod order;
mod plan;
mod quiet;
mod work;
mod workspace;
