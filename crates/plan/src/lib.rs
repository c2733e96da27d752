//! Suspects, actions and search.
