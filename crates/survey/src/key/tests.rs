//! Does the question of key answer as a teacher would? Short pieces of our own for each kind of difficulty.
