//! In what order and when does it sound? The road map unfolded, ornaments realised; exact time.
