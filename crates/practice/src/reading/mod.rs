//! What to read that is new? Fresh pieces with asked features, proved by our own survey.
