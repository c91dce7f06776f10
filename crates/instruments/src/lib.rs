//! What can this instrument do? Range, transposition, clefs: facts with their sources, no opinion about a piece.
