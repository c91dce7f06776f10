//! What is written as MusicXML, is it the same page when it is read again?

#![expect(
    clippy::expect_used,
    clippy::panic,
    reason = "a test stops at the first thing that is not as it should be"
)]

mod laws;
mod pages;
