//! Text, Markdown and JSON.
