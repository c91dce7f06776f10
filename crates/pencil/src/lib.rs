//! Which marks, by this teacher's legend? Findings in, pencil marks out.
