//! What an editor can ask.
