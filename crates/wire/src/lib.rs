//! What does the JSON say? All of it, and its schema.

mod accidentals;
mod articulation;
mod at;
mod clefs;
mod counts;
mod dynamics;
mod metre;
mod range;
mod say;
mod terms;
