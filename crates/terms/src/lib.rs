//! What does this word mean, how fast is it?
