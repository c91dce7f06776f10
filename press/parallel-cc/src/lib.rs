//! Nothing of its own: see the description in Cargo.toml.
