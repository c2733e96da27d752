//! Circuit text to tokens to tree to facts.
