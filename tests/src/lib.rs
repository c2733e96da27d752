//! End-to-end tests live in `tests/`, benchmarks in `benches/`; this library is empty on purpose.
