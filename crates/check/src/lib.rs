//! The rules that find mistakes.
