//! Runs the press: pipe, time limit, restart.
