//! Is what we write as MEI the same page? Laws with random pieces, and what single signs become.

mod laws;
mod pages;
