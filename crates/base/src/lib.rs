//! Files, places in them and findings about them.
