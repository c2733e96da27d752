//! Building a circuit by hand or from a file.
