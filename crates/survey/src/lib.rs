//! What is on the page? One module per question, each answer with its evidence (bar, beat, element). Reads no file.

mod context;

pub use context::{Context, Evidence};
