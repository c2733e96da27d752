//! The language server.
