//! The circuit that a set of files describes.
