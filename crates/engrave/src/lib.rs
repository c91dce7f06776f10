//! How should the part look? Piece and marks in, a print job out; boxes in, pages out. Asks nobody.
