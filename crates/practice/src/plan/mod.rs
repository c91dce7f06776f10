//! What to do on which day, from today to the date?
