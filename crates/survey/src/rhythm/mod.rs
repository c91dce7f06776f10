//! Question 4, rhythm.

pub mod voice;
