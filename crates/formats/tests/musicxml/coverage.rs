//! Does COVERAGE.md speak of every element of the standard?
