//! Is what we write as MEI the same page? Laws with random pieces, and what single signs become.

mod engraving;
mod laws;
mod pages;
